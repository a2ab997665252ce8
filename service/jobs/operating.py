"""Running one operation: taken up, watched, told about every second, and brought to one end.

Each thing said is a short transaction of its own, bound to the institution that asked, so that others see it at once
and row-level security holds for workers too.
"""

import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from math import inf
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.core.errors import Conflict
from service.core.operations import Problem, Progress
from service.jobs.child import Child
from service.jobs.kinds import Work, work_of
from service.jobs.limits import MOST_ATTEMPTS, Limits
from service.store import operations
from service.store.operations import Operation
from service.store.session import open_session

TELL_EVERY_S: Final = 1.0
LOADED_WITHIN_S: Final = 120.0
_LISTEN_S: Final = 0.2

LOST = Problem("workers-lost", f"This was taken up {MOST_ATTEMPTS} times and never came to an end.")
TOO_LONG = Problem("took-too-long", "The work took longer than it may; try a part of it, or fewer sizes at once.")
TOO_LARGE = Problem("too-much-memory", "The work needs more memory than it may have; try a part of it.")


class WorkerStops(RuntimeError):
    """The worker is being stopped; the operation goes back into the queue."""


@dataclass(frozen=True, slots=True)
class Desk:
    """Where a worker works: its database, and what it may spend on one operation."""

    engine: Engine
    limits: Limits


def run(desk: Desk, institution_id: UUID, operation_id: UUID, should_stop: Callable[[], bool]) -> None:
    """Take the operation up and bring it to its end, unless it is over or cancelled by now.

    :raises WorkerStops: when ``should_stop`` says so; the operation then waits for the next worker.
    """
    with open_session(desk.engine, institution_id) as session:
        mine = operations.take_up(session, institution_id, operation_id)
        if mine is None:
            return
        work = _work(session, mine)
        session.commit()
    if work is not None:
        _Run(desk, mine, work, should_stop).to_the_end()


def _work(session: Session, mine: Operation) -> Work | None:
    """What is to be done; ``None`` where that has come to nothing already."""
    if mine.attempt > MOST_ATTEMPTS:
        operations.fail(session, mine, LOST)
        return None
    try:
        return work_of(session, mine)
    except Conflict as refusal:
        operations.fail(session, mine, Problem(refusal.kind.replace("_", "-"), refusal.message))
        return None


class _Run:
    """One operation in the hands of one worker."""

    def __init__(self, desk: Desk, mine: Operation, work: Work, should_stop: Callable[[], bool]) -> None:
        self.desk, self.mine, self.work, self.should_stop = desk, mine, work, should_stop
        self.progress = Progress(work.stages[0], total_count=len(work.stages))
        self.told_at = 0.0

    def to_the_end(self) -> None:
        with Child(self.work.task(), self.desk.limits) as child:
            said = self._watch(child)
        # Only now, when the child has ended: who reads that the work is over finds nobody still at it.
        if said is None:
            self._in_session(lambda session: operations.stopped(session, self.mine))
        else:
            self._finish(said)

    def _watch(self, child: Child) -> Mapping[str, Any] | None:
        """What the child said last; ``None`` when it was cancelled, or is another worker's by now."""
        # The time begins when the child has something to say: a busy machine is long about loading the libraries.
        until, over, asked_to_stop = inf, time.monotonic() + LOADED_WITHIN_S, False
        while time.monotonic() < over:
            if self.should_stop():
                self._in_session(lambda session: operations.give_back(session, self.mine))
                raise WorkerStops
            if not asked_to_stop and time.monotonic() >= until:
                child.ask_to_stop()
                asked_to_stop = True
            said = child.hear(_LISTEN_S)
            if said is not None and until == inf:
                until = time.monotonic() + self.desk.limits.seconds
                over = until + self.desk.limits.grace_s
            if said is not None and "progress" not in said:
                return said
            self._note(said)
            if not self._tell_now_and_then():
                return None
        return {"late": True}

    def _note(self, said: Mapping[str, Any] | None) -> None:
        if said is None:
            return
        stage, best, at_least = (said["progress"].get(name) for name in ("stage", "best", "at_least"))
        done = self.progress.done_count
        with suppress(ValueError):
            done = max(done, self.work.stages.index(stage))
        self.progress = Progress(stage, done, len(self.work.stages), best, at_least)

    def _tell_now_and_then(self) -> bool:
        """False when nobody wants the work of this worker any more."""
        if time.monotonic() < self.told_at + TELL_EVERY_S:
            return True
        self.told_at = time.monotonic()
        with open_session(self.desk.engine, self.mine.institution_id) as session:
            goes_on = operations.report(session, self.mine, self.progress)
            session.commit()
        return goes_on

    def _finish(self, said: Mapping[str, Any]) -> None:
        if "plan" in said:
            self._keep(said["plan"])
        elif "cannot" in said:
            self._fail(Problem(said.get("why", self.work.refusal), said["cannot"]))
        elif "memory" in said:
            self._fail(TOO_LARGE)
        elif "late" in said:
            self._fail(TOO_LONG)
        else:
            raise RuntimeError("The calculation ended without a word; its errors are in the log.")

    def _keep(self, plan: Mapping[str, Any]) -> None:
        """The plan and the end of the operation, in one transaction: none without the other."""
        try:
            with open_session(self.desk.engine, self.mine.institution_id) as session:
                kept, last = self.work.keep(session, self.mine.institution_id, plan)
                operations.report(session, self.mine, last)
                if operations.succeed(session, self.mine, kept):
                    session.commit()
        except Conflict as refusal:
            self._fail(Problem(refusal.kind.replace("_", "-"), refusal.message))

    def _fail(self, problem: Problem) -> None:
        self._in_session(lambda session: operations.fail(session, self.mine, problem))

    def _in_session(self, say: Callable[[Session], object]) -> None:
        with open_session(self.desk.engine, self.mine.institution_id) as session:
            say(session)
            session.commit()
