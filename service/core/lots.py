"""A lot as one database tells another of it: what it is, who holds it, who owns it, and how it came to be away.

Custody and ownership are two facts. They differ for as long as something is on loan, and neither is read off the
other.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.transfers.ledger import IN_HANDS_OF, Account
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit


class Disposition(StrEnum):
    """Where it can be found, in the words that Darwin Core gives for ``disposition`` (issue of 2026-05-26)."""

    IN_COLLECTION = "in collection"
    ON_LOAN = "on loan"
    MISSING = "missing"
    USED_UP = "used up"
    DESTROYED = "destroyed"
    DEACCESSIONED = "deaccessioned"


@dataclass(frozen=True, slots=True)
class OnLoan:
    """The loan under which a lot is away. Its fields are those of the GGBN Loan vocabulary (13 January 2016)."""

    identifier: str | None = None
    sent_on: date | None = None
    destination: str | None = None
    received_from: str | None = None
    conditions: str | None = None
    blocked: bool | None = None
    blocked_until: date | None = None


@dataclass(frozen=True, slots=True)
class Lot:
    """``line`` says what it is and how many; ``record`` names it in the database it comes from.

    ``institution`` is the code of the institution that holds it, ``owner`` that of the one it belongs to; ``None`` is
    unknown. ``told`` is what else the other database said, term by term, in its own words; ``unsaid`` are the terms
    under which it said nothing, though the lot does: a count that was taken for one, a name that is not its
    ``occurrenceID``. ``row_id`` is what it was called within its archive, if otherwise than ``record``.
    """

    line: Line
    record: str = ""
    institution: str | None = None
    institution_identifier: str | None = None
    owner: str | None = None
    collection: str | None = None
    disposition: Disposition | None = None
    loan: OnLoan | None = None
    permits: tuple[Permit, ...] = ()
    told: tuple[tuple[str, str], ...] = ()
    unsaid: tuple[str, ...] = ()
    row_id: str = ""


_DISPOSITIONS = {
    Account.COLLECTION: Disposition.IN_COLLECTION,
    Account.PACKED: Disposition.IN_COLLECTION,
    Account.RETURNED: Disposition.IN_COLLECTION,
    Account.TRANSIT_OUT: Disposition.ON_LOAN,
    Account.BORROWER: Disposition.ON_LOAN,
    Account.TRANSIT_BACK: Disposition.ON_LOAN,
    Account.PASSED_ON: Disposition.ON_LOAN,
    Account.RETAINED: Disposition.IN_COLLECTION,
    Account.CONSUMED: Disposition.USED_UP,
    Account.LOST: Disposition.MISSING,
}


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Who holds and who owns what stands in one account of a loan; None is in nobody's hands."""

    disposition: Disposition
    custody: Side | None
    ownership: Side


def whereabouts(account: Account) -> Whereabouts:
    """Where the count of a loan's line is, in Darwin Core's terms. What is kept for good belongs to whoever keeps it;
    all else stays the lender's.
    """
    custody = Side.LENDER if account is Account.COLLECTION else IN_HANDS_OF.get(account)
    ownership = Side.BORROWER if account is Account.RETAINED else Side.LENDER
    return Whereabouts(_DISPOSITIONS[account], custody, ownership)
