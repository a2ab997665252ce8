"""The facts that steps ask for, each with the sentence that says what is missing.

In a sentence ``{lender}`` and ``{borrower}`` are what the two sides are called, ``{unsigned}`` who has not signed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from service.core.transfers.ledger import Account
from service.core.transfers.parties import Side
from service.core.transfers.standing import Standing
from service.core.transfers.transfer import Ending


@dataclass(frozen=True, slots=True)
class Need:
    """``holds`` says whether the fact is there; ``since`` from which day, so that nothing is dated before it."""

    code: str
    holds: Callable[[Standing], bool]
    sentence: str
    since: Callable[[Standing], date | None] = lambda _: None


OPEN = Need("open", lambda s: s.is_open, "It is over: closed or withdrawn. Nothing more can be written to it.")
WRITTEN = Need("written", lambda s: s.agreement is not None, "No lines are written down yet to sign.")
NOTHING_PACKED = Need(
    "nothing-packed",
    lambda s: s.count(Account.COLLECTION) == 0,
    "It is packed or sent, and the text agreed on stands. Unpack it first; after dispatch, report a difference.",
)
BOTH_SIGNED = Need(
    "both-signed",
    lambda s: s.is_agreed,
    "Nothing moves before both sides have signed the text as it now reads; missing: {unsigned}.",
    lambda s: s.agreed_on,
)
PACKED = Need("packed", lambda s: s.count(Account.PACKED) > 0, "Nothing is packed that could leave or be unpacked.")
NOT_PACKED = Need("not-packed", lambda s: s.count(Account.PACKED) == 0, "Something is still packed and not sent.")
DISPATCHED = Need(
    "dispatched",
    lambda s: s.dispatched_on is not None,
    "The {lender} has not sent anything yet.",
    lambda s: s.dispatched_on,
)
RECEIVED = Need(
    "received",
    lambda s: s.received_on is not None,
    "The {borrower} has not written down that anything arrived.",
    lambda s: s.received_on,
)
ALL_ARRIVED = Need(
    "all-arrived",
    lambda s: s.count(Account.TRANSIT_OUT) == 0,
    "Some of it is still on its way. Receive it, or report what is missing as a difference.",
)
NOT_ACKNOWLEDGED = Need("not-acknowledged", lambda s: not s.acknowledged, "The receipt is acknowledged already.")
ACKNOWLEDGED = Need(
    "acknowledged",
    lambda s: s.acknowledged,
    "The {borrower} has not acknowledged the receipt yet: it is open what came.",
)
NO_DIFFERENCE = Need(
    "no-difference", lambda s: not s.differences, "A difference is reported and not settled: line {differing}."
)
DIFFERENCE = Need("difference", lambda s: bool(s.differences), "No difference is reported that could be settled.")
COMES_BACK = Need(
    "comes-back", lambda s: s.ending is Ending.COMES_BACK, "It is given, not lent, so this step has no place in it."
)
STAYS = Need("stays", lambda s: s.ending is Ending.STAYS, "It is lent, so the ownership does not change with it.")
SOMETHING_OUT = Need("something-out", lambda s: s.outstanding > 0, "Nothing is outstanding.")
ASKED = Need(
    "extension-asked",
    lambda s: s.extension is not None,
    "The {borrower} has not asked for an extension that is still to be answered.",
    lambda s: s.extension.on if s.extension else None,
)
NOT_ASKED = Need("not-asked", lambda s: s.extension is None, "An extension is asked for already and not answered.")
SOMETHING_LOST = Need("something-lost", lambda s: s.count(Account.LOST) > 0, "Nothing is written off as lost.")
ALL_ACCOUNTED_FOR = Need(
    "all-accounted-for",
    lambda s: s.outstanding == 0 and s.lent > 0,
    "It does not add up yet: of {lent} lent, {outstanding} are outstanding.",
    lambda s: s.last_moved_on,
)
NOT_RECONCILED = Need("not-reconciled", lambda s: s.reconciled_on is None, "It is reconciled already.")
RECONCILED = Need(
    "reconciled",
    lambda s: s.reconciled_on is not None,
    "It has not been reconciled since the last movement or difference. Count first, then close.",
    lambda s: s.reconciled_on,
)


def own_signature_missing(side: Side) -> Need:
    """Nobody signs the same text twice."""
    return Need("not-signed", lambda s: side not in s.signed, f"The {{{side}}} has signed this text already.")
