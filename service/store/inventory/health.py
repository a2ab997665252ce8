"""Curation levels, counted by drawer, by cabinet, by room or over all."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Row, TextClause, text
from sqlalchemy.orm import Session

from service.core.arrangement.health import Health
from service.core.arrangement.inventory import CurationLevel
from service.store.paging import Page


class CountedBy(StrEnum):
    """What the trays are counted by. Trays without a place count over the whole collection only."""

    COLLECTION = "collection"
    ROOM = "room"
    CABINET = "cabinet"
    DRAWER = "drawer"


@dataclass(frozen=True, slots=True)
class Counted:
    """The health of one thing, by its code; of all without a code."""

    code: str | None
    health: Health


_COUNTS = (
    ", ".join(f"count(*) FILTER (WHERE t.curation_level = {at.value}) AS level_{at.value}" for at in CurationLevel)
    + ", count(*) FILTER (WHERE t.curation_level IS NULL) AS not_judged, coalesce(sum(t.specimens), 0) AS specimens"
    ", count(*) FILTER (WHERE t.specimens IS NULL) AS not_counted"
)  # fmt: skip
_WITHIN: Final = {
    CountedBy.DRAWER: "JOIN drawer d ON d.institution_id = t.institution_id AND d.id = t.drawer_id",
    CountedBy.CABINET: "JOIN cabinet c ON c.institution_id = d.institution_id AND c.id = d.cabinet_id",
    CountedBy.ROOM: "JOIN room r ON r.institution_id = c.institution_id AND r.id = c.room_id",
}
_CODE: Final = {CountedBy.DRAWER: "d.code", CountedBy.CABINET: "c.code", CountedBy.ROOM: "r.code"}


def _by(counted_by: CountedBy) -> TextClause:
    joins = list(_WITHIN)[: list(_WITHIN).index(counted_by) + 1]
    code = _CODE[counted_by]
    return text(
        f"SELECT {code} AS code, {_COUNTS} FROM tray t {' '.join(_WITHIN[join] for join in joins)}"  # noqa: S608
        f" WHERE t.institution_id = :asker AND {code} > :after GROUP BY {code} ORDER BY {code} LIMIT :rows"
    )


_ALL = text(f"SELECT NULL AS code, {_COUNTS} FROM tray t WHERE t.institution_id = :asker HAVING count(*) > 0")  # noqa: S608
_LISTS: Final = {counted_by: _by(counted_by) for counted_by in _WITHIN}


def page(session: Session, asker: UUID, counted_by: CountedBy, after: str | None, limit: int) -> Page[Counted, str]:
    """The health of each, in the order of their codes; of those only that have trays."""
    if counted_by is CountedBy.COLLECTION:
        return Page(tuple(map(_counted, session.execute(_ALL, {"asker": asker}))), None)
    bound = {"asker": asker, "after": after or "", "rows": limit + 1}
    rows = list(session.execute(_LISTS[counted_by], bound))
    return Page(tuple(map(_counted, rows[:limit])), rows[limit - 1].code if len(rows) > limit else None)


def _counted(row: Row[Any]) -> Counted:
    levels = {level: getattr(row, f"level_{level.value}") for level in CurationLevel}
    known = {level: count for level, count in levels.items() if count}
    return Counted(row.code, Health(known, row.not_judged, int(row.specimens), row.not_counted))
