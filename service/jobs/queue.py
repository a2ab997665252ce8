"""The worker's loop: takes jobs out of the queue in their order, runs them, and looks after those of lost workers."""

import asyncio
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

import structlog
from procrastinate import App, JobContext, PsycopgConnector, RetryStrategy
from procrastinate.jobs import DeleteJobCondition

from service.jobs import operating
from service.jobs.limits import Limits
from service.jobs.operating import Desk
from service.store.queue import QUEUE, TASK
from service.store.session import app_engine, queue_connection

#: Any number will do that nothing else in this database takes a lock under.
_SWEEP_LOCK: Final = 0x7377_6570
_HEARTBEATS_BEFORE_LOST: Final = 4
_log = structlog.get_logger("traybridge.worker")


def work(url: str, *, own_login: bool, limits: Limits, lost_after_s: float, stop_within_s: float) -> None:
    """Work until told to stop by SIGTERM or SIGINT, then for as long as the current operation takes, at most
    ``stop_within_s``; what is not done by then goes back into the queue.

    A worker that has not been heard of for ``lost_after_s`` is taken for lost, and its operation taken up by another.
    """
    desk = Desk(app_engine(url, own_login=own_login, pool_size=2), limits)
    asyncio.run(_work(_app(url, own_login, desk), lost_after_s, stop_within_s))
    desk.engine.dispose()


def _app(url: str, own_login: bool, desk: Desk) -> App:
    conninfo, options = queue_connection(url, own_login=own_login)
    connector = PsycopgConnector(conninfo=conninfo, kwargs={"options": options}, min_size=2, max_size=4)
    app = App(connector=connector)

    # Tried until it ends: how often an operation is taken up at most is the operation's own affair.
    @app.task(name=TASK, queue=QUEUE, pass_context=True, retry=RetryStrategy(wait=2))
    def run_operation(context: JobContext, institution_id: str, operation_id: str) -> None:
        structlog.contextvars.bind_contextvars(institution_id=institution_id, operation_id=operation_id)
        operating.run(desk, UUID(institution_id), UUID(operation_id), context.should_abort)

    return app


async def _work(app: App, lost_after_s: float, stop_within_s: float) -> None:
    async with app.open_async():
        sweeping = asyncio.create_task(_sweep_for_ever(app, lost_after_s))
        try:
            await app.run_worker_async(
                queues=[QUEUE],
                concurrency=1,
                delete_jobs=DeleteJobCondition.ALWAYS,
                fetch_job_polling_interval=min(5.0, lost_after_s / 2),
                update_heartbeat_interval=lost_after_s / _HEARTBEATS_BEFORE_LOST,
                stalled_worker_timeout=lost_after_s,
                shutdown_graceful_timeout=stop_within_s,
            )
        finally:
            sweeping.cancel()


async def _sweep_for_ever(app: App, lost_after_s: float) -> None:
    while True:
        await asyncio.sleep(lost_after_s / 2)
        try:
            await _sweep(app, lost_after_s)
        except Exception:
            _log.exception("sweep_failed")


async def _sweep(app: App, lost_after_s: float) -> None:
    """Put the jobs of lost workers back. One worker at a time: two who saw the same job lost would start it twice."""
    connector: Any = app.connector
    async with connector.pool.connection() as connection:
        found = await connection.execute("SELECT pg_try_advisory_xact_lock(%s)", [_SWEEP_LOCK])
        if not (await found.fetchone())[0]:
            return
        for job in await app.job_manager.get_stalled_jobs(queue=QUEUE, seconds_since_heartbeat=lost_after_s):
            _log.warning("worker_lost", job_id=job.id, **job.task_kwargs)
            await app.job_manager.retry_job(job, retry_at=datetime.now(UTC))
