"""How a transfer stands: what decides which steps are open, derived from the facts alone."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.core.transfers.facts import Fact, Step, movements
from service.core.transfers.ledger import OUTSTANDING, Account, balances, totals
from service.core.transfers.parties import Side
from service.core.transfers.transfer import Ending


@dataclass(frozen=True, slots=True)
class Standing:
    """``signed`` are the signatures that stand under the text as it now reads. ``acknowledged`` and ``reconciled_on``
    fall again when something moves after them. ``differences`` are lines reported as differing and not yet settled.
    """

    ending: Ending
    agreement: str | None = None
    signed: frozenset[Side] = frozenset()
    agreed_on: date | None = None
    totals: Mapping[Account, int] | None = None
    dispatched_on: date | None = None
    received_on: date | None = None
    last_moved_on: date | None = None
    last_dispatched_on: date | None = None
    last_sent_back_on: date | None = None
    acknowledged: bool = False
    differences: frozenset[str] = frozenset()
    extension: Fact | None = None
    reconciled_on: date | None = None
    closed_on: date | None = None
    withdrawn_on: date | None = None

    def count(self, *accounts: Account) -> int:
        return sum((self.totals or {}).get(account, 0) for account in accounts)

    @property
    def lent(self) -> int:
        return -self.count(Account.COLLECTION, Account.PACKED)

    @property
    def outstanding(self) -> int:
        return self.count(*OUTSTANDING)

    @property
    def is_agreed(self) -> bool:
        return self.signed == frozenset(Side)

    @property
    def is_open(self) -> bool:
        return self.closed_on is None and self.withdrawn_on is None


def standing(ending: Ending, facts: Sequence[Fact]) -> Standing:
    """How a transfer stands after these facts, in the order in which they were written down."""
    agreement, signatures = _signatures(facts)
    agreed = max(fact.on for fact in signatures) if {fact.side for fact in signatures} == set(Side) else None
    moved = [fact.on for fact in facts if fact.moves]
    return Standing(
        ending=ending,
        agreement=agreement,
        signed=frozenset(fact.side for fact in signatures),
        agreed_on=agreed,
        totals=totals(balances(movements(facts))),
        dispatched_on=_first(facts, Step.DISPATCHED),
        received_on=_first(facts, Step.RECEIVED),
        last_moved_on=max(moved, default=None),
        last_dispatched_on=_last(facts, Step.DISPATCHED),
        last_sent_back_on=_last(facts, Step.SENT_BACK),
        acknowledged=_stands(facts, Step.ACKNOWLEDGED, unless_after=_moves_to_borrower) is not None,
        differences=_open_differences(facts),
        extension=_open_extension(facts),
        reconciled_on=_stands(facts, Step.RECONCILED, unless_after=_moves_or_differs),
        closed_on=_first(facts, Step.CLOSED),
        withdrawn_on=_first(facts, Step.WITHDRAWN),
    )


def _signatures(facts: Sequence[Fact]) -> tuple[str | None, list[Fact]]:
    """The text last written, and the signatures under it: those made after it that name its digest."""
    agreement: str | None = None
    signatures: list[Fact] = []
    for fact in facts:
        if fact.step is Step.WRITTEN:
            agreement, signatures = fact.agreement, []
        elif fact.step is Step.SIGNED and fact.agreement == agreement:
            signatures.append(fact)
    return agreement, signatures


def _first(facts: Sequence[Fact], step: Step) -> date | None:
    return min((fact.on for fact in facts if fact.step is step), default=None)


def _last(facts: Sequence[Fact], step: Step) -> date | None:
    return max((fact.on for fact in facts if fact.step is step), default=None)


def _moves_to_borrower(fact: Fact) -> bool:
    return any(move.source is Account.TRANSIT_OUT or move.target is Account.TRANSIT_OUT for move in fact.moves)


def _moves_or_differs(fact: Fact) -> bool:
    return bool(fact.moves) or fact.step is Step.DIFFERENCE_REPORTED


def _stands(facts: Sequence[Fact], step: Step, unless_after: Callable[[Fact], bool]) -> date | None:
    """The day of the last such fact, unless something followed that takes it back."""
    for fact in reversed(facts):
        if fact.step is step:
            return fact.on
        if unless_after(fact):
            return None
    return None


def _open_differences(facts: Sequence[Fact]) -> frozenset[str]:
    lines: set[str] = set()
    for fact in facts:
        if fact.step is Step.DIFFERENCE_REPORTED:
            lines |= {recount.line for recount in fact.recounts}
        elif fact.step is Step.DIFFERENCE_SETTLED:
            lines = {line for line in lines if not fact.means(line)}
    return frozenset(lines)


def _open_extension(facts: Sequence[Fact]) -> Fact | None:
    """The extension asked for and not yet answered."""
    asked: Fact | None = None
    for fact in facts:
        if fact.step is Step.EXTENSION_ASKED:
            asked = fact
        elif fact.step in {Step.EXTENSION_GRANTED, Step.EXTENSION_REFUSED}:
            asked = None
    return asked
