"""Running one operation: taken up, watched, told about every second, and brought to one end.

Each thing said is a short transaction of its own, bound to the institution that asked, so that others see it at once
and row-level security holds for workers too.
"""

import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import housing_plans
from service.actions.housing_plans import Prepared
from service.core.housing.plan import HousingPlan
from service.core.operations import STAGES, Problem, Progress
from service.jobs.child import Child
from service.jobs.limits import MOST_ATTEMPTS, Limits
from service.store import codec, operations
from service.store.operations import Operation
from service.store.session import open_session

TELL_EVERY_S: Final = 1.0
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
        if mine.attempt > MOST_ATTEMPTS:
            operations.fail(session, mine, LOST)
        prepared = codec.from_json(Prepared, operations.work_of(session, mine))
        session.commit()
    if mine.attempt <= MOST_ATTEMPTS:
        _Run(desk, mine, prepared, should_stop).to_the_end()


class _Run:
    """One operation in the hands of one worker."""

    def __init__(self, desk: Desk, mine: Operation, prepared: Prepared, should_stop: Callable[[], bool]) -> None:
        self.desk, self.mine, self.prepared, self.should_stop = desk, mine, prepared, should_stop
        self.progress = Progress(STAGES[0], total_count=len(STAGES))
        self.told_at = 0.0

    def to_the_end(self) -> None:
        asked = self.prepared.asked
        task = {"request": codec.to_json(asked.request), "how_hard": self.prepared.how_hard.value}
        with Child(task, self.desk.limits) as child:
            said = self._watch(child)
        # Only now, when the child has ended: who reads that the work is over finds nobody still at it.
        if said is None:
            self._in_session(lambda session: operations.stopped(session, self.mine))
        else:
            self._finish(said)

    def _watch(self, child: Child) -> Mapping[str, Any] | None:
        """What the child said last; ``None`` when it was cancelled, or is another worker's by now."""
        until = time.monotonic() + self.desk.limits.seconds
        asked_to_stop = False
        while time.monotonic() < until + self.desk.limits.grace_s:
            if self.should_stop():
                self._in_session(lambda session: operations.give_back(session, self.mine))
                raise WorkerStops
            if not asked_to_stop and time.monotonic() >= until:
                child.ask_to_stop()
                asked_to_stop = True
            said = child.hear(_LISTEN_S)
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
            done = max(done, STAGES.index(stage))
        self.progress = Progress(stage, done, len(STAGES), best, at_least)

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
            self._keep(codec.from_json(HousingPlan, said["plan"]))
        elif "cannot" in said:
            self._fail(Problem("cannot-be-housed", said["cannot"]))
        elif "memory" in said:
            self._fail(TOO_LARGE)
        elif "late" in said:
            self._fail(TOO_LONG)
        else:
            raise RuntimeError("The calculation ended without a word; its errors are in the log.")

    def _keep(self, plan: HousingPlan) -> None:
        """The plan and the end of the operation, in one transaction: none without the other."""
        with open_session(self.desk.engine, self.mine.institution_id) as session:
            kept = housing_plans.keep(session, self.mine.institution_id, self.prepared, plan)
            last = Progress("done", len(STAGES), len(STAGES), plan.cost, plan.at_least)
            operations.report(session, self.mine, last)
            if operations.succeed(session, self.mine, kept.id):
                session.commit()

    def _fail(self, problem: Problem) -> None:
        self._in_session(lambda session: operations.fail(session, self.mine, problem))

    def _in_session(self, say: Callable[[Session], object]) -> None:
        with open_session(self.desk.engine, self.mine.institution_id) as session:
            say(session)
            session.commit()
