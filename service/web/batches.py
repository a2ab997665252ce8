"""Many things at once, each found by your own name for it: a night's changes in one call that may be repeated."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.actions import batches as actions
from service.actions.batches import Called, ConsignmentItem, Done, Item, Outcome, SystemItem, TransferItem
from service.actions.standards import CoverSheet
from service.core.errors import TraybridgeError
from service.web import names
from service.web.consignments import Statement, StatementFields
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Code, Flag, Int, List, Nested, Text, Uuid
from service.web.kit.judged import Judged, JudgedList
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.problems import Fault, ProblemSchema, Refusal, body_of, faults_in, invalid, of_domain
from service.web.kit.schema import Strict
from service.web.schemas.identifiers import Identifiers, IdentifierSchema
from service.web.schemas.standards import StorageSystemContentSchema
from service.web.schemas.transfers import NewTransferSchema
from service.web.storage_systems import CoverSheetFields
from service.web.transaction import transaction

batches = Blueprint(
    "batches",
    __name__,
    url_prefix="/v1/batches",
    description="Many things at once, each found by your own identifier: made, changed, or left as it is.",
)
MOST_ITEMS = 1_000


class CalledFields(Strict):
    """How a thing of a batch is found."""

    identifier = Nested(
        IdentifierSchema, required=True, metadata={"description": "what you call it; by this it is found"}
    )
    identifiers = Identifiers()
    version = Int(min=1, metadata={"description": "change it only while it is at this version; left out: always"})


def _called(given: dict[str, Any]) -> Called:
    return Called(given.pop("identifier"), given.pop("identifiers", None), given.pop("version", None))


class SystemItemSchema(CalledFields, CoverSheetFields):
    """A storage system, with the contents of its next revision if they are to be kept here too."""

    code = Code(required=True)
    content = Nested(
        StorageSystemContentSchema,
        metadata={"description": "contents of the next revision; left out: the revisions stay as they are"},
    )
    note = Text(max_length=10_000, min_length=0, metadata={"description": "what is new in the contents, and why"})
    publish = Flag(metadata={"description": "true: the contents are published, if they are new; else a draft"})


class ConsignmentItemSchema(CalledFields, StatementFields):
    """A consignment."""

    code = Code(required=True)


class TransferItemSchema(CalledFields, NewTransferSchema):
    """A transfer. Its text changes until something is packed, and both signatures fall when it does."""


def _system(**given: Any) -> SystemItem:
    called = _called(given)
    cover = CoverSheet(given.pop("name"), given.pop("visibility"), given.pop("description", ""))
    return SystemItem(called, given.pop("code"), cover, **given)


def _consignment(**given: Any) -> ConsignmentItem:
    called, code = _called(given), given.pop("code")
    said = Statement(**given)
    return ConsignmentItem(called, code, said.cover, said.lines)


def _transfer(**given: Any) -> TransferItem:
    called = _called(given)
    maker = NewTransferSchema.makes
    assert maker is not None  # noqa: S101 - a schema that makes transfers
    return TransferItem(called, maker(**given))


SystemItemSchema.makes = staticmethod(_system)
ConsignmentItemSchema.makes = staticmethod(_consignment)
TransferItemSchema.makes = staticmethod(_transfer)


@dataclass(frozen=True, slots=True)
class Batch:
    """What was sent: for each kind, its items in their order."""

    storage_systems: tuple[Judged, ...] = ()
    consignments: tuple[Judged, ...] = ()
    transfers: tuple[Judged, ...] = ()
    all_or_nothing: bool = False

    def items(self) -> Iterator[tuple[str, Judged]]:
        for name in ("storage_systems", "consignments", "transfers"):
            for place, judged in enumerate(getattr(self, name)):
                yield f"/{name}/{place}", judged


class BatchSchema(Strict):
    """At most a thousand things, of all kinds together."""

    makes = Batch
    storage_systems = JudgedList(
        Nested(SystemItemSchema), max_items=MOST_ITEMS, metadata={"description": "storage systems to write"}
    )
    consignments = JudgedList(
        Nested(ConsignmentItemSchema), max_items=MOST_ITEMS, metadata={"description": "consignments to write"}
    )
    transfers = JudgedList(
        Nested(TransferItemSchema), max_items=MOST_ITEMS, metadata={"description": "transfers to write"}
    )
    all_or_nothing = Flag(metadata={"description": "true: one that is refused spoils all; nothing is written then"})

    @validates_schema(skip_on_field_errors=True)
    def check_that_they_are_not_too_many(self, data: dict[str, Any], **_: Any) -> None:
        """All kinds together."""
        count = sum(len(items) for items in data.values() if isinstance(items, tuple))
        if count > MOST_ITEMS:
            raise ValidationError(f"These are {count} items in all; at most {MOST_ITEMS} are taken at a time.")


class BatchOutcomeSchema(Strict):
    """What became of one item."""

    at = Text(max_length=100, required=True, metadata={"description": "JSON pointer to the item in the request"})
    outcome = Choice(Outcome, required=True)
    id = Uuid(metadata={"description": "of the thing that was made, changed or found"})
    href = Text(max_length=300)
    version = Int(min=0)
    problem = Nested(ProblemSchema, metadata={"description": "why it was refused; pointers lead into the item"})


class BatchAnswerSchema(Strict):
    """What became of each item, in the order of the request."""

    items = List(
        Nested(BatchOutcomeSchema),
        max_items=MOST_ITEMS,
        required=True,
        metadata={
            "description": "what became of each item: storage systems first, then consignments, then transfers"
        },
    )
    made = Int(min=0, required=True, metadata={"description": "items that were made"})
    changed = Int(min=0, required=True, metadata={"description": "items that were changed"})
    unchanged = Int(min=0, required=True, metadata={"description": "items that were there and say the same"})
    refused = Int(min=0, required=True, metadata={"description": "items of which nothing was written"})


@batches.operation("POST", "", scope="write", body=BatchSchema, returns=BatchAnswerSchema, status=200)
def write_batch(body: Batch) -> Reply:
    """Write up to a thousand things at once, each found by your own identifier of it.

    What you call so is changed if it differs, and left as it is if not; where nothing is called so yet, it is made.
    The same batch sent again does nothing. Each item has its own answer, and one that is refused
    leaves the others as they are, unless `all_or_nothing` is asked for: then the refusal names every fault.
    """
    told = list(body.items())
    good = [judged.value for _, judged in told if judged.is_good]
    with transaction() as session:
        done = iter(_write(session, good))
        outcomes = [(at, next(done) if judged.is_good else _faulty(judged)) for at, judged in told]
        if body.all_or_nothing:
            _refuse_if_any_is(outcomes)
    counts = Counter(one.outcome if isinstance(one, Done) else Outcome.REFUSED for _, one in outcomes)
    shown: dict[str, Any] = {word.value: counts[word] for word in Outcome}
    return Reply(shown | {"items": [_shown(at, one) for at, one in outcomes]})


def _write(session: Any, items: list[Item]) -> list[Done | Refusal]:
    written = actions.write(session, current_actor(), items, datetime.now(UTC))
    return [of_domain(one) if isinstance(one, TraybridgeError) else one for one in written]


def _faulty(judged: Judged) -> Refusal:
    return invalid(faults_in(judged.messages, "pointer"))


def _refuse_if_any_is(outcomes: list[tuple[str, Done | Refusal]]) -> None:
    faults = [fault for at, one in outcomes if isinstance(one, Refusal) for fault in _faults(at, one)]
    if faults:
        raise invalid(faults)


def _faults(at: str, refusal: Refusal) -> list[Fault]:
    return [Fault(at + fault.at, fault.detail) for fault in refusal.faults] or [Fault(at, refusal.detail)]


def _shown(at: str, one: Done | Refusal) -> dict[str, Any]:
    if isinstance(one, Refusal):
        return {"at": at, "outcome": Outcome.REFUSED, "problem": body_of(one)}
    href = names.address(one.kind, one.id)
    return {"at": at, "outcome": one.outcome, "id": one.id, "href": href, "version": one.version}
