"""The text of transfers: who, what and on which terms. How a transfer stands is read beside it, from the ledger."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, delete, func, insert, select, update
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.materials import Treatment
from service.core.transfers.chain import Head
from service.core.transfers.ledger import Account
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.standing import Standing
from service.core.transfers.transfer import Ending, Transfer
from service.store import codec
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import line_standing
from service.store.tables import transfer as table
from service.store.tables import transfer_line as line_table
from service.store.tables import transfer_standing as standing_table


@dataclass(frozen=True, slots=True)
class Kept:
    """A transfer as it is stored. ``transfer`` is without its lines where only a summary was asked for.

    ``lender_id`` and ``borrower_id`` are institutions of this service; ``None`` is a private person.
    """

    id: UUID
    made_by: UUID
    code: str
    lender_id: UUID | None
    borrower_id: UUID | None
    exchange_id: UUID | None
    transfer: Transfer
    standing: Standing
    head: Head
    created_at: datetime
    updated_at: datetime

    def side_of(self, institution_id: UUID | None) -> Side:
        """On which side an institution stands; row-level security shows a transfer to its two sides only."""
        return Side.LENDER if institution_id is not None and institution_id == self.lender_id else Side.BORROWER

    def institution(self, side: Side) -> UUID | None:
        return self.lender_id if side is Side.LENDER else self.borrower_id


_STANDING = [column.label(f"now_{column.name}") for column in standing_table.c]
_ALL = select(*table.c, *_STANDING).join_from(table, standing_table, standing_table.c.transfer_id == table.c.id)
_BY_ID = _ALL.where(table.c.id == bindparam("the_transfer"))
_BY_CODE = _ALL.where(table.c.made_by == bindparam("maker"), table.c.code == bindparam("the_code"))
_OF_EXCHANGE = _ALL.where(table.c.exchange_id == bindparam("exchange")).order_by(table.c.created_at, table.c.id)
_AGE = (table.c.created_at, table.c.id)
_LISTS = {
    Side.LENDER: newest_first(_ALL.where(table.c.lender_id == bindparam("me")), *_AGE),
    Side.BORROWER: newest_first(_ALL.where(table.c.borrower_id == bindparam("me")), *_AGE),
}
_WRITTEN_BY = (
    select(table.c.id, standing_table.c.seq)
    .join_from(table, standing_table, standing_table.c.transfer_id == table.c.id)
    .where(table.c.made_by == bindparam("maker"))
    .order_by(table.c.created_at, table.c.id)
)
_MAKE = insert(table)
_CHANGE = (
    update(table)
    .where(table.c.id == bindparam("the_transfer"))
    .values(content=bindparam("new_content"), updated_at=func.now())
)
_THESE_LINES = line_table.c.transfer_id == bindparam("the_transfer")
_LINES = select(line_table.c.content).where(_THESE_LINES).order_by(line_table.c.position)
_LINE_PAGE = (
    select(line_table.c.content, line_table.c.position, line_standing.c.due_on)
    .join_from(
        line_table,
        line_standing,
        (line_standing.c.transfer_id == line_table.c.transfer_id) & (line_standing.c.line == line_table.c.key),
        isouter=True,
    )
    .where(_THESE_LINES, line_table.c.position > bindparam("after"))
    .order_by(line_table.c.position)
    .limit(bindparam("rows"))
)
_USED = (
    select(line_table.c.content["treatments_used"].label("used"), func.count().label("lines"))
    .where(_THESE_LINES)
    .group_by("used")
)
_LINE = select(line_table.c.content).where(_THESE_LINES, line_table.c.key == bindparam("the_line"))
_CLEAR_LINES = delete(line_table).where(_THESE_LINES)
_WRITE_LINES = insert(line_table)


def make(
    session: Session,
    transfer: Transfer,
    code: str,
    made_by: UUID,
    parties: tuple[UUID | None, UUID | None],
    exchange_id: UUID | None,
) -> None:
    """Write down a new transfer under the id that is its key, with its lines."""
    own_id = UUID(transfer.key)
    values = {
        "id": own_id,
        "made_by": made_by,
        "code": code,
        "lender_id": parties[0],
        "borrower_id": parties[1],
        "kind": transfer.kind.value,
        "ending": transfer.ending.value,
        "exchange_id": exchange_id,
        "content": _content(transfer),
        "updated_at": func.now(),
    }
    session.execute(_MAKE.values(values))
    _write_lines(session, own_id, transfer.lines)


def change(session: Session, transfer: Transfer, *, lines_too: bool) -> None:
    """Write the text anew; the database takes the signatures back, or refuses while something is packed or sent."""
    own_id = UUID(transfer.key)
    session.execute(_CHANGE, {"the_transfer": own_id, "new_content": _content(transfer)})
    if lines_too:
        session.execute(_CLEAR_LINES, {"the_transfer": own_id})
        _write_lines(session, own_id, transfer.lines)


def by_id(session: Session, transfer_id: UUID) -> Kept:
    """A transfer without its lines.

    :raises NotFound: when there is none that the asker is a side of.
    """
    row = session.execute(_BY_ID, {"the_transfer": transfer_id}).one_or_none()
    if row is None:
        raise NotFound("transfer", transfer_id)
    return _kept(row)


def by_code(session: Session, made_by: UUID, code: str) -> Kept | None:
    row = session.execute(_BY_CODE, {"maker": made_by, "the_code": code}).one_or_none()
    return None if row is None else _kept(row)


def whole(session: Session, transfer_id: UUID) -> Kept:
    """A transfer with all its lines; raises as :func:`by_id` does."""
    kept = by_id(session, transfer_id)
    return replace(kept, transfer=replace(kept.transfer, lines=lines(session, transfer_id)))


def of_exchange(session: Session, exchange_id: UUID) -> tuple[Kept, ...]:
    """The ways of an exchange that the asker is a side of, with their lines, the oldest first."""
    ways = [_kept(row) for row in session.execute(_OF_EXCHANGE, {"exchange": exchange_id})]
    return tuple(replace(way, transfer=replace(way.transfer, lines=lines(session, way.id))) for way in ways)


def written_by(session: Session, institution_id: UUID) -> tuple[tuple[UUID, int], ...]:
    """The transfers that an institution wrote down, the oldest first, each with the number of its facts."""
    return tuple((row.id, row.seq) for row in session.execute(_WRITTEN_BY, {"maker": institution_id}))


def page(session: Session, me: UUID, side: Side, after: Age | None, limit: int) -> Page[Kept, Age]:
    """An institution's transfers as one of the sides, the newest first, without their lines."""
    return page_by_age(session, _LISTS[side], after, limit, _kept, me=me)


def lines(session: Session, transfer_id: UUID) -> tuple[Line, ...]:
    """All lines in their order."""
    stored = session.scalars(_LINES, {"the_transfer": transfer_id})
    return tuple(codec.from_json(Line, content) for content in stored)


def treatments_used(session: Session, transfer_id: UUID) -> tuple[tuple[Treatment, ...] | None, ...]:
    """What was used against pests on each line, in no order; None for a line of which nobody said."""
    found: list[tuple[Treatment, ...] | None] = []
    for used, lines_alike in session.execute(_USED, {"the_transfer": transfer_id}):
        found += [None if used is None else tuple(map(Treatment, used))] * lines_alike
    return tuple(found)


def line(session: Session, transfer_id: UUID, key: str) -> Line:
    """One line of a transfer.

    :raises NotFound: when the transfer has no such line.
    """
    stored = session.scalar(_LINE, {"the_transfer": transfer_id, "the_line": key})
    if stored is None:
        raise NotFound("line of this transfer", key)
    return codec.from_json(Line, stored)


def line_page(session: Session, transfer_id: UUID, after: int, limit: int) -> tuple[Sequence[Row[Any]], int | None]:
    """Lines from behind a position, each with its stored due date, and the position where the next page begins."""
    bound = {"the_transfer": transfer_id, "after": after, "rows": limit + 1}
    rows: Sequence[Any] = session.execute(_LINE_PAGE, bound).all()
    return rows[:limit], rows[limit - 1].position if len(rows) > limit else None


def _write_lines(session: Session, transfer_id: UUID, lines: Sequence[Line]) -> None:
    rows = [
        {
            "transfer_id": transfer_id,
            "key": line.key,
            "position": position,
            "taxon": line.taxon or "",
            "count": line.count,
            "type_status": line.type_status.value if line.type_status else None,
            "content": codec.to_json(line),
        }
        for position, line in enumerate(lines, start=1)
    ]
    if rows:
        session.execute(_WRITE_LINES, rows)


def _content(transfer: Transfer) -> codec.Json:
    return codec.to_json(replace(transfer, lines=()))


def _kept(row: Row[Any]) -> Kept:
    transfer = codec.from_json(Transfer, row.content)
    return Kept(
        id=row.id,
        made_by=row.made_by,
        code=row.code,
        lender_id=row.lender_id,
        borrower_id=row.borrower_id,
        exchange_id=row.exchange_id,
        transfer=transfer,
        standing=standing_in(row, transfer.ending),
        head=Head(row.now_seq, row.now_head),
        created_at=row.created_at,
        updated_at=row.updated_at,
    )


def standing_in(row: Row[Any], ending: Ending) -> Standing:
    """How a transfer stands, as the triggers of the ledger wrote it down.

    Of differences only the number is kept here, and of extensions and signing days nothing: whatever is decided is
    decided on the facts themselves.
    """
    return Standing(
        ending=ending,
        agreement=row.now_agreement,
        signed=frozenset(side for side in Side if getattr(row, f"now_{side.value}_signed")),
        totals={account: getattr(row, f"now_{account.value}") for account in Account},
        dispatched_on=row.now_dispatched_on,
        received_on=row.now_received_on,
        last_moved_on=row.now_moved_on,
        last_dispatched_on=row.now_dispatched_on,
        last_sent_back_on=row.now_sent_back_on,
        acknowledged=row.now_acknowledged,
        differences=frozenset(f"#{number}" for number in range(row.now_differing)),
        reconciled_on=row.now_reconciled_on,
        closed_on=row.now_closed_on,
        withdrawn_on=row.now_withdrawn_on,
    )
