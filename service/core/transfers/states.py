"""The state of a transfer, read off how it stands. Nobody sets it, and it is stored nowhere."""

from collections.abc import Callable
from enum import StrEnum

from service.core.transfers.ledger import Account
from service.core.transfers.standing import Standing
from service.core.transfers.transfer import Ending


class State(StrEnum):
    """How a transfer stands."""

    DRAFT = "draft"
    """No text has been written yet."""
    WRITTEN = "written"
    """Waiting for both signatures."""
    HALF_SIGNED = "half_signed"
    """One side has signed."""
    AGREED = "agreed"
    """Both sides have signed."""
    PACKED = "packed"
    """Something lies packed, and nothing has left."""
    DISPATCHED = "dispatched"
    """It is on its way out."""
    RECEIVED_IN_PART = "received_in_part"
    """Some has arrived, some is still on its way."""
    RECEIVED = "received"
    """All has arrived; the receiver has still to acknowledge it."""
    DIFFERING = "differing"
    """A difference was reported and is not settled."""
    IN_USE = "in_use"
    """The receiver has acknowledged it and works with it."""
    SENT_BACK_IN_PART = "sent_back_in_part"
    """Some is on its way back, some is still with the borrower."""
    SENT_BACK = "sent_back"
    """All that comes back is on its way."""
    RETURNED_IN_PART = "returned_in_part"
    """Some is back, some is still with the borrower."""
    RETURNED = "returned"
    """Nothing is outstanding; the lender has still to reconcile."""
    OWNERSHIP_CHANGED = "ownership_changed"
    """It was given, and the receiver has taken over all of it."""
    RECONCILED = "reconciled"
    """The lender has compared what is back with what was lent."""
    CLOSED = "closed"
    """Nothing more happens to it."""
    CLOSED_WITH_LOSS = "closed_with_loss"
    """The same, and something was lost."""
    WITHDRAWN = "withdrawn"
    """It was called off before anything left."""


#: The first that is true names the state; the last is always true.
_STATES: tuple[tuple[State, Callable[[Standing], bool]], ...] = (
    (State.WITHDRAWN, lambda s: s.withdrawn_on is not None),
    (State.CLOSED_WITH_LOSS, lambda s: s.closed_on is not None and s.count(Account.LOST) > 0),
    (State.CLOSED, lambda s: s.closed_on is not None),
    (State.RECONCILED, lambda s: s.reconciled_on is not None),
    (State.DIFFERING, lambda s: bool(s.differences)),
    (State.PACKED, lambda s: s.lent == 0 and s.count(Account.PACKED) > 0),
    (State.AGREED, lambda s: s.lent == 0 and s.is_agreed),
    (State.HALF_SIGNED, lambda s: s.lent == 0 and bool(s.signed)),
    (State.WRITTEN, lambda s: s.lent == 0 and s.agreement is not None),
    (State.DRAFT, lambda s: s.lent == 0),
    (State.OWNERSHIP_CHANGED, lambda s: s.outstanding == 0 and s.ending is Ending.STAYS),
    (State.RETURNED, lambda s: s.outstanding == 0),
    (State.DISPATCHED, lambda s: s.received_on is None),
    (State.RECEIVED_IN_PART, lambda s: s.count(Account.TRANSIT_OUT) > 0),
    (State.SENT_BACK_IN_PART, lambda s: s.count(Account.TRANSIT_BACK) > 0 and s.count(Account.BORROWER) > 0),
    (State.SENT_BACK, lambda s: s.count(Account.TRANSIT_BACK) > 0),
    (State.RETURNED_IN_PART, lambda s: s.count(Account.RETURNED) > 0),
    (State.IN_USE, lambda s: s.acknowledged),
    (State.RECEIVED, lambda _: True),
)


def state_of(now: Standing) -> State:
    """The state that follows from how a transfer stands."""
    return next(state for state, holds in _STATES if holds(now))
