"""What an institution publishes about its loans: its terms, its registration, its own changes to the listed taxa."""

from dataclasses import dataclass

from service.core.handbook.listed_taxa import ListedTaxa, ListedTaxon, listed_taxa
from service.core.transfers.terms import Terms


@dataclass(frozen=True, slots=True)
class LoanRules:
    """``listed_also`` and ``not_listed`` change the handbook's starter list for this institution.

    What is left out was not stated, and is unknown to everybody who asks for a loan.
    """

    terms: Terms = Terms()
    cites_code: str | None = None
    listed_also: tuple[ListedTaxon, ...] = ()
    not_listed: tuple[str, ...] = ()
    note: str = ""

    def listed(self) -> ListedTaxa:
        """The list of taxa as this institution keeps it."""
        return listed_taxa().with_changes(self.listed_also, self.not_listed)
