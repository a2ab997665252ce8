"""Long work: what is to be done, how far it has come, and how it ended. Only the institution that asked sees it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Row, bindparam, case, delete, func, insert, select, text, update
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.operations import Kind, Problem, Progress, State
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import operation as table


@dataclass(frozen=True, slots=True)
class Operation:
    """``attempt`` counts how often a worker has taken it up."""

    id: UUID
    institution_id: UUID
    kind: Kind
    state: State
    progress: Progress
    lane: int
    turn_at: datetime
    job_id: int | None
    attempt: int
    cancel_asked_at: datetime | None
    result_id: UUID | None
    problem: Problem | None
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None


@dataclass(frozen=True, slots=True)
class Waiting:
    """Of one lane of an institution: how many operations are not over, and the latest turn among them."""

    lane: int
    unfinished: int
    last_turn_at: datetime


#: Finished operations are kept for this long; results stay for good. Never less than a day: the database refuses.
DAYS_KEPT: Final = 30

_UNFINISHED = (State.PENDING.value, State.RUNNING.value)
_SHOWN = [column for column in table.c if column.name != "work"]
_THIS = (table.c.institution_id == bindparam("asker"), table.c.id == bindparam("operation_id"))
_BY_ID = select(*_SHOWN).where(*_THIS)
_WORK = select(table.c.work).where(*_THIS)
_LIST = newest_first(
    select(*_SHOWN).where(table.c.institution_id == bindparam("asker")), table.c.created_at, table.c.id
)
_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:what, 0))")
_NOW = select(func.now())
_WAITING = (
    select(table.c.lane, func.count(), func.max(table.c.turn_at))
    .where(table.c.institution_id == bindparam("asker"), table.c.state.in_(_UNFINISHED))
    .group_by(table.c.lane)
)
_MAKE = insert(table).returning(*_SHOWN)
_SET_JOB = update(table).where(*_THIS).values(job_id=bindparam("the_job")).returning(*_SHOWN)
_FORGET = delete(table).where(
    table.c.institution_id == bindparam("asker"),
    table.c.finished_at < func.now() - text(f"interval '{DAYS_KEPT} days'"),
)
_TAKE_UP = (
    update(table)
    .where(*_THIS, table.c.state.in_(_UNFINISHED))
    .values(
        state=State.RUNNING.value,
        attempt=table.c.attempt + 1,
        started_at=func.coalesce(table.c.started_at, func.now()),
    )
    .returning(*_SHOWN)
)
_MINE = (*_THIS, table.c.state == State.RUNNING.value, table.c.attempt == bindparam("my_attempt"))
_REPORT = (
    update(table)
    .where(*_MINE)
    .values(
        stage=bindparam("the_stage"),
        done_count=bindparam("the_done"),
        total_count=bindparam("the_total"),
        best=bindparam("the_best"),
        at_least=bindparam("the_least"),
    )
    .returning(table.c.cancel_asked_at)
)
_GIVE_BACK = update(table).where(*_MINE).values(state=State.PENDING.value)
_SUCCEED = (
    update(table)
    .where(*_MINE)
    .values(state=State.SUCCEEDED.value, result_id=bindparam("the_result"), finished_at=func.now())
    .returning(table.c.id)
)
_FAIL = (
    update(table)
    .where(*_MINE)
    .values(
        state=State.FAILED.value,
        problem=bindparam("the_problem", type_=table.c.problem.type),
        finished_at=func.now(),
    )
    .returning(table.c.id)
)
_STOPPED = update(table).where(*_MINE).values(state=State.CANCELLED.value, finished_at=func.now())
#: What waits is over at once; what runs is over when its worker has heard of it.
_CANCEL = (
    update(table)
    .where(*_THIS, table.c.state.in_(_UNFINISHED))
    .values(
        cancel_asked_at=func.coalesce(table.c.cancel_asked_at, func.now()),
        state=case((table.c.state == State.PENDING.value, State.CANCELLED.value), else_=table.c.state),
        finished_at=case((table.c.state == State.PENDING.value, func.now()), else_=None),
    )
    .returning(*_SHOWN)
)


def lock(session: Session, institution_id: UUID) -> None:
    """Until the transaction is over nobody else begins an operation of this institution."""
    session.execute(_LOCK, {"what": f"operations:{institution_id}"})


def waiting(session: Session, institution_id: UUID) -> list[Waiting]:
    """What the institution has under way, lane by lane. For whoever holds :func:`lock`."""
    return [Waiting(*row) for row in session.execute(_WAITING, {"asker": institution_id})]


def moment(session: Session) -> datetime:
    """When this transaction began, by the database's clock."""
    return session.execute(_NOW).scalar_one()


def begin(
    session: Session, institution_id: UUID, kind: Kind, work: Mapping[str, Any], *, lane: int, turn_at: datetime
) -> Operation:
    """A new operation, which waits."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "kind": kind.value,
        "work": work,
        "lane": lane,
        "turn_at": turn_at,
    }
    return _operation(session.execute(_MAKE, values).one())


def note_job(session: Session, operation: Operation, job_id: int) -> Operation:
    """Remember which job of the queue does it."""
    return _operation(session.execute(_SET_JOB, _key(operation) | {"the_job": job_id}).one())


def forget_old(session: Session, institution_id: UUID) -> None:
    """Remove the institution's operations that were over long ago."""
    session.execute(_FORGET, {"asker": institution_id})


def by_id(session: Session, institution_id: UUID, operation_id: UUID) -> Operation:
    """:raises NotFound: when the institution has begun no such operation, or it was over long ago."""
    row = session.execute(_BY_ID, {"asker": institution_id, "operation_id": operation_id}).one_or_none()
    if row is None:
        raise NotFound("operation", operation_id)
    return _operation(row)


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Operation, Age]:
    """The institution's operations, the newest first."""
    return page_by_age(session, _LIST, after, limit, _operation, asker=institution_id)


def work_of(session: Session, operation: Operation) -> dict[str, Any]:
    """What is to be done."""
    work: dict[str, Any] = session.execute(_WORK, _key(operation)).scalar_one()
    return work


def take_up(session: Session, institution_id: UUID, operation_id: UUID) -> Operation | None:
    """Begin, or begin again after a worker was lost; ``None`` when there is nothing left to do."""
    row = session.execute(_TAKE_UP, {"asker": institution_id, "operation_id": operation_id}).one_or_none()
    return None if row is None else _operation(row)


def report(session: Session, mine: Operation, progress: Progress) -> bool:
    """Say how far the work has come; false when it should stop: it was cancelled, or another worker has it now."""
    bound = {
        "the_stage": progress.stage,
        "the_done": progress.done_count,
        "the_total": progress.total_count,
        "the_best": progress.best,
        "the_least": progress.at_least,
    }
    row = session.execute(_REPORT, _attempt(mine) | bound).one_or_none()
    return row is not None and row.cancel_asked_at is None


def give_back(session: Session, mine: Operation) -> None:
    """Let another worker take it up."""
    session.execute(_GIVE_BACK, _attempt(mine))


def succeed(session: Session, mine: Operation, result_id: UUID) -> bool:
    """False when another worker has it now, whose result will stand."""
    return session.execute(_SUCCEED, _attempt(mine) | {"the_result": result_id}).one_or_none() is not None


def fail(session: Session, mine: Operation, problem: Problem) -> None:
    """It has come to nothing."""
    session.execute(_FAIL, _attempt(mine) | {"the_problem": {"kind": problem.kind, "detail": problem.detail}})


def stopped(session: Session, mine: Operation) -> None:
    """It was cancelled, and nobody works on it any more."""
    session.execute(_STOPPED, _attempt(mine))


def cancel(session: Session, institution_id: UUID, operation_id: UUID) -> Operation | None:
    """Ask for it to end; ``None`` when there is no such operation that is not over."""
    row = session.execute(_CANCEL, {"asker": institution_id, "operation_id": operation_id}).one_or_none()
    return None if row is None else _operation(row)


def _key(operation: Operation) -> dict[str, object]:
    return {"asker": operation.institution_id, "operation_id": operation.id}


def _attempt(mine: Operation) -> dict[str, object]:
    return _key(mine) | {"my_attempt": mine.attempt}


def _operation(row: Row[Any]) -> Operation:
    known = {column.name: getattr(row, column.name) for column in _SHOWN}
    of_progress = ("stage", "done_count", "total_count", "best", "at_least")
    progress = Progress(**{name: known.pop(name) for name in of_progress})
    problem = known.pop("problem")
    read = {
        "kind": Kind(known["kind"]),
        "state": State(known["state"]),
        "progress": progress,
        "problem": None if problem is None else Problem(**problem),
    }
    return Operation(**(known | read))
