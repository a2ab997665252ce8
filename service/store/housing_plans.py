"""Housing plans as they were made. They never change, and only the institution that asked reads them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.housing.plan import HousingPlan
from service.core.housing.proof import Proof
from service.core.housing.wishes import Asked
from service.store import codec
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import housing_plan as table


@dataclass(frozen=True, slots=True)
class Subject:
    """What a plan was asked about, as far as it is known here by an id."""

    consignment_id: UUID | None = None
    storage_system_id: UUID | None = None
    revision_number: int | None = None


@dataclass(frozen=True, slots=True)
class PlanHead:
    """Which plan this is. ``engine`` is the version of the arithmetic that made it."""

    id: UUID
    institution_id: UUID
    consignment_id: UUID | None
    storage_system_id: UUID | None
    revision_number: int | None
    tray_count: int
    drawer_count: int
    proof: Proof
    engine: str
    created_at: datetime


@dataclass(frozen=True, slots=True)
class KeptPlan(PlanHead):
    """A plan with the whole question and the whole answer."""

    asked: Asked
    plan: HousingPlan


_HEAD = [column for column in table.c if column.name not in ("asked", "plan")]
_BY_ID = select(*table.c).where(table.c.institution_id == bindparam("asker"), table.c.id == bindparam("plan_id"))
_HEADS = select(*_HEAD).where(table.c.institution_id == bindparam("asker"))
_AGE = (table.c.created_at, table.c.id)
_LIST = newest_first(_HEADS, *_AGE)
_LIST_OF_CONSIGNMENT = newest_first(_HEADS.where(table.c.consignment_id == bindparam("consignment")), *_AGE)
_KEEP = insert(table).returning(*_HEAD)


def keep(
    session: Session, institution_id: UUID, subject: Subject, asked: Asked, plan: HousingPlan, engine: str
) -> PlanHead:
    """Keep a plan for good."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "consignment_id": subject.consignment_id,
        "storage_system_id": subject.storage_system_id,
        "revision_number": subject.revision_number,
        "tray_count": sum(tray.count for tray in asked.request.trays),
        "drawer_count": plan.drawer_count,
        "proof": Proof.of(plan).value,
        "asked": codec.to_json(asked),
        "plan": codec.to_json(plan),
        "engine": engine,
    }
    return _head(session.execute(_KEEP, values).one())


def by_id(session: Session, institution_id: UUID, plan_id: UUID) -> KeptPlan:
    """:raises NotFound: when the institution has no such plan."""
    row = session.execute(_BY_ID, {"asker": institution_id, "plan_id": plan_id}).one_or_none()
    if row is None:
        raise NotFound("housing plan", plan_id)
    return KeptPlan(
        **_head_fields(row),
        asked=codec.from_json(Asked, row.asked),
        plan=codec.from_json(HousingPlan, row.plan),
    )


def page(
    session: Session, institution_id: UUID, after: Age | None, limit: int, consignment_id: UUID | None = None
) -> Page[PlanHead, Age]:
    """The institution's plans, of everything or of one consignment, the newest first."""
    if consignment_id is None:
        return page_by_age(session, _LIST, after, limit, _head, asker=institution_id)
    return page_by_age(
        session, _LIST_OF_CONSIGNMENT, after, limit, _head, asker=institution_id, consignment=consignment_id
    )


def _head(row: Row[Any]) -> PlanHead:
    return PlanHead(**_head_fields(row))


def _head_fields(row: Row[Any]) -> dict[str, Any]:
    known = {column.name: getattr(row, column.name) for column in _HEAD}
    return known | {"proof": Proof(known["proof"])}
