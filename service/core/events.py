"""What an institution is told when something happens: its kind, and where to read what is so now.

An event is thin on purpose. It says that something happened and links to the thing; whoever may read the thing reads
it there, as it is by then.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any
from uuid import UUID


class EventType(StrEnum):
    """The kinds of events. What comes before the point is what it happened to."""

    TRANSFER_WRITTEN = "transfer.written"
    TRANSFER_SIGNED = "transfer.signed"
    TRANSFER_WITHDRAWN = "transfer.withdrawn"
    TRANSFER_PACKED = "transfer.packed"
    TRANSFER_UNPACKED = "transfer.unpacked"
    TRANSFER_DISPATCHED = "transfer.dispatched"
    TRANSFER_RECEIVED = "transfer.received"
    TRANSFER_ACKNOWLEDGED = "transfer.acknowledged"
    TRANSFER_DIFFERENCE_REPORTED = "transfer.difference_reported"
    TRANSFER_DIFFERENCE_SETTLED = "transfer.difference_settled"
    TRANSFER_EXTENSION_ASKED = "transfer.extension_asked"
    TRANSFER_EXTENSION_GRANTED = "transfer.extension_granted"
    TRANSFER_EXTENSION_REFUSED = "transfer.extension_refused"
    TRANSFER_RECALLED = "transfer.recalled"
    TRANSFER_RETAINED = "transfer.retained"
    TRANSFER_PASSED_ON = "transfer.passed_on"
    TRANSFER_CONSUMED = "transfer.consumed"
    TRANSFER_LOST = "transfer.lost"
    TRANSFER_FOUND = "transfer.found"
    TRANSFER_SENT_BACK = "transfer.sent_back"
    TRANSFER_RECEIVED_BACK = "transfer.received_back"
    TRANSFER_OWNERSHIP_CHANGED = "transfer.ownership_changed"
    TRANSFER_RECONCILED = "transfer.reconciled"
    TRANSFER_CLOSED = "transfer.closed"
    CONSIGNMENT_WRITTEN = "consignment.written"
    CONSIGNMENT_OFFERED = "consignment.offered"
    CONSIGNMENT_CHANGED = "consignment.changed"
    CONSIGNMENT_REMOVED = "consignment.removed"
    FIT_CHECK_MADE = "fit_check.made"
    HOUSING_PLAN_MADE = "housing_plan.made"
    ARRANGEMENT_PLAN_MADE = "arrangement_plan.made"
    """Somebody asked for it, and it was made. Whether it is overtaken since is seen when it is read."""
    ARRANGEMENT_PLAN_STEPS_DONE = "arrangement_plan.steps_done"
    """Steps were carried out; ``number`` is the last of them."""
    ARRANGEMENT_PLAN_CARRIED_OUT = "arrangement_plan.carried_out"
    """All of it was; a plan that changes nothing is carried out as soon as it is made."""
    ARRANGEMENT_PLAN_REPLACED = "arrangement_plan.replaced"
    """It was asked again, and the new plan takes its place."""
    QUARANTINE_BEGUN = "quarantine.begun"
    """Somebody wrote it down, or something arrived."""
    QUARANTINE_CHANGED = "quarantine.changed"
    """Its text was written anew, such as when the material was taken out."""
    QUARANTINE_LOG_ADDED = "quarantine.log_added"
    """The readings of a logger were added. Whether the quarantine is over by them is seen when it is read."""
    QUARANTINE_INSPECTED = "quarantine.inspected"
    """Somebody looked; live pests begin it anew."""
    QUARANTINE_RELEASED = "quarantine.released"
    """Somebody let the material go before it was over, with a reason."""
    OPERATION_FAILED = "operation.failed"
    STORAGE_SYSTEM_PUBLISHED = "storage_system.published"
    WEBHOOK_TESTED = "webhook.tested"
    WEBHOOK_DISABLED = "webhook.disabled"

    @property
    def subject(self) -> str:
        """What it happened to."""
        return self.value.partition(".")[0]


#: Where the things that events are about are read, beginning with the service's own address.
ADDRESSES = {
    "transfer": "/v1/transfers/{id}",
    "consignment": "/v1/consignments/{id}",
    "fit_check": "/v1/fit-checks/{id}",
    "housing_plan": "/v1/housing-plans/{id}",
    "arrangement_plan": "/v1/arrangement-plans/{id}",
    "quarantine": "/v1/quarantines/{id}",
    "operation": "/v1/operations/{id}",
    "storage_system": "/v1/storage-systems/{id}/revisions/{number}",
    "webhook": "/v1/webhooks/{id}",
}


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened. ``number`` is the fact's place in the chain of its transfer, the revision's number, or
    the last of the steps that were carried out.

    ``made_by`` is the institution that did it; ``position`` its place in the feed of the one that is told.
    """

    id: UUID
    position: int
    type: EventType
    subject_id: UUID
    number: int | None
    made_by: UUID
    recorded_at: datetime

    @property
    def href(self) -> str:
        """Where to read what it happened to."""
        return ADDRESSES[self.type.subject].format(id=self.subject_id, number=self.number)

    def as_json(self) -> dict[str, Any]:
        """The event as it is sent and listed (the payload of Standard Webhooks: type, timestamp, data)."""
        number = {} if self.number is None else {"number": self.number}
        return {
            "id": self.id,
            "type": self.type,
            "timestamp": self.recorded_at,
            "data": {"href": self.href, "subject_id": self.subject_id, "made_by": self.made_by, **number},
        }
