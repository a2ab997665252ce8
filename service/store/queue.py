"""Handing work to the workers: the job is written in the transaction of the session, and is there if that commits.

The queue knows the ids of the institution and of the operation and nothing else; what is to be done stands in the
operation, behind the walls.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

from procrastinate import App, SyncPsycopgConnector
from sqlalchemy import text
from sqlalchemy.orm import Session

QUEUE: Final = "operations"
TASK: Final = "run_operation"
#: Calls to others' servers: those that answer quickly wait behind nobody who does not.
VISITS: Final = "visits"
SLOW_VISITS: Final = "slow_visits"
VISIT: Final = "visit_webhook"
#: The queue's order is a whole number of 32 bits: seconds since this moment reach into the year 2094.
_FIRST_TURN: Final = datetime(2026, 1, 1, tzinfo=UTC)

#: Never opened: each job goes in by the connection of a session.
_app = App(connector=SyncPsycopgConnector())


def put(session: Session, institution_id: UUID, operation_id: UUID, *, lane: int, turn_at: datetime) -> int:
    """A job for this operation, which waits behind those with an earlier turn; its number.

    Of one institution's jobs in one lane only one runs at a time.
    """
    order = -int((turn_at - _FIRST_TURN).total_seconds())
    job = _app.configure_task(
        TASK,
        queue=QUEUE,
        lock=f"{institution_id}/{lane}",
        priority=order,
        connection=_driver(session),
    )
    return job.defer(institution_id=str(institution_id), operation_id=str(operation_id))


_VISITS_QUEUED = text(
    "SELECT queueing_lock FROM procrastinate_jobs WHERE status = 'todo' AND queueing_lock = ANY (:locks)"
    " FOR UPDATE SKIP LOCKED"
)


def visits_queued(session: Session, webhook_ids: Sequence[UUID]) -> set[UUID]:
    """Which of these webhooks wait for a worker already, and will go on doing so until this transaction is over.

    One that a worker is just taking counts as not waiting: the worker may have looked before this transaction.
    """
    locks = [_visit_lock(each) for each in webhook_ids]
    return {UUID(lock.rpartition("/")[2]) for lock in session.scalars(_VISITS_QUEUED, {"locks": locks})}


def put_visit(session: Session, institution_id: UUID, webhook_id: UUID, *, is_slow: bool) -> None:
    """A job for a worker to call this webhook. One waits at most, and one runs at most."""
    lock = _visit_lock(webhook_id)
    job = _app.configure_task(
        VISIT,
        queue=SLOW_VISITS if is_slow else VISITS,
        lock=lock,
        queueing_lock=lock,
        connection=_driver(session),
    )
    job.defer(institution_id=str(institution_id), webhook_id=str(webhook_id))


def _visit_lock(webhook_id: UUID) -> str:
    return f"visit/{webhook_id}"


def withdraw(session: Session, job_id: int) -> None:
    """Take a job out of the queue while it waits. A running one is told by its operation: were it told by the queue,
    the job of a lost worker would not be taken up again, and nobody would ever end its operation."""
    _app.job_manager.cancel_job_by_id(job_id, delete_job=True, connection=_driver(session))


def _driver(session: Session) -> Any:
    return session.connection().connection.driver_connection
