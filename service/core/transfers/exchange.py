"""An exchange: two ways, each a transfer of its own, and what one side still owes the other, if for years."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.errors import Invalid
from service.core.transfers.facts import Fact, movements
from service.core.transfers.ledger import Account, balances
from service.core.transfers.lines import Counted
from service.core.transfers.transfer import Transfer


@dataclass(frozen=True, slots=True)
class Balance:
    """What each side of an exchange took over from the other, of one thing that is counted.

    ``first`` and ``second`` are the parties' keys; ``first_gave`` counts what the second took over from the first.
    """

    first: str
    second: str
    counted: Counted
    first_gave: int
    second_gave: int

    @property
    def is_even(self) -> bool:
        return self.first_gave == self.second_gave

    @property
    def owing(self) -> str | None:
        """The party that has still to give."""
        if self.is_even:
            return None
        return self.second if self.first_gave > self.second_gave else self.first

    @property
    def owed(self) -> int:
        return abs(self.first_gave - self.second_gave)


def exchange_balance(ways: Sequence[tuple[Transfer, Sequence[Fact]]]) -> tuple[Balance, ...]:
    """The balance of an exchange, one for each thing counted, over the ways that were written down so far.

    Specimens are weighed against specimens and trays against trays, one for one: what a rare beetle is worth in
    common ones is for the two sides to say.

    :raises Invalid: when the ways are of different exchanges or between different parties.
    """
    if not ways:
        return ()
    first, second = _parties([transfer for transfer, _ in ways])
    given: dict[tuple[str, Counted], int] = {}
    for transfer, facts in ways:
        for counted, count in _taken_over(transfer, facts).items():
            key = (transfer.lender.key, counted)
            given[key] = given.get(key, 0) + count
    kinds = sorted({counted for _, counted in given})
    both = ((kind, given.get((first, kind), 0), given.get((second, kind), 0)) for kind in kinds)
    return tuple(Balance(first, second, kind, *gave) for kind, *gave in both)


def _parties(ways: Sequence[Transfer]) -> tuple[str, str]:
    first, second = ways[0].lender.key, ways[0].borrower.key
    for way in ways:
        if way.exchange is None or way.exchange != ways[0].exchange:
            raise Invalid("exchange", "These transfers are not ways of one exchange.")
        if {way.lender.key, way.borrower.key} != {first, second}:
            raise Invalid("exchange", "The ways of one exchange are between the same two parties.")
    return first, second


def _taken_over(transfer: Transfer, facts: Sequence[Fact]) -> dict[Counted, int]:
    held = balances(movements(facts))
    counts: dict[Counted, int] = {}
    for line in transfer.lines:
        retained = held.get(line.key, {}).get(Account.RETAINED, 0)
        counts[line.counted] = counts.get(line.counted, 0) + retained
    return counts
