"""Permits and letters of a transfer, as either side wrote them down."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.transfers.permits import Permit
from service.store import codec
from service.store.changes import Change
from service.store.ids import new_id
from service.store.tables import transfer_permit as table
from service.store.transfers import Kept


@dataclass(frozen=True, slots=True)
class KeptPermit:
    """``recorded_by`` wrote it down and may change it; both sides read it."""

    id: UUID
    transfer_id: UUID
    recorded_by: UUID
    permit: Permit
    version: int
    created_at: datetime
    updated_at: datetime


_OF_TRANSFER = select(*table.c).where(table.c.transfer_id == bindparam("the_transfer")).order_by(table.c.id)
_BY_ID = select(*table.c).where(
    table.c.transfer_id == bindparam("the_transfer"), table.c.id == bindparam("the_permit")
)
_MAKE = insert(table).returning(*table.c)
_CHANGE = Change("permit", table, "transfer_id", "id")


def of_transfer(session: Session, transfer_id: UUID) -> tuple[KeptPermit, ...]:
    """The permits of a transfer, the oldest first."""
    return tuple(map(_kept, session.execute(_OF_TRANSFER, {"the_transfer": transfer_id})))


def by_id(session: Session, transfer_id: UUID, permit_id: UUID) -> KeptPermit:
    """:raises NotFound: when the transfer has no such permit that the asker may see."""
    row = session.execute(_BY_ID, {"the_transfer": transfer_id, "the_permit": permit_id}).one_or_none()
    if row is None:
        raise NotFound("permit", permit_id)
    return _kept(row)


def make(session: Session, transfer: Kept, recorded_by: UUID, permit: Permit) -> KeptPermit:
    """Write down a permit."""
    values = {
        "transfer_id": transfer.id,
        "id": new_id(),
        "lender_id": transfer.lender_id,
        "borrower_id": transfer.borrower_id,
        "recorded_by": recorded_by,
    }
    return _kept(session.execute(_MAKE, values | _says(permit)).one())


def change(session: Session, transfer_id: UUID, permit_id: UUID, version: int, permit: Permit) -> KeptPermit:
    """Write a permit anew, if it still is at ``version``; only for the side that recorded it."""
    key = {"transfer_id": transfer_id, "id": permit_id}
    return _kept(_CHANGE.run(session, version, key, **_says(permit)))


def _says(permit: Permit) -> dict[str, object]:
    return {
        "status": permit.status.value,
        "valid_until": permit.valid_until,
        "content": codec.to_json(permit),
    }


def _kept(row: Row[Any]) -> KeptPermit:
    return KeptPermit(
        row.id,
        row.transfer_id,
        row.recorded_by,
        codec.from_json(Permit, row.content),
        row.version,
        row.created_at,
        row.updated_at,
    )
