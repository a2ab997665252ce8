"""When each line is due: by its type status, from the day the lender's clock starts, moved by extensions and recalls.

Overdue is never written down; it is what a due date and today make together while something is outstanding.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.core.transfers.facts import Fact, Step, movements
from service.core.transfers.ledger import OUTSTANDING, Account, balances
from service.core.transfers.lines import Line
from service.core.transfers.standing import standing
from service.core.transfers.terms import ClockStart, LengthRule, due_date
from service.core.transfers.transfer import Ending, Transfer

_STARTS = {
    ClockStart.DISPATCH: (Account.PACKED, Account.TRANSIT_OUT),
    ClockStart.RECEIPT: (Account.TRANSIT_OUT, Account.BORROWER),
}


@dataclass(frozen=True, slots=True)
class Due:
    """When one line is due. ``on`` is None where nobody can say yet, and ``why`` says what is missing.

    ``type_status_unknown``: nobody stated whether the line holds types, so it has the length of ordinary material.
    """

    line: str
    on: date | None
    outstanding: int
    why: str
    type_status_unknown: bool = False

    def days_left(self, today: date) -> int | None:
        """Days until it is due, below zero when past; None when nothing is outstanding or no day is known."""
        return None if self.on is None or not self.outstanding else (self.on - today).days

    def overdue_by(self, today: date) -> int:
        """Days past the due date while something is outstanding; otherwise 0."""
        left = self.days_left(today)
        return max(0, -left) if left is not None else 0


def dues(transfer: Transfer, facts: Sequence[Fact]) -> tuple[Due, ...]:
    """The due date of every line, in the order of the lines; of what stays with the receiver, none."""
    if transfer.ending is Ending.STAYS:
        return ()
    starts = _clock_starts(facts)
    held = balances(movements(facts))
    changes = [fact for fact in facts if fact.step in {Step.EXTENSION_GRANTED, Step.RECALLED}]
    owed = {line: sum(accounts.get(account, 0) for account in OUTSTANDING) for line, accounts in held.items()}
    return tuple(_due(transfer, line, starts, owed.get(line.key, 0), changes) for line in transfer.lines)


@dataclass(frozen=True, slots=True)
class _Starts:
    """The days from which clocks run: by line for dispatch and receipt, one day for the agreement."""

    by_line: Mapping[tuple[ClockStart, str], date]
    agreed_on: date | None

    def of(self, clock: ClockStart, line: str) -> date | None:
        return self.agreed_on if clock is ClockStart.AGREEMENT else self.by_line.get((clock, line))


def _clock_starts(facts: Sequence[Fact]) -> _Starts:
    first: dict[tuple[ClockStart, str], date] = {}
    for fact in facts:
        for move in fact.moves:
            for clock, path in _STARTS.items():
                if (move.source, move.target) == path:
                    first[clock, move.line] = min(fact.on, first.get((clock, move.line), fact.on))
    return _Starts(first, standing(Ending.COMES_BACK, facts).agreed_on)


def _due(transfer: Transfer, line: Line, starts: _Starts, outstanding: int, changes: Sequence[Fact]) -> Due:
    rule = transfer.terms.length_for(line.type_status)
    start = starts.of(rule.clock, line.key) if rule else None
    on = due_date(rule, start, transfer.terms.month_end) if rule and start else None
    why = _why(rule, start)
    for fact in changes:
        if fact.means(line.key) and fact.until is not None:
            on, why = _changed(fact, on, fact.until, why)
    return Due(line.key, on, outstanding, why, type_status_unknown=line.type_status is None)


def _why(rule: LengthRule | None, start: date | None) -> str:
    if rule is None:
        return "The lender states no length for such material."
    if start is None:
        return f"{rule.length} from {rule.clock}, which has not happened yet."
    return f"{rule.length} from {rule.clock} on {start.isoformat()}."


def _changed(fact: Fact, on: date | None, until: date, why: str) -> tuple[date | None, str]:
    """An extension only ever gives more time, a recall only ever less."""
    if fact.step is Step.EXTENSION_GRANTED and (on is None or until > on):
        return until, f"Extended on {fact.on.isoformat()}."
    if fact.step is Step.RECALLED and (on is None or until < on):
        return until, f"Recalled on {fact.on.isoformat()}."
    return on, why
