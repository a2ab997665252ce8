"""Arrangement plans, how far each has been carried out, and who carried out which step."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Boolean, Row, bindparam, case, func, insert, select, update
from sqlalchemy.orm import Session

from service.core.arrangement.plan import ArrangementWishes, WalkingList
from service.core.arrangement.questions import QUESTIONS, Asked
from service.core.arrangement.walked_plan import WalkedPlan
from service.core.errors import NotFound
from service.store import codec
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import arrangement_plan as table
from service.store.tables import arrangement_step as step_table


@dataclass(frozen=True, slots=True)
class PlanHead:
    """How a plan stands. ``chosen`` counts its alternatives from 1; steps are those of the chosen one."""

    id: UUID
    institution_id: UUID
    asked: Asked
    chosen: int
    alternatives: int
    step_count: int
    done_count: int
    replaced_by: UUID | None
    carried_out_at: datetime | None
    engine: str
    version: int
    created_at: datetime
    updated_at: datetime

    @property
    def is_carried_out(self) -> bool:
        return self.carried_out_at is not None


@dataclass(frozen=True, slots=True)
class KeptArrangement(PlanHead):
    """A plan with all that it was made from and all its alternatives."""

    content: WalkedPlan

    @property
    def walk(self) -> WalkingList:
        return self.content.walks[self.chosen - 1]


@dataclass(frozen=True, slots=True)
class StepDone:
    """Who carried out a step, and when."""

    number: int
    done_by: str
    done_at: datetime


def question_to_json(asked: Asked) -> codec.Json:
    """A question under the word that it is asked with."""
    return {"kind": asked.word, "question": codec.to_json(asked.question), "wishes": codec.to_json(asked.wishes)}


def question_from_json(stored: Mapping[str, Any]) -> Asked:
    question = codec.from_json(QUESTIONS[stored["kind"]], stored["question"])
    return Asked(question, codec.from_json(ArrangementWishes, stored["wishes"]))


_HEAD = [column for column in table.c if column.name != "content"]
_THIS = (table.c.institution_id == bindparam("asker"), table.c.id == bindparam("plan_id"))
_BY_ID = select(*table.c).where(*_THIS)
_REPLACED_BY = select(*table.c).where(_THIS[0], table.c.replaced_by == bindparam("plan_id"))
_LOCKED = _BY_ID.with_for_update(key_share=True)
_LIST = newest_first(
    select(*_HEAD).where(table.c.institution_id == bindparam("asker")), table.c.created_at, table.c.id
)
_KEEP = insert(table)
_SET = (
    update(table)
    .where(*_THIS)
    .values(
        chosen=bindparam("the_choice"),
        step_count=bindparam("the_count"),
        done_count=bindparam("the_done"),
        replaced_by=bindparam("the_other"),
        carried_out_at=case((bindparam("it_is_over", type_=Boolean), func.now()), else_=table.c.carried_out_at),
        version=table.c.version + 1,
        updated_at=func.now(),
    )
)
_STEPS_DONE = (
    select(step_table.c.number, step_table.c.done_by, step_table.c.done_at)
    .where(step_table.c.institution_id == bindparam("asker"), step_table.c.plan_id == bindparam("plan_id"))
    .order_by(step_table.c.number)
)
_NOTE_STEP = insert(step_table)


def keep(session: Session, institution_id: UUID, asked: Asked, content: WalkedPlan, engine: str) -> UUID:
    """Keep a plan whose first alternative is chosen; its id. One that changes nothing is carried out already."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "question": question_to_json(asked),
        "content": codec.to_json(content),
        "chosen": 1,
        "alternatives": len(content.walks),
        "step_count": len(content.walks[0].steps),
        "carried_out_at": func.now() if content.changes_nothing else None,
        "engine": engine,
    }
    session.execute(_KEEP.values(values))
    return UUID(str(values["id"]))


def by_id(session: Session, institution_id: UUID, plan_id: UUID) -> KeptArrangement:
    """:raises NotFound: when the institution has no such plan."""
    return _found(session.execute(_BY_ID, {"asker": institution_id, "plan_id": plan_id}).one_or_none(), plan_id)


def line_of(session: Session, institution_id: UUID, plan_id: UUID) -> list[KeptArrangement]:
    """A plan, the last, and before it those that it has taken the place of, the oldest first."""
    line = [by_id(session, institution_id, plan_id)]
    while row := session.execute(_REPLACED_BY, {"asker": institution_id, "plan_id": line[0].id}).one_or_none():
        line.insert(0, _found(row, plan_id))
    return line


def locked(session: Session, institution_id: UUID, plan_id: UUID) -> KeptArrangement:
    """As :func:`by_id`; until the transaction is over nobody else carries it on."""
    return _found(session.execute(_LOCKED, {"asker": institution_id, "plan_id": plan_id}).one_or_none(), plan_id)


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[PlanHead, Age]:
    """The institution's plans, the newest first."""
    return page_by_age(session, _LIST, after, limit, _head, asker=institution_id)


def choose(session: Session, kept: KeptArrangement, alternative: int) -> None:
    """Take another way."""
    steps = len(kept.content.walks[alternative - 1].steps)
    _set(session, kept, the_choice=alternative, the_count=steps)


def note_done(session: Session, kept: KeptArrangement, through: int, by: str) -> None:
    """Write down that the steps up to this one are done; with the last of them the plan has been carried out."""
    rows = [
        {"institution_id": kept.institution_id, "plan_id": kept.id, "number": number, "done_by": by}
        for number in range(kept.done_count + 1, through + 1)
    ]
    if rows:
        session.execute(_NOTE_STEP, rows)
    _set(session, kept, the_done=through, it_is_over=through == kept.step_count)


def replace(session: Session, kept: KeptArrangement, by: UUID) -> None:
    """Another plan takes the place of this one."""
    _set(session, kept, the_other=by)


def _set(session: Session, kept: KeptArrangement, **changed: object) -> None:
    now = {
        "asker": kept.institution_id,
        "plan_id": kept.id,
        "the_choice": kept.chosen,
        "the_count": kept.step_count,
        "the_done": kept.done_count,
        "the_other": kept.replaced_by,
        "it_is_over": False,
    }
    session.execute(_SET, now | changed)


def steps_done(session: Session, kept: PlanHead) -> tuple[StepDone, ...]:
    """The steps that were carried out, in their order."""
    rows = session.execute(_STEPS_DONE, {"asker": kept.institution_id, "plan_id": kept.id})
    return tuple(StepDone(row.number, row.done_by, row.done_at) for row in rows)


def _found(row: Row[Any] | None, plan_id: UUID) -> KeptArrangement:
    if row is None:
        raise NotFound("arrangement plan", plan_id)
    return KeptArrangement(**_head_fields(row), content=codec.from_json(WalkedPlan, row.content))


def _head(row: Row[Any]) -> PlanHead:
    return PlanHead(**_head_fields(row))


def _head_fields(row: Row[Any]) -> dict[str, Any]:
    known = {column.name: getattr(row, column.name) for column in _HEAD}
    asked = question_from_json(known.pop("question"))
    return {**known, "asked": asked}
