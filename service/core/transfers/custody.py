"""Who holds what, today or on any past day: by line, by taxon, by party."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.core.transfers.facts import Fact, movements
from service.core.transfers.ledger import IN_HANDS_OF, Account, balances
from service.core.transfers.transfer import Transfer


@dataclass(frozen=True, slots=True)
class Holding:
    """A count of one line in one account at the end of a day. ``party`` is the key of the party in whose hands it is;
    None while it is on its way, with a third party, consumed or lost.
    """

    line: str
    taxon: str | None
    account: Account
    party: str | None
    count: int


def holdings(transfer: Transfer, facts: Sequence[Fact], on: date | None = None) -> tuple[Holding, ...]:
    """Where everything that left the shelf stands at the end of a day, or after the last fact."""
    held = balances(movements(facts), on)
    return tuple(
        Holding(line.key, line.taxon, account, _party(transfer, account), held[line.key][account])
        for line in transfer.lines
        if line.key in held
        for account in Account
        if account is not Account.COLLECTION and held[line.key].get(account)
    )


def _party(transfer: Transfer, account: Account) -> str | None:
    side = IN_HANDS_OF.get(account)
    return transfer.party(side).key if side else None


def by_taxon(held: Sequence[Holding]) -> dict[tuple[str | None, str | None], int]:
    """Counts by taxon and party."""
    counts: dict[tuple[str | None, str | None], int] = defaultdict(int)
    for holding in held:
        counts[holding.taxon, holding.party] += holding.count
    return dict(counts)
