"""Drawers: what they are, and which position each is in."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, select
from sqlalchemy.orm import Session

from service.store.inventory.catalogue import Catalogue
from service.store.tables import cabinet as cabinet_table
from service.store.tables import drawer as table


@dataclass(frozen=True, slots=True)
class KeptDrawer:
    """A drawer in the cabinet with the code ``cabinet``, or in none. A high one takes up several ``positions``."""

    id: UUID
    code: str
    label: str
    style: str
    inner_width_nm: int
    inner_depth_nm: int
    clear_height_nm: int | None
    reserve_percent: Decimal | None
    cabinet: str | None
    position: int | None
    positions: int
    version: int
    created_at: datetime
    updated_at: datetime


def _drawer(row: Row[Any]) -> KeptDrawer:
    known = {name: getattr(row, name) for name in KeptDrawer.__dataclass_fields__}
    reserve = row.reserve_percent
    return KeptDrawer(**known | {"reserve_percent": None if reserve is None else reserve.normalize()})


drawers = Catalogue(
    "drawer",
    table,
    select(*table.c, cabinet_table.c.code.label("cabinet")).join_from(
        table,
        cabinet_table,
        (cabinet_table.c.institution_id == table.c.institution_id) & (cabinet_table.c.id == table.c.cabinet_id),
        isouter=True,
    ),
    _drawer,
)

_LOCK = (
    select(table.c.code, table.c.id)
    .where(table.c.institution_id == bindparam("asker"), table.c.code.in_(bindparam("codes", expanding=True)))
    .order_by(table.c.id)
    .with_for_update(key_share=True)
)


def locked(session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, UUID]:
    """The ids behind some codes, of those that there are. Until the transaction is over nobody else puts a tray into
    these drawers or takes one out; they are held in the order of their ids, so that two who hold several take turns.
    """
    found = session.execute(_LOCK, {"asker": institution_id, "codes": sorted(set(codes))})
    return {row.code: row.id for row in found}
