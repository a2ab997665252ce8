"""The custody ledger: double entry over who holds how many of each line.

A transfer keeps its own small set of accounts for each line. Every movement takes a count out of one account and
puts the same count into another, so the accounts of a line always sum to zero, and the reconciliation

    lent = returned + retained + passed on + consumed + lost + outstanding

is not a check beside the books but what the books say. Only the lender's collection may stand below zero: it shows
what left it. Every other account counts things that are somewhere, and nothing is anywhere fewer than no times, on
any day: a movement written down late is tried against every day since its own date.

How the movements are chained, and why each transfer has a chain of its own, stands in ``chain.py``.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from service.core.errors import Invalid
from service.core.transfers.parties import Side
from service.core.transfers.refusals import BelowZero, Unbalanced


class Account(StrEnum):
    """Where the count of a line can be."""

    COLLECTION = "collection"
    """The lender's own collection, as seen from the transfer: minus what was taken off its shelves."""
    PACKED = "packed"
    """In the box at the lender."""
    TRANSIT_OUT = "transit_out"
    """On its way to the borrower or receiver."""
    BORROWER = "borrower"
    """In hand at the borrower or receiver."""
    TRANSIT_BACK = "transit_back"
    """On its way back."""
    RETURNED = "returned"
    """Received back by the lender."""
    RETAINED = "retained"
    """The receiver's own for good: kept from a loan by permission, or given."""
    PASSED_ON = "passed_on"
    """With a third party by permission."""
    CONSUMED = "consumed"
    """Used up or destroyed, with a reason and a name."""
    LOST = "lost"
    """Lost: missing, and written down as such."""

    @property
    def words(self) -> str:
        return _WORDS.get(self, self.value.replace("_", " "))


_WORDS = {
    Account.COLLECTION: "the lender's collection",
    Account.TRANSIT_OUT: "on the way out",
    Account.TRANSIT_BACK: "on the way back",
    Account.BORROWER: "with the borrower",
}
#: What is still owed: on its way or with the borrower.
OUTSTANDING = (Account.TRANSIT_OUT, Account.BORROWER, Account.TRANSIT_BACK)
#: What was lent and will not come home: each with permission or with a named reason.
SETTLED_AWAY = (Account.RETAINED, Account.PASSED_ON, Account.CONSUMED, Account.LOST)
#: In whose hands an account is. On its way, passed on, consumed or lost, a thing is in neither side's hands.
IN_HANDS_OF = {
    Account.PACKED: Side.LENDER,
    Account.RETURNED: Side.LENDER,
    Account.BORROWER: Side.BORROWER,
    Account.RETAINED: Side.BORROWER,
}

Balances: TypeAlias = Mapping[str, Mapping[Account, int]]
"""Counts by the key of a line and by account."""


@dataclass(frozen=True, slots=True)
class Posting:
    """One account of one line goes up or down by ``change``."""

    line: str
    account: Account
    change: int


@dataclass(frozen=True, slots=True)
class Move:
    """``count`` of a line go from one account to another."""

    line: str
    source: Account
    target: Account
    count: int

    def __post_init__(self) -> None:
        if self.count < 1:
            raise Invalid("count", f"Line {self.line}: {self.count} cannot be moved; move at least 1.")
        if self.source is self.target:
            raise Invalid("target", f"Line {self.line}: a move goes from one place to another.")


@dataclass(frozen=True, slots=True)
class Movement:
    """The moves of one dated fact."""

    on: date
    moves: tuple[Move, ...]


def postings(moves: Iterable[Move]) -> tuple[Posting, ...]:
    """The two postings of each move: out of one account, into the other."""
    return tuple(
        posting
        for move in moves
        for posting in (Posting(move.line, move.source, -move.count), Posting(move.line, move.target, move.count))
    )


def check_balanced(entries: Iterable[Posting]) -> None:
    """Postings of one movement sum to zero for each line.

    :raises Unbalanced: naming the first line that does not.
    """
    sums: dict[str, int] = defaultdict(int)
    for posting in entries:
        sums[posting.line] += posting.change
    for line, surplus in sums.items():
        if surplus:
            raise Unbalanced(line, surplus)


def balances(movements: Iterable[Movement], until: date | None = None) -> dict[str, dict[Account, int]]:
    """What stands in each account of each line, at the end of the day ``until`` or after everything."""
    standing: dict[str, dict[Account, int]] = defaultdict(lambda: defaultdict(int))
    for movement in movements:
        if until is None or movement.on <= until:
            for posting in postings(movement.moves):
                standing[posting.line][posting.account] += posting.change
    return {line: dict(accounts) for line, accounts in standing.items()}


def totals(standing: Balances) -> dict[Account, int]:
    """All lines together, by account."""
    return {account: sum(of.get(account, 0) for of in standing.values()) for account in Account}


def check_never_below_zero(movements: Sequence[Movement]) -> None:
    """On no day does an account hold fewer than nothing; movements of one day count in the order given.

    :raises BelowZero: naming the first line, account and day.
    """
    held: dict[tuple[str, Account], int] = defaultdict(int)
    for movement in sorted(movements, key=lambda movement: movement.on):
        touched = postings(movement.moves)
        for posting in touched:
            held[posting.line, posting.account] += posting.change
        for posting in touched:
            _check_holds(posting, held[posting.line, posting.account], movement.on)


def _check_holds(posting: Posting, held: int, on: date) -> None:
    if held < 0 and posting.account is not Account.COLLECTION:
        raise BelowZero(posting.line, posting.account.words, on.isoformat(), -held)


def touching(movements: Iterable[Movement], lines: frozenset[str]) -> tuple[Movement, ...]:
    """The movements as far as they concern some lines: the other lines of a large loan need no second look."""
    kept = (Movement(m.on, tuple(move for move in m.moves if move.line in lines)) for m in movements)
    return tuple(movement for movement in kept if movement.moves)
