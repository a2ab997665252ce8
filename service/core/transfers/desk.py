"""What a registrar looks at in the morning. Pure sorting: a transfer as it stands and a day give the entries."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from service.core.transfers.dues import Due
from service.core.transfers.ledger import Account
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit, PermitStatus
from service.core.transfers.standing import Standing

#: Common practice, no source: how many days ahead the lists look, unless somebody asks for more or fewer.
DEFAULT_DAYS_AHEAD = 30
#: Common practice, no source: days before (below zero) and after a due date on which a reminder is worth writing.
DEFAULT_REMINDERS = (-60, -30, 0, 30, 90, 180)


class Listed(StrEnum):
    """The lists of the desk."""

    DUE_SOON = "due_soon"
    """Outstanding, and due within the days asked for."""
    OVERDUE = "overdue"
    """Outstanding, and due before the day asked for."""
    AWAITING_RECEIPT = "awaiting_receipt"
    """On its way to you."""
    AWAITING_SIGNATURE = "awaiting_signature"
    """Texts that you have still to sign."""
    DIFFERENCES = "differences"
    """Reported, and not settled yet."""
    PERMITS_ENDING = "permits_ending"
    """Permits of open transfers that end within the days asked for, or have ended."""


@dataclass(frozen=True, slots=True)
class OnDesk:
    """One transfer as one side's desk sees it."""

    reference: str
    side: Side
    standing: Standing
    dues: tuple[Due, ...] = ()
    permits: tuple[Permit, ...] = ()


@dataclass(frozen=True, slots=True)
class Entry:
    """One row of a list. ``days`` are those left, or gone by; ``on`` the day that they are counted from or to.

    ``count`` is what is outstanding, on its way or differing; ``line`` is None where the whole transfer is meant.
    """

    listed: Listed
    reference: str
    on: date | None
    days: int | None
    count: int | None = None
    line: str | None = None
    about: str = ""


def desk(transfers: Iterable[OnDesk], today: date, days_ahead: int = DEFAULT_DAYS_AHEAD) -> tuple[Entry, ...]:
    """All entries of all lists, the most pressing first within each list."""
    entries = [entry for transfer in transfers for entry in _entries(transfer, today, days_ahead)]
    order = {listed: place for place, listed in enumerate(Listed)}
    return tuple(sorted(entries, key=lambda entry: (order[entry.listed], _pressing(entry), entry.reference)))


def _pressing(entry: Entry) -> int:
    """What is due soonest and what has waited longest comes first; what has no day comes last."""
    if entry.days is None:
        return 10**9
    return entry.days if entry.listed in {Listed.DUE_SOON, Listed.PERMITS_ENDING} else -entry.days


def _entries(transfer: OnDesk, today: date, days_ahead: int) -> Iterable[Entry]:
    if not transfer.standing.is_open:
        return
    yield from _by_due_date(transfer, today, days_ahead)
    yield from _awaiting_receipt(transfer, today)
    yield from _awaiting_signature(transfer)
    yield from _differences(transfer)
    yield from _permits(transfer, today, days_ahead)


def _by_due_date(transfer: OnDesk, today: date, days_ahead: int) -> Iterable[Entry]:
    for due in transfer.dues:
        left = due.days_left(today)
        if left is None or left > days_ahead:
            continue
        listed = Listed.OVERDUE if left < 0 else Listed.DUE_SOON
        yield Entry(listed, transfer.reference, due.on, abs(left), due.outstanding, due.line, due.why)


def _awaiting_receipt(transfer: OnDesk, today: date) -> Iterable[Entry]:
    now, outward = transfer.standing, transfer.side is Side.BORROWER
    count = now.count(Account.TRANSIT_OUT if outward else Account.TRANSIT_BACK)
    if count:
        since = now.last_dispatched_on if outward else now.last_sent_back_on
        waited = (today - since).days if since else None
        yield Entry(Listed.AWAITING_RECEIPT, transfer.reference, since, waited, count)


def _awaiting_signature(transfer: OnDesk) -> Iterable[Entry]:
    now = transfer.standing
    if now.agreement is not None and not now.is_agreed and transfer.side not in now.signed:
        about = "The other side has signed." if now.signed else "Nobody has signed yet."
        yield Entry(Listed.AWAITING_SIGNATURE, transfer.reference, None, None, about=about)


def _differences(transfer: OnDesk) -> Iterable[Entry]:
    for line in sorted(transfer.standing.differences):
        yield Entry(Listed.DIFFERENCES, transfer.reference, None, None, line=line)


def _permits(transfer: OnDesk, today: date, days_ahead: int) -> Iterable[Entry]:
    for permit in transfer.permits:
        if permit.status is PermitStatus.AVAILABLE and permit.valid_until is not None:
            left = (permit.valid_until - today).days
            if left <= days_ahead:
                about = permit.name if left >= 0 else f"{permit.name} has ended."
                yield Entry(Listed.PERMITS_ENDING, transfer.reference, permit.valid_until, left, about=about)


def reminder_due(due: Due, today: date, stages: Sequence[int] = DEFAULT_REMINDERS) -> int | None:
    """The latest reminder stage that a line has come to, in days before (below zero) or after its due date."""
    left = due.days_left(today)
    return None if left is None else max((stage for stage in stages if stage <= -left), default=None)
