"""The lists of the loans desk, each along an index of its own, a page at a time.

What is on which list is said by the pure module (``core/transfers/desk.py``); a test holds both against each other.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Row, TextClause, text
from sqlalchemy.orm import Session

from service.core.transfers.desk import Listed
from service.core.transfers.parties import Side
from service.store.paging import Page

#: Stands for “no day” in the order of a list.
NO_DAY = date.max
_NO_DAY = f"DATE '{NO_DAY}'"


class Place(NamedTuple):
    """Where a row stands in a list: by day, then transfer, then line or permit."""

    day: date
    transfer_id: UUID
    item: str


@dataclass(frozen=True, slots=True)
class DeskRow:
    """One row of a list. ``day`` is when it is due, was sent or ends; ``item`` a line's key or a permit's name."""

    transfer_id: UUID
    code: str
    side: Side
    other_id: UUID | None
    other_name: str
    day: date | None
    line: str | None
    taxon: str | None
    count: int | None
    about: str


def page(
    session: Session, listed: Listed, me: UUID, today: date, days_ahead: int, after: Place | None, limit: int
) -> Page[DeskRow, Place]:
    """One page of a list, the most pressing first."""
    start = after or Place(date.min, UUID(int=0), "")
    bound: dict[str, Any] = {
        "me": me,
        "today": today,
        "until": today + timedelta(days=days_ahead),
        "rows": limit + 1,
    } | {f"after_{name}": value for name, value in start._asdict().items()}
    rows = session.execute(_STATEMENTS[listed], bound).all()
    last = rows[limit - 1] if len(rows) > limit else None
    return Page(tuple(map(_row, rows[:limit])), Place(last.day, last.transfer_id, last.item) if last else None)


def _row(row: Row[Any]) -> DeskRow:
    return DeskRow(
        transfer_id=row.transfer_id,
        code=row.code,
        side=Side(row.side),
        other_id=row.other_id,
        other_name=row.other_name,
        day=None if row.day == NO_DAY else row.day,
        line=row.line,
        taxon=row.taxon or None,
        count=row.how_many,
        about=row.about,
    )


@dataclass(frozen=True, slots=True)
class _List:
    """How one list is read for one side: from where, which rows, by which day, and what is shown.

    ``item`` completes the order within a transfer.
    """

    source: str
    where: str
    day: str
    item: str = "''"
    line: str = "NULL"
    count: str = "NULL"
    about: str = "''"

    def of(self, side: Side) -> str:
        here, other = f"s.{side.value}_id", f"s.{side.other.value}_id"
        taxon = f"l.taxon FROM transfer_line l WHERE l.transfer_id = s.transfer_id AND l.key = {self.line}"
        return (
            f"(SELECT s.transfer_id, '{side.value}' AS side, {other} AS other_id, {self.day} AS day,"  # noqa: S608
            f" CAST({self.item} AS text) AS item, CAST({self.line} AS text) AS line, (SELECT {taxon}) AS taxon,"
            f" CAST({self.count} AS integer) AS how_many, {self.about} AS about"
            f" FROM {self.source} s WHERE {here} = :me AND {self.where} AND {self._behind()})"
        )

    def _behind(self) -> str:
        """Rows behind the last page, in order. What is the same in all rows takes no part in the order."""
        parts = ((self.day, "CAST(:after_day AS date)"), ("s.transfer_id", "CAST(:after_transfer_id AS uuid)"),
                 (self.item, "CAST(:after_item AS text)"))  # fmt: skip
        varying = [(here, there) for here, there in parts if here not in {_NO_DAY, "''"}]
        here, there = (", ".join(side) for side in zip(*varying, strict=True))
        # The lower bound of the first alone says nothing new, and lets an index begin in the right place.
        first = f"{varying[0][0]} >= {varying[0][1]} AND "
        return f"{first}({here}) > ({there}) ORDER BY {here} LIMIT :rows"


def _statement(sides: dict[Side, _List]) -> TextClause:
    """Each side's rows in order, merged; the other side's name is looked up for the rows of the page alone."""
    parts = " UNION ALL ".join(one.of(side) for side, one in sides.items())
    other = "CASE page.side WHEN 'lender' THEN 'borrower' ELSE 'lender' END"
    return text(
        "SELECT page.*, (SELECT t.code FROM transfer t WHERE t.id = page.transfer_id) AS code, coalesce("  # noqa: S608
        "(SELECT o.name FROM institution o WHERE o.id = page.other_id),"
        f" (SELECT t.content #>> ARRAY[{other}, 'name'] FROM transfer t WHERE t.id = page.transfer_id)"
        f") AS other_name FROM (SELECT * FROM ({parts}) merged ORDER BY day, transfer_id, item LIMIT :rows) page"
        " ORDER BY page.day, page.transfer_id, page.item"
    )


def _for_both(one: _List) -> dict[Side, _List]:
    return {Side.LENDER: one, Side.BORROWER: one}


def _due(where: str) -> _List:
    return _List("line_standing", f"s.outstanding > 0 AND {where}", "s.due_on", "s.line", "s.line", "s.outstanding")


def _unsigned(side: Side) -> _List:
    other = f"s.{side.other.value}_signed"
    about = f"CASE WHEN {other} THEN 'The other side has signed.' ELSE 'Nobody has signed yet.' END"
    where = f"s.agreement IS NOT NULL AND NOT s.{side.value}_signed AND s.withdrawn_on IS NULL"
    return _List("transfer_standing", where, _NO_DAY, about=about)


def _on_its_way(account: str, day: str) -> _List:
    return _List("transfer_standing", f"s.{account} > 0", day, count=f"s.{account}")


_STATEMENTS = {
    Listed.DUE_SOON: _statement(_for_both(_due("s.due_on BETWEEN :today AND :until"))),
    Listed.OVERDUE: _statement(_for_both(_due("s.due_on < :today"))),
    Listed.AWAITING_RECEIPT: _statement(
        {
            Side.BORROWER: _on_its_way("transit_out", "s.dispatched_on"),
            Side.LENDER: _on_its_way("transit_back", "s.sent_back_on"),
        }
    ),
    Listed.AWAITING_SIGNATURE: _statement({side: _unsigned(side) for side in Side}),
    Listed.DIFFERENCES: _statement(
        _for_both(_List("line_standing", "s.differs", _NO_DAY, "s.line", "s.line", "s.outstanding"))
    ),
    Listed.PERMITS_ENDING: _statement(
        _for_both(
            _List(
                "transfer_permit",
                "s.status = 'Permit available' AND s.valid_until IS NOT NULL AND s.valid_until <= :until"
                " AND (SELECT n.closed_on IS NULL AND n.withdrawn_on IS NULL FROM transfer_standing n"
                " WHERE n.transfer_id = s.transfer_id)",
                "s.valid_until",
                "CAST(s.id AS text)",
                about="concat_ws(' ', s.content ->> 'kind', s.content ->> 'number')",
            )
        )
    ),
}
