"""Who carried which tray from where to where. Written down once and kept."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import tray_move as table


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One tray from one place to another, by their codes; ``None`` is nowhere. Some are a ``step`` of a plan."""

    tray: str
    from_drawer: str | None
    from_place: int | None
    to_drawer: str | None
    to_place: int | None
    moved_by: str
    plan_id: UUID | None = None
    step: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptMove(Carried):
    """A move as it was written down."""

    id: UUID
    created_at: datetime


_OWN = select(*table.c).where(table.c.institution_id == bindparam("asker"))
_LIST = newest_first(_OWN, table.c.created_at, table.c.id)
_LIST_OF_TRAY = newest_first(_OWN.where(table.c.tray == bindparam("the_tray")), table.c.created_at, table.c.id)
_WRITE = insert(table)


def write(session: Session, institution_id: UUID, moves: Sequence[Carried]) -> None:
    """Write moves down, in their order."""
    rows = [{"id": new_id(), "institution_id": institution_id, **asdict(move)} for move in moves]
    if rows:
        session.execute(_WRITE, rows)


def page(
    session: Session, institution_id: UUID, after: Age | None, limit: int, tray: str | None = None
) -> Page[KeptMove, Age]:
    """The latest moves first, of all trays or of one."""
    if tray is None:
        return page_by_age(session, _LIST, after, limit, _move, asker=institution_id)
    return page_by_age(session, _LIST_OF_TRAY, after, limit, _move, asker=institution_id, the_tray=tray)


def _move(row: Row[Any]) -> KeptMove:
    return KeptMove(**{name: getattr(row, name) for name in KeptMove.__dataclass_fields__})
