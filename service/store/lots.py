"""The lots of a consignment, as another database told of them: any number, written and read as they come."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

import orjson
from sqlalchemy import Row, bindparam, delete, func, select, text
from sqlalchemy.orm import Session

from service.core.lots import Lot
from service.store import codec
from service.store.consignments import Consignment
from service.store.paging import Page, in_order_of, rows_of
from service.store.tables import consignment_lot as table

_AT_ONCE = 1_000
_THESE = (
    table.c.institution_id == bindparam("owner"),
    table.c.consignment_id == bindparam("the_consignment"),
)
_LIST = in_order_of(select(table.c.content, table.c.position).where(*_THESE), table.c.position)
_COUNT = select(func.count()).select_from(table).where(*_THESE)
_CLEAR = delete(table).where(*_THESE)
# One statement for a thousand rows: the server takes them out of one text much faster than one by one.
_WRITE = text(
    "INSERT INTO consignment_lot (institution_id, consignment_id, position, record, content, count, taxon)"
    " SELECT :owner, :the_consignment, r.position, r.record, r.content, r.count, r.taxon"
    " FROM jsonb_to_recordset(CAST(:rows AS jsonb))"
    " AS r (position integer, record text, content jsonb, count integer, taxon text)"
)


def replace(session: Session, consignment: Consignment, lots: Iterable[Lot]) -> int:
    """Let a consignment's lots be these; how many they are. They are taken as they come, never all at once."""
    session.execute(_CLEAR, _these(consignment))
    numbered = enumerate(lots, start=1)
    written = 0
    while rows := [_row(position, lot) for position, lot in islice(numbered, _AT_ONCE)]:
        session.execute(_WRITE, _these(consignment) | {"rows": orjson.dumps(rows).decode()})
        written += len(rows)
    return written


def page(session: Session, consignment: Consignment, after: int | None, limit: int) -> Page[tuple[int, Lot], int]:
    """Lots in their order, each with its position."""
    at = None if after is None else {"after": after}
    rows, more = rows_of(session, _LIST, at, limit, **_these(consignment))
    return Page(tuple(map(_placed, rows)), rows[-1].position if more else None)


def each(session: Session, consignment: Consignment) -> Iterator[Lot]:
    """All lots in their order, read a thousand at a time."""
    after: int | None = None
    while True:
        found = page(session, consignment, after, _AT_ONCE)
        yield from (lot for _, lot in found.items)
        if found.next is None:
            return
        after = found.next


def count(session: Session, consignment: Consignment) -> int:
    return session.scalar(_COUNT, _these(consignment)) or 0


def _row(position: int, lot: Lot) -> dict[str, Any]:
    return {
        "position": position,
        "record": lot.record,
        "content": codec.to_json(lot),
        "count": lot.line.count,
        "taxon": lot.line.taxon or "",
    }


def _placed(row: Row[Any]) -> tuple[int, Lot]:
    return row.position, codec.from_json(Lot, row.content)


def _these(consignment: Consignment) -> dict[str, object]:
    return {"owner": consignment.institution_id, "the_consignment": consignment.id}
