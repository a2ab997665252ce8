"""Curation levels, counted by drawer, by cabinet, by room or over all.

In a drawer the units are its trays. Above it they are drawers that have trays, each at the level of the worst of
them, as :mod:`service.core.arrangement.curation` has it; a drawer with a tray that nobody has judged is of no known
level, unless another tray is at the very worst already.
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Row, TextClause, text
from sqlalchemy.orm import Session

from service.core.arrangement.curation import Health
from service.core.arrangement.inventory import CurationLevel
from service.store.paging import Page


class CountedBy(StrEnum):
    """What the levels are counted by."""

    COLLECTION = "collection"
    ROOM = "room"
    CABINET = "cabinet"
    DRAWER = "drawer"


@dataclass(frozen=True, slots=True)
class Counted:
    """The health of one thing, by its code; of all without a code. ``not_counted``: trays of unknown content."""

    code: str | None
    health: Health
    trays: int
    specimens: int
    not_counted: int


_LEVELS: Final = ", ".join(
    f"count(*) FILTER (WHERE level = {level.value}) AS level_{level.value}" for level in CurationLevel
)
_UNITS: Final = (
    f"SELECT code, {_LEVELS}, count(*) FILTER (WHERE level IS NULL) AS unknown, sum(trays) AS trays,"
    " sum(specimens) AS specimens, sum(not_counted) AS not_counted"
)
_OF_TRAYS: Final = (
    "count(*) AS trays, coalesce(sum(t.specimens), 0) AS specimens,"
    " count(*) FILTER (WHERE t.specimens IS NULL) AS not_counted"
)
_WORST: Final = (
    "CASE WHEN min(t.curation_level) = 1 OR bool_and(t.curation_level IS NOT NULL) THEN min(t.curation_level) END"
)
_JOINS: Final = (
    "FROM tray t JOIN drawer d ON d.institution_id = t.institution_id AND d.id = t.drawer_id"
    " LEFT JOIN cabinet c ON c.institution_id = d.institution_id AND c.id = d.cabinet_id"
    " LEFT JOIN room r ON r.institution_id = c.institution_id AND r.id = c.room_id WHERE t.institution_id = :asker"
)


def _drawers(code: str) -> str:
    """Each drawer with trays as one unit, under the code of what it is in."""
    return f"SELECT {code} AS code, {_WORST} AS level, {_OF_TRAYS} {_JOINS} GROUP BY {code}, d.id"


def _page_of(units: str) -> TextClause:
    return text(f"{_UNITS} FROM ({units}) unit WHERE code > :after GROUP BY code ORDER BY code LIMIT :rows")


_LISTS: Final = {
    CountedBy.DRAWER: _page_of(
        f"SELECT d.code AS code, t.curation_level AS level, 1 AS trays, coalesce(t.specimens, 0) AS specimens,"
        f" (t.specimens IS NULL)::int AS not_counted {_JOINS}"
    ),
    CountedBy.CABINET: _page_of(_drawers("c.code")),
    CountedBy.ROOM: _page_of(_drawers("r.code")),
}
_ALL: Final = text(f"{_UNITS} FROM ({_drawers('NULL::text')}) unit GROUP BY code")


def page(session: Session, asker: UUID, counted_by: CountedBy, after: str | None, limit: int) -> Page[Counted, str]:
    """The health of each, in the order of their codes; of those only that have trays in drawers."""
    if counted_by is CountedBy.COLLECTION:
        return Page(tuple(map(_counted, session.execute(_ALL, {"asker": asker}))), None)
    bound = {"asker": asker, "after": after or "", "rows": limit + 1}
    rows = list(session.execute(_LISTS[counted_by], bound))
    return Page(tuple(map(_counted, rows[:limit])), rows[limit - 1].code if len(rows) > limit else None)


def _counted(row: Row[Any]) -> Counted:
    levels = {level: getattr(row, f"level_{level.value}") for level in CurationLevel}
    known = {level: count for level, count in levels.items() if count}
    return Counted(row.code, Health(known, row.unknown), int(row.trays), int(row.specimens), int(row.not_counted))
