"""Adding up a line, and all lines: what was lent against what became of it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from service.core.errors import Invalid
from service.core.transfers.ledger import OUTSTANDING, SETTLED_AWAY, Account, Balances
from service.core.transfers.refusals import MoreThanLent


@dataclass(frozen=True, slots=True)
class Tally:
    """What became of what was lent. Of a gift, ``retained`` is what the receiver took over."""

    lent: int
    returned: int = 0
    retained: int = 0
    passed_on: int = 0
    consumed: int = 0
    lost: int = 0
    outstanding: int = 0

    @property
    def accounted_for(self) -> int:
        return self.returned + self.retained + self.passed_on + self.consumed + self.lost

    @property
    def adds_up(self) -> bool:
        return self.lent == self.accounted_for + self.outstanding

    @property
    def may_close(self) -> bool:
        return self.adds_up and self.outstanding == 0


def tally(accounts: Mapping[Account, int]) -> Tally:
    """The tally of one line, or of all, from the books."""
    return Tally(
        lent=-accounts.get(Account.COLLECTION, 0) - accounts.get(Account.PACKED, 0),
        returned=accounts.get(Account.RETURNED, 0),
        outstanding=sum(accounts.get(account, 0) for account in OUTSTANDING),
        **{account.value: accounts.get(account, 0) for account in SETTLED_AWAY},
    )


def tallies(standing: Balances) -> dict[str, Tally]:
    """The tally of every line that ever left the shelf."""
    return {line: tally(accounts) for line, accounts in standing.items()}


def tally_from_papers(
    lent: int, *, returned: int = 0, retained: int = 0, passed_on: int = 0, consumed: int = 0, lost: int = 0
) -> Tally:
    """The tally of an older loan, from the figures in its file; what is not accounted for is outstanding.

    :raises MoreThanLent: when more is accounted for than was lent.
    :raises Invalid: for a count below zero.
    """
    written = Tally(lent, returned, retained, passed_on, consumed, lost)
    for field in fields(written):
        if getattr(written, field.name) < 0:
            raise Invalid(field.name, f"{field.name} is {getattr(written, field.name)}; a count is at least 0.")
    outstanding = lent - written.accounted_for
    if outstanding < 0:
        raise MoreThanLent(lent, -outstanding)
    return Tally(lent, returned, retained, passed_on, consumed, lost, outstanding)
