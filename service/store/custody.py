"""Who holds what, today or on any past day: by lot, by taxon, by institution.

Each question is asked as one of the sides: of what is ours and away, or of what we have from others. Today is read
off the balances; a past day is summed up from the postings until then, lot by lot along the same index.
"""

from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Row, TextClause, text
from sqlalchemy.orm import Session

from service.core.transfers.ledger import IN_HANDS_OF, Account
from service.core.transfers.parties import Side
from service.store.paging import Page

#: Stands for a private person in the order of institutions; no institution has this id.
NOBODY = UUID(int=0)
#: The accounts that tell where something is; the collection shows what left it.
PLACES = tuple(account for account in Account if account is not Account.COLLECTION)


class Lot(NamedTuple):
    """Where a row stands in the list by lot."""

    taxon: str
    transfer_id: UUID
    line: str
    account: str


@dataclass(frozen=True, slots=True)
class HeldLot:
    """A count of one line in one account. ``holder_id`` is None with a private person, and where nobody of the two
    sides has it: on its way, with a third party, consumed or lost.
    """

    transfer_id: UUID
    code: str
    line: str
    taxon: str | None
    account: Account
    count: int
    lender_id: UUID | None
    borrower_id: UUID | None

    @property
    def holder_id(self) -> UUID | None:
        side = IN_HANDS_OF.get(self.account)
        return self.lender_id if side is Side.LENDER else self.borrower_id if side is Side.BORROWER else None


@dataclass(frozen=True, slots=True)
class Summed:
    """Counts by account, of one taxon or with one institution (None: private persons, all together)."""

    of: str | UUID | None
    counts: dict[Account, int]


@dataclass(frozen=True, slots=True)
class Asked:
    """One question: as which side, on which day (None: now), of one taxon, with one other institution."""

    me: UUID
    side: Side
    on: date | None = None
    taxon: str | None = None
    other: UUID | None = None

    def bound(self) -> dict[str, Any]:
        return {"me": self.me, "on": self.on, "taxon": self.taxon, "other": self.other}


def lots(session: Session, asked: Asked, after: Lot | None, limit: int) -> Page[HeldLot, Lot]:
    """By lot, in the order of taxa."""
    past, taxon, other = asked.on is not None, asked.taxon is not None, asked.other is not None
    statement = _lots(asked.side, past, taxon, other, after is not None)
    behind = {f"after_{name}": value for name, value in after._asdict().items()} if after else {}
    rows = session.execute(statement, asked.bound() | behind | {"rows": limit + 1}).all()
    last = rows[limit - 1] if len(rows) > limit else None
    position = Lot(last.taxon, last.transfer_id, last.line, last.account) if last else None
    return Page(tuple(map(_held, rows[:limit])), position)


def taxa(session: Session, asked: Asked, after: str | None, limit: int) -> Page[Summed, str]:
    """By taxon, in their order; what has no name comes first, as None."""
    statement = _taxa(asked.side, asked.on is not None, after is not None)
    rows = session.execute(statement, asked.bound() | {"after": after, "rows": limit + 1}).all()
    shown = tuple(Summed(row[0] or None, _counts(row[1:])) for row in rows[:limit])
    return Page(shown, rows[limit - 1][0] if len(rows) > limit else None)


def institutions(session: Session, asked: Asked, after: UUID | None, limit: int) -> Page[Summed, UUID]:
    """By the institution on the other side."""
    statement = _institutions(asked.side, asked.on is not None)
    rows = session.execute(statement, asked.bound() | {"after": after, "rows": limit + 1}).all()
    shown = tuple(Summed(None if row[0] == NOBODY else row[0], _counts(row[1:])) for row in rows[:limit])
    return Page(shown, rows[limit - 1][0] if len(rows) > limit else None)


def _held(row: Row[Any]) -> HeldLot:
    place = Account(row.account)
    return HeldLot(
        row.transfer_id, row.code, row.line, row.taxon or None, place, int(row.held), row.lender_id, row.borrower_id
    )


def _counts(sums: Any) -> dict[Account, int]:
    return {account: int(count) for account, count in zip(PLACES, sums, strict=True) if count}


_PAST = (
    " CROSS JOIN LATERAL (SELECT coalesce(sum(p.change), 0) AS quantity FROM custody_posting p"
    " WHERE p.transfer_id = b.transfer_id AND p.line = b.line AND p.account = b.account AND p.on_day <= :on) q"
)


def _source(side: Side, past: bool) -> tuple[str, str]:
    """The balances of a side with their counts on the day asked for, and the name of the count."""
    mine = f"b.{side.value}_id = :me AND "
    if past:
        return f"FROM custody_balance b{_PAST} WHERE {mine}b.account <> 'collection' AND q.quantity > 0", "q.quantity"
    return f"FROM custody_balance b WHERE {mine}b.quantity > 0", "b.quantity"


@cache
def _lots(side: Side, past: bool, taxon: bool, other: bool, following: bool) -> TextClause:
    source, count = _source(side, past)
    narrowed = (" AND b.taxon = :taxon" if taxon else "") + (
        f" AND b.{side.other.value}_id = :other" if other else ""
    )
    place = "b.taxon, b.transfer_id, b.line, b.account"
    behind = f" AND ({place}) > (:after_taxon, :after_transfer_id, :after_line, :after_account)" if following else ""
    return text(
        f"SELECT {place}, {count} AS held, b.lender_id, b.borrower_id,"  # noqa: S608
        " (SELECT t.code FROM transfer t WHERE t.id = b.transfer_id) AS code"
        f" {source}{narrowed}{behind} ORDER BY {place} LIMIT :rows"
    )


_SUMS = ", ".join(f"coalesce(sum({{count}}) FILTER (WHERE b.account = '{place}'), 0)" for place in PLACES)


@cache
def _taxa(side: Side, past: bool, following: bool) -> TextClause:
    """From one taxon to the next along the index, each summed up by itself, until the page is full."""
    source, count = _source(side, past)
    there = f"FROM custody_balance b WHERE b.{side.value}_id = :me"
    there += " AND b.account <> 'collection'" if past else " AND b.quantity > 0"
    first = f"SELECT b.taxon {there}{' AND b.taxon > :after' if following else ''} ORDER BY b.taxon LIMIT 1"
    after_it = f"SELECT b.taxon {there} AND b.taxon > t.taxon ORDER BY b.taxon LIMIT 1"
    return text(
        f"WITH RECURSIVE taxa AS (({first}) UNION ALL"  # noqa: S608
        f" SELECT ({after_it}) FROM taxa t WHERE t.taxon IS NOT NULL)"
        f" SELECT t.taxon, s.* FROM taxa t CROSS JOIN LATERAL (SELECT {_SUMS.format(count=count)}"
        f" {source} AND b.taxon = t.taxon HAVING count(*) > 0) s WHERE t.taxon IS NOT NULL LIMIT :rows"
    )


@cache
def _institutions(side: Side, past: bool) -> TextClause:
    other = f"coalesce(b.{side.other.value}_id, '{NOBODY}')"
    behind = f"(CAST(:after AS uuid) IS NULL OR {other} > :after)"
    if past:
        sums, source = _SUMS.format(count="b.change"), f"FROM custody_movement b WHERE b.{side.value}_id = :me"
        source += " AND b.on_day <= :on"
    else:
        sums = ", ".join(f"sum(b.{place})" for place in PLACES)
        source = f"FROM transfer_standing b WHERE b.{side.value}_id = :me AND b.seq > 0"
    return text(f"SELECT {other} AS other, {sums} {source} AND {behind} GROUP BY 1 ORDER BY 1 LIMIT :rows")
