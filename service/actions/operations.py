"""Beginning and ending long work, so that no institution's work keeps the others' waiting."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.errors import Conflict, TooManyAtOnce
from service.core.operations import Kind
from service.store import operations, queue
from service.store.operations import Operation, Waiting

#: So many operations of one institution run at once, however many workers there are.
LANES: Final = 2
#: So many may wait or run.
MOST_UNFINISHED: Final = 20
#: Each operation under way sets the institution's next one back by so much in the common queue: whoever asks for the
#: first time goes before whoever asks for the twentieth, and nobody waits for ever.
TURN: Final = timedelta(minutes=1)
ASK_AGAIN_S: Final = 2


def begin(session: Session, actor: Actor, kind: Kind, work: Mapping[str, Any]) -> Operation:
    """An operation and its job, both there if this transaction commits.

    :raises TooManyAtOnce: when as many as an institution may have are under way.
    """
    asker = actor.own_institution()
    operations.lock(session, asker)
    waiting = operations.waiting(session, asker)
    if sum(each.unfinished for each in waiting) >= MOST_UNFINISHED:
        raise TooManyAtOnce(
            f"You have {MOST_UNFINISHED} operations under way; wait until one is over, or cancel one.",
            retry_after_s=int(TURN.total_seconds()),
        )
    operations.forget_old(session, asker)
    lane, turn_at = _emptiest_lane(waiting), _next_turn(waiting, operations.moment(session))
    begun = operations.begin(session, asker, kind, work, lane=lane, turn_at=turn_at)
    job_id = queue.put(session, asker, begun.id, lane=lane, turn_at=turn_at)
    return operations.note_job(session, begun, job_id)


def cancel(session: Session, actor: Actor, operation_id: UUID) -> Operation:
    """Ask for an operation to end. What waits is over at once; a worker needs a moment to hear of it.

    :raises NotFound: when there is none.
    :raises Conflict: when it is over already.
    """
    asker = actor.own_institution()
    cancelled = operations.cancel(session, asker, operation_id)
    if cancelled is None:
        found = operations.by_id(session, asker, operation_id)
        raise Conflict("operation_is_over", f"This operation has {found.state.value}; there is nothing to cancel.")
    if cancelled.job_id is not None:
        queue.withdraw(session, cancelled.job_id)
    return cancelled


def _emptiest_lane(waiting: Sequence[Waiting]) -> int:
    unfinished = {each.lane: each.unfinished for each in waiting}
    return min(range(LANES), key=lambda lane: (unfinished.get(lane, 0), lane))


def _next_turn(waiting: Sequence[Waiting], now: datetime) -> datetime:
    return max([now, *(each.last_turn_at + TURN for each in waiting)])
