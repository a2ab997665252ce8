"""The ledger of a transfer: its facts in their chain, and what the triggers made of them.

The application appends the hashed text of a fact and nothing else. Postings, balances and standings are the
triggers' work; see ``migrations/sql/0006_laws.sql``.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import bindparam, select, text
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.transfers.chain import Head, Link, fact_in, link
from service.core.transfers.dues import Due
from service.core.transfers.facts import Fact
from service.core.transfers.ledger import Account, Balances, Posting
from service.store.paging import Page
from service.store.tables import custody_balance, custody_movement, custody_posting
from service.store.tables import transfer_fact as table


@dataclass(frozen=True, slots=True)
class Recorded:
    """A fact as it stands in the chain: with its place, its hash and the moment it was written down."""

    seq: int
    fact: Fact
    digest: str
    recorded_at: datetime
    body: str


_THESE = table.c.transfer_id == bindparam("the_transfer")
_LOCK = text("SELECT seq, head FROM transfer_standing WHERE transfer_id = :the_transfer FOR UPDATE")
_BODIES = select(table.c.body).where(_THESE).order_by(table.c.seq)
_RECORDED = select(table.c.seq, table.c.digest, table.c.recorded_at, table.c.body).where(_THESE).order_by(table.c.seq)
_PAGE = _RECORDED.where(table.c.seq > bindparam("after")).limit(bindparam("rows"))
_APPEND = text("INSERT INTO transfer_fact (transfer_id, body) VALUES (:the_transfer, :body)")
_BALANCES = select(custody_balance.c.line, custody_balance.c.account, custody_balance.c.quantity).where(
    custody_balance.c.transfer_id == bindparam("the_transfer")
)
_BALANCES_OF_LINES = _BALANCES.where(custody_balance.c.line.in_(bindparam("lines", expanding=True)))
_POSTINGS = (
    select(custody_posting.c.seq, custody_posting.c.line, custody_posting.c.account, custody_posting.c.change)
    .where(custody_posting.c.transfer_id == bindparam("the_transfer"))
    .order_by(custody_posting.c.seq, custody_posting.c.line, custody_posting.c.account)
)
_SUMS = select(custody_movement.c.seq, custody_movement.c.account, custody_movement.c.change).where(
    custody_movement.c.transfer_id == bindparam("the_transfer")
)
_WRITE_DUES = text(
    "UPDATE line_standing s SET due_on = d.due_on"
    " FROM unnest(CAST(:lines AS text[]), CAST(:days AS date[])) AS d (line, due_on)"
    " WHERE s.transfer_id = :the_transfer AND s.line = d.line AND s.due_on IS DISTINCT FROM d.due_on"
)
_OUT_ELSEWHERE = text(
    "SELECT taxon, sum(quantity) FROM custody_balance"
    " WHERE lender_id = :lender AND quantity > 0 AND taxon = ANY (:taxa) AND transfer_id <> :the_transfer"
    " AND account IN ('packed', 'transit_out', 'borrower', 'transit_back') GROUP BY taxon"
)


def lock(session: Session, transfer_id: UUID) -> Head:
    """Be alone at the end of a transfer's chain until this transaction is over; gives its last link.

    :raises NotFound: when there is no such transfer that the asker is a side of.
    """
    row = session.execute(_LOCK, {"the_transfer": transfer_id}).one_or_none()
    if row is None:
        raise NotFound("transfer", transfer_id)
    return Head(row.seq, row.head)


def facts(session: Session, transfer_id: UUID) -> tuple[Fact, ...]:
    """All facts of a transfer in their order."""
    return tuple(fact_in(body) for body in session.scalars(_BODIES, {"the_transfer": transfer_id}))


def recorded(session: Session, transfer_id: UUID) -> tuple[Recorded, ...]:
    """All facts of a transfer with their places in the chain."""
    return tuple(_recorded(row) for row in session.execute(_RECORDED, {"the_transfer": transfer_id}))


def page(session: Session, transfer_id: UUID, after: int, limit: int) -> Page[Recorded, int]:
    """The facts from behind a number in the chain."""
    found = session.execute(_PAGE, {"the_transfer": transfer_id, "after": after, "rows": limit + 1}).all()
    return Page(tuple(map(_recorded, found[:limit])), found[limit - 1].seq if len(found) > limit else None)


def append(session: Session, transfer_id: UUID, last: Head, fact: Fact, now: datetime) -> Head:
    """Write a fact behind the last one; the chain is locked by :func:`lock`. Gives the new end."""
    written = link(str(transfer_id), Link(last.seq, b"", last.digest) if last.seq else None, fact, now)
    session.execute(_APPEND, {"the_transfer": transfer_id, "body": written.body.decode()})
    return written.head


def links(session: Session, transfer_id: UUID) -> tuple[Link, ...]:
    """The chain as it is stored, for whoever checks it."""
    return tuple(Link(one.seq, one.body.encode(), one.digest) for one in recorded(session, transfer_id))


def balances(session: Session, transfer_id: UUID, lines: Sequence[str] | None = None) -> Balances:
    """What stands in each account, of all lines or of some, as the triggers keep it."""
    bound: dict[str, Any] = {"the_transfer": transfer_id}
    statement = _BALANCES
    if lines is not None:
        statement, bound["lines"] = _BALANCES_OF_LINES, list(lines)
    found: dict[str, dict[Account, int]] = {}
    for line, account, quantity in session.execute(statement, bound):
        found.setdefault(line, {})[Account(account)] = quantity
    return found


def postings(session: Session, transfer_id: UUID) -> Mapping[int, tuple[Posting, ...]]:
    """The stored postings by the number of their fact."""
    found: dict[int, tuple[Posting, ...]] = {}
    for seq, line, account, change in session.execute(_POSTINGS, {"the_transfer": transfer_id}):
        found[seq] = (*found.get(seq, ()), Posting(line, Account(account), change))
    return found


def sums(session: Session, transfer_id: UUID) -> Mapping[tuple[int, Account], int]:
    """The postings of each fact summed over its lines, as they are kept for the question by institution."""
    rows = session.execute(_SUMS, {"the_transfer": transfer_id})
    return {(seq, Account(account)): int(change) for seq, account, change in rows}


def write_dues(session: Session, transfer_id: UUID, dues: Iterable[Due]) -> None:
    """Note the due dates of lines that have moved, for the lists of the desk."""
    days: dict[str, date | None] = {due.line: due.on for due in dues}
    if days:
        bound = {"the_transfer": transfer_id, "lines": list(days), "days": list(days.values())}
        session.execute(_WRITE_DUES, bound)


def out_elsewhere(session: Session, lender_id: UUID, transfer_id: UUID, taxa: Iterable[str]) -> Mapping[str, int]:
    """How many of each taxon a lender has out, or packed, in its other transfers."""
    bound = {"lender": lender_id, "the_transfer": transfer_id, "taxa": sorted(set(taxa))}
    return {taxon: int(count) for taxon, count in session.execute(_OUT_ELSEWHERE, bound)}


def _recorded(row: Any) -> Recorded:
    return Recorded(row.seq, fact_in(row.body), row.digest, row.recorded_at, row.body)
