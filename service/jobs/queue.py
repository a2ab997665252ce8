"""The worker's loop: takes jobs out of the queue in their order, runs them, and looks after those of lost workers."""

import asyncio
import signal
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final
from uuid import UUID

import structlog
from procrastinate import App, JobContext, PsycopgConnector, RetryStrategy
from procrastinate.jobs import DeleteJobCondition

from service.jobs import operating
from service.jobs.delivering import Postman, visit
from service.jobs.dispatching import dispatch
from service.jobs.limits import Limits
from service.jobs.operating import Desk
from service.outside.calling import Caller
from service.store.queue import QUEUE, SLOW_VISITS, TASK, VISIT, VISITS
from service.store.session import app_engine, queue_connection

#: Any number will do that nothing else in this database takes a lock under.
_SWEEP_LOCK: Final = 0x7377_6570
_HEARTBEATS_BEFORE_LOST: Final = 4
#: How long news may lie before somebody looks.
_LOOK_EVERY_S: Final = 0.5
_log = structlog.get_logger("traybridge.worker")


@dataclass(frozen=True, slots=True)
class Lane:
    """A queue and how many of its jobs one worker runs at once. No lane waits for another."""

    queue: str
    concurrency: int


#: More calls at once than one institution may have webhooks: nobody fills a lane alone.
LANES: Final = (Lane(QUEUE, 1), Lane(VISITS, 32), Lane(SLOW_VISITS, 16))
#: One listens for each lane; the rest fetch and finish jobs.
_QUEUE_CONNECTIONS: Final = len(LANES) + 3
_VISITORS_CONNECTIONS: Final = 6


@dataclass(frozen=True, slots=True)
class Timing:
    """A worker that has not been heard of for ``lost_after_s`` is taken for lost, and others take its jobs up.
    When told to stop it goes on for at most ``stop_within_s``; what is not done by then goes back into the queue.
    """

    lost_after_s: float
    stop_within_s: float


def work(url: str, *, own_login: bool, limits: Limits, caller: Caller, timing: Timing) -> None:
    """Work until told to stop by SIGTERM or SIGINT: at operations, one at a time, and at calls to webhooks."""
    desk = Desk(app_engine(url, own_login=own_login, pool_size=2), limits)
    postman = Postman(app_engine(url, own_login=own_login, pool_size=_VISITORS_CONNECTIONS), caller)
    asyncio.run(_work(_app(url, own_login, desk, postman), postman, timing))
    for engine in (desk.engine, postman.engine):
        engine.dispose()


def _app(url: str, own_login: bool, desk: Desk, postman: Postman) -> App:
    conninfo, options = queue_connection(url, own_login=own_login)
    connector = PsycopgConnector(
        conninfo=conninfo, kwargs={"options": options}, min_size=2, max_size=_QUEUE_CONNECTIONS
    )
    app = App(connector=connector)

    # Tried until it ends: how often an operation is taken up at most is the operation's own affair.
    @app.task(name=TASK, queue=QUEUE, pass_context=True, retry=RetryStrategy(wait=2))
    def run_operation(context: JobContext, institution_id: str, operation_id: str) -> None:
        structlog.contextvars.bind_contextvars(institution_id=institution_id, operation_id=operation_id)
        operating.run(desk, UUID(institution_id), UUID(operation_id), context.should_abort)

    # What goes wrong with the receiver is no error here. This is for what goes wrong with us.
    @app.task(name=VISIT, queue=VISITS, pass_context=True, retry=RetryStrategy(wait=30))
    def visit_webhook(context: JobContext, institution_id: str, webhook_id: str) -> None:
        structlog.contextvars.bind_contextvars(institution_id=institution_id, webhook_id=webhook_id)
        visit(postman, UUID(institution_id), UUID(webhook_id), context.should_abort)

    return app


async def _work(app: App, postman: Postman, timing: Timing) -> None:
    loop, told_to_stop = asyncio.get_running_loop(), asyncio.Event()
    # A thread for whatever may run at once. The usual number follows the processors, and ours wait for others.
    loop.set_default_executor(ThreadPoolExecutor(sum(lane.concurrency for lane in LANES) + 4))
    for signal_ in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(signal_, told_to_stop.set)
    async with app.open_async():
        beside = [
            asyncio.create_task(_sweep_for_ever(app, timing.lost_after_s)),
            asyncio.create_task(_dispatch_for_ever(postman)),
        ]
        lanes = [asyncio.create_task(_run(app, lane, timing)) for lane in LANES]
        stopping = asyncio.create_task(told_to_stop.wait())
        try:
            await asyncio.wait([stopping, *lanes], return_when=asyncio.FIRST_COMPLETED)
        finally:
            await _end([*beside, stopping], lanes)


async def _run(app: App, lane: Lane, timing: Timing) -> None:
    await app.run_worker_async(
        queues=[lane.queue],
        concurrency=lane.concurrency,
        delete_jobs=DeleteJobCondition.ALWAYS,
        fetch_job_polling_interval=min(5.0, timing.lost_after_s / 2),
        update_heartbeat_interval=timing.lost_after_s / _HEARTBEATS_BEFORE_LOST,
        stalled_worker_timeout=timing.lost_after_s,
        shutdown_graceful_timeout=timing.stop_within_s,
        install_signal_handlers=False,
    )


async def _end(beside: Sequence[asyncio.Task[Any]], lanes: Sequence[asyncio.Task[None]]) -> None:
    """Let each lane finish or give back what it is at. If one ended badly by itself, so does the worker."""
    for task in [*beside, *lanes]:
        task.cancel()
    ended = await asyncio.gather(*lanes, return_exceptions=True)
    for error in ended:
        if isinstance(error, Exception):
            raise error


async def _dispatch_for_ever(postman: Postman) -> None:
    while True:
        try:
            more = await asyncio.to_thread(dispatch, postman.engine)
        except Exception:
            _log.exception("dispatch_failed")
            more = False
        if not more:
            await asyncio.sleep(_LOOK_EVERY_S)


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
        for lane in LANES:
            stalled = app.job_manager.get_stalled_jobs(queue=lane.queue, seconds_since_heartbeat=lost_after_s)
            for job in await stalled:
                _log.warning("worker_lost", job_id=job.id, **job.task_kwargs)
                await app.job_manager.retry_job(job, retry_at=datetime.now(UTC))
