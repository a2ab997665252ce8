"""Trays: what is in each, and where it stands."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, select, text
from sqlalchemy.orm import Session

from service.store.inventory.catalogue import Catalogue
from service.store.tables import drawer as drawer_table
from service.store.tables import tray as table


@dataclass(frozen=True, slots=True)
class KeptTray:
    """A tray: the ``place``-th in reading order of the drawer with the code ``drawer``, or without a place."""

    id: UUID
    code: str
    taxon: str
    label: str
    specimens: int | None
    curation_level: int | None
    width_nm: int
    depth_nm: int
    height_nm: int | None
    drawer: str | None
    place: int | None
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a tray is to stand; without a drawer, nowhere yet."""

    tray_id: UUID
    drawer_id: UUID | None
    place: int | None


def _tray(row: Row[Any]) -> KeptTray:
    return KeptTray(**{name: getattr(row, name) for name in KeptTray.__dataclass_fields__})


_SHOWN = select(*table.c, drawer_table.c.code.label("drawer")).join_from(
    table,
    drawer_table,
    (drawer_table.c.institution_id == table.c.institution_id) & (drawer_table.c.id == table.c.drawer_id),
    isouter=True,
)
trays = Catalogue("tray", table, _SHOWN, _tray)

_OF_CODES = _SHOWN.where(
    table.c.institution_id == bindparam("asker"), table.c.code.in_(bindparam("codes", expanding=True))
)
_LOCK = _OF_CODES.order_by(table.c.id).with_for_update(key_share=True, of=table)
_IN_DRAWERS = _SHOWN.where(
    table.c.institution_id == bindparam("asker"), drawer_table.c.code.in_(bindparam("codes", expanding=True))
).order_by(drawer_table.c.code, table.c.place)
#: One statement for all, so that trays change places without one being in the other's way.
_PUT = text(
    "UPDATE tray SET drawer_id = s.drawer_id, place = s.place, version = tray.version + 1, updated_at = now()"
    " FROM unnest(CAST(:trays AS uuid[]), CAST(:drawers AS uuid[]), CAST(:places AS integer[]))"
    " AS s (tray_id, drawer_id, place)"
    " WHERE tray.institution_id = :asker AND tray.id = s.tray_id"
)


def of_codes(session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, KeptTray]:
    """The trays with these codes, of those that there are."""
    found: Iterable[Row[Any]] = session.execute(_OF_CODES, {"asker": institution_id, "codes": sorted(set(codes))})
    return {row.code: _tray(row) for row in found}


def locked(session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, KeptTray]:
    """As :func:`of_codes`; until the transaction is over nobody else changes them. Hold their drawers first."""
    found: Iterable[Row[Any]] = session.execute(_LOCK, {"asker": institution_id, "codes": sorted(set(codes))})
    return {row.code: _tray(row) for row in found}


def in_drawers(session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, list[KeptTray]]:
    """What stands in each of these drawers, in reading order."""
    standing: dict[str, list[KeptTray]] = {code: [] for code in codes}
    rows: Iterable[Row[Any]] = session.execute(_IN_DRAWERS, {"asker": institution_id, "codes": sorted(standing)})
    for row in rows:
        standing[row.drawer].append(_tray(row))
    return standing


def put(session: Session, institution_id: UUID, stands: Sequence[Stand]) -> None:
    """Put trays where they are to stand, all at once.

    :raises Conflict: when two would have one place, or a drawer would hold more than it can.
    """
    if not stands:
        return
    columns: Mapping[str, object] = {
        "trays": [stand.tray_id for stand in stands],
        "drawers": [stand.drawer_id for stand in stands],
        "places": [stand.place for stand in stands],
    }
    session.execute(_PUT, {"asker": institution_id, **columns})
