"""Plans of a transfer's parcels, as they were made. They never change."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.parcels.answer import ParcelPlan
from service.core.parcels.asking import Asked
from service.store import codec
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import parcel_plan as table
from service.store.transfers import Kept


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan with what it was made from. ``revision`` is the number of the transfer's last fact at that time."""

    id: UUID
    transfer_id: UUID
    made_by: UUID
    revision: int
    asked: Asked
    plan: ParcelPlan
    created_at: datetime


_OF_TRANSFER = select(*table.c).where(table.c.transfer_id == bindparam("the_transfer"))
_BY_ID = _OF_TRANSFER.where(table.c.id == bindparam("the_plan"))
_LIST = newest_first(_OF_TRANSFER, table.c.created_at, table.c.id)
_MAKE = insert(table).returning(*table.c)


def make(session: Session, transfer: Kept, made_by: UUID, asked: Asked, plan: ParcelPlan) -> KeptPlan:
    """Keep a plan."""
    values = {
        "transfer_id": transfer.id,
        "id": new_id(),
        "lender_id": transfer.lender_id,
        "borrower_id": transfer.borrower_id,
        "made_by": made_by,
        "revision": transfer.head.seq,
        "asked": codec.to_json(asked),
        "plan": codec.to_json(plan),
    }
    return _kept(session.execute(_MAKE, values).one())


def by_id(session: Session, transfer_id: UUID, plan_id: UUID) -> KeptPlan:
    """:raises NotFound: when the transfer has no such plan that the asker may see."""
    row = session.execute(_BY_ID, {"the_transfer": transfer_id, "the_plan": plan_id}).one_or_none()
    if row is None:
        raise NotFound("plan of parcels", plan_id)
    return _kept(row)


def page(session: Session, transfer_id: UUID, after: Age | None, limit: int) -> Page[KeptPlan, Age]:
    """The plans of a transfer, the newest first."""
    return page_by_age(session, _LIST, after, limit, _kept, the_transfer=transfer_id)


def _kept(row: Row[Any]) -> KeptPlan:
    return KeptPlan(
        row.id,
        row.transfer_id,
        row.made_by,
        row.revision,
        codec.from_json(Asked, row.asked),
        codec.from_json(ParcelPlan, row.plan),
        row.created_at,
    )
