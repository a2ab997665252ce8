"""The file of a transfer, as its papers are written from it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from service.core.handbook.listed_taxa import ListedTaxa
from service.core.parcels.answer import ParcelPlan
from service.core.parcels.stock import Contact
from service.core.transfers.dues import Due
from service.core.transfers.facts import Fact, movements
from service.core.transfers.ledger import Balances, balances
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit
from service.core.transfers.reconciliation import Tally, tally
from service.core.transfers.standing import Standing, standing
from service.core.transfers.transfer import Transfer


@dataclass(frozen=True)
class TransferFile:
    """``code`` is the transfer's own, ``service`` the address at which this service is found. ``sender``
    is the side that sends the parcel in question, and ``parcels`` is the plan that a parcel's paper is about.
    """

    code: str
    transfer: Transfer
    facts: Sequence[Fact]
    dues: Mapping[str, Due]
    listed: ListedTaxa
    sender: Side = Side.LENDER
    service: str = ""
    permits: tuple[Permit, ...] = ()
    contacts: Mapping[Side, Contact] = field(default_factory=dict)
    parcels: ParcelPlan | None = None
    tariff_code: str | None = None

    @cached_property
    def held(self) -> Balances:
        """What stands in each account of each line."""
        return balances(movements(self.facts))

    @cached_property
    def standing(self) -> Standing:
        return standing(self.transfer.ending, self.facts)

    def tally(self, line: Line) -> Tally:
        return tally(self.held.get(line.key, {}))

    @property
    def about(self) -> str:
        """The line at the head of every page: which transfer, and between whom."""
        return f"{self.code}: {self.transfer.lender.name} to {self.transfer.borrower.name}"
