"""Consignments: what somebody offers or sends, by JSON or as a spreadsheet."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from marshmallow import ValidationError, validates_schema
from sqlalchemy.orm import Session

from service.actions import naming
from service.core.care.cautions import handling_cautions
from service.core.consignment import ConsignmentKind, Line
from service.core.identifiers import Kind
from service.formats.consignment_csv import CONSIGNMENT, read_sheet
from service.store import consignments as store
from service.store.consignments import Consignment, Cover, Sender
from service.store.paging import Age
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Choice, Code, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.kit.problems import invalid
from service.web.kit.schema import Parameters, Strict, takes_back
from service.web.names import all_named, named
from service.web.schemas.consignment import MOST_LINES, LineSchema
from service.web.schemas.identifiers import GivenIdentifiers, Identifiers
from service.web.schemas.parts import Handling
from service.web.sheets import as_fault, headings_of, judged, rows_of
from service.web.transaction import transaction

consignments = Blueprint(
    "consignments",
    __name__,
    url_prefix="/v1/consignments",
    description="What somebody offers or sends, container by container.",
)
ONE = "/<uuid:consignment_id>"


@dataclass(frozen=True, slots=True)
class Statement:
    """What the owner says of a consignment. Without ``lines``, those that are there stay."""

    kind: ConsignmentKind
    sender: Sender
    offered_to: tuple[UUID, ...] = ()
    note: str = ""
    lines: tuple[Line, ...] | None = field(default=None)

    @property
    def cover(self) -> Cover:
        return Cover(self.kind, self.sender, self.offered_to, self.note)


class SenderSchema(Strict):
    """Who sends: an institution of this service by its id, or somebody else by name."""

    makes = Sender
    institution_id = Uuid(metadata={"description": "an institution of this service; left out: it is somebody else"})
    name = Text(max_length=300, metadata={"description": "somebody who is no institution of this service"})

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_one_of_the_two(self, data: dict[str, Any], **_: Any) -> None:
        """A sender is named once."""
        if len(data) != 1:
            raise ValidationError("Give either institution_id or name.")


class StatementFields(Strict):
    kind = Choice(ConsignmentKind, required=True)
    sender = Nested(SenderSchema, required=True, metadata={"description": "who sends it"})
    offered_to = List(Uuid(), max_items=200, unique=True, metadata={"description": "institutions that may read it"})
    note = Text(max_length=10_000, min_length=0)
    lines = List(Nested(LineSchema), max_items=MOST_LINES, metadata={"description": "left out: what is there stays"})


class NewConsignmentSchema(StatementFields):
    """A consignment to be."""

    code = Code(required=True, metadata={"description": "your own; each of your consignments has another"})
    identifiers = Identifiers()


class ConsignmentSummarySchema(Strict):
    """A consignment, without its lines."""

    id = Uuid(required=True)
    code = Code(required=True)
    institution_id = Uuid(required=True, metadata={"description": "who wrote it down and may change it"})
    kind = Choice(ConsignmentKind, required=True)
    sender = Nested(SenderSchema, required=True, metadata={"description": "who sends it"})
    offered_to = List(
        Uuid(),
        max_items=200,
        required=True,
        metadata={"description": "institutions that may read it; others see nothing of it"},
    )
    identifiers = GivenIdentifiers()
    note = Text(max_length=10_000, min_length=0, required=True)
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class ConsignmentSchema(ConsignmentSummarySchema):
    """A consignment with its lines."""

    lines = List(
        Nested(LineSchema),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "its lines in order; their places count from 1"},
    )
    handling = Handling(required=True)


@takes_back(ConsignmentSchema)
class ConsignmentChangeSchema(StatementFields):
    """What the owner says of a consignment."""

    makes = Statement


class ConsignmentsQuery(paging.PageQuery):
    """Which consignments to list."""

    offered = Flag(load_default=False, metadata={"description": "true: those that others offer to you"})


class SheetQuery(Parameters):
    """How to treat a sheet with faults."""

    good_rows_only = Flag(
        load_default=False, metadata={"description": "store the good rows and name the others, instead of none"}
    )


class BadCellSchema(Strict):
    """A cell to mend."""

    row = Int(min=1, required=True, metadata={"description": "as the spreadsheet numbers it"})
    column = Text(max_length=100, metadata={"description": "its heading"})
    detail = Text(
        max_length=2_000, required=True, metadata={"description": "what is wrong with it, and what would be right"}
    )


class SheetReceiptSchema(Strict):
    """What became of a sheet."""

    lines_stored = Int(min=0, max=MOST_LINES, required=True, metadata={"description": "rows that were stored"})
    refused = List(
        Nested(BadCellSchema),
        max_items=100_000,
        required=True,
        metadata={"description": "cells for which a row was not stored"},
    )


@consignments.operation(
    "GET", "", scope="read", query=ConsignmentsQuery, returns=paging.page_of(ConsignmentSummarySchema)
)
def list_consignments(query: dict[str, Any]) -> Reply:
    """List your consignments, or those that others offer to you.

    The newest first, without their lines.
    """
    page = paging.page(query, paging.BY_AGE)
    listed = store.page_offered if query["offered"] else store.page
    with transaction() as session:
        found = listed(session, current_actor().own_institution(), page.position(Age), page.size)
        return page.answer(all_named(session, found))


@consignments.operation(
    "POST", "", scope="write", body=NewConsignmentSchema, returns=ConsignmentSchema, creates=True,
    errors=["code-taken", "identifier-taken"],
)  # fmt: skip
def create_consignment(body: dict[str, Any]) -> Reply:
    """Write a consignment down.

    Its lines may come with it, or later as a spreadsheet.
    """
    code, identifiers = body.pop("code"), body.pop("identifiers", ())
    said = Statement(**body)
    with transaction() as session:
        made = store.make(session, current_actor().own_institution(), code, said.cover, said.lines or ())
        naming.name(session, current_actor(), Kind.CONSIGNMENT, made.id, identifiers)
        return _reply(session, made)


@consignments.operation("GET", ONE, scope="read", returns=ConsignmentSchema, conditional=True)
def get_consignment(consignment_id: UUID) -> Reply:
    """Read a consignment with its lines.

    Its owner reads it, and the institutions that it is offered to; for everybody else it is not found. The answer
    says how to handle what is in it.
    """
    with transaction() as session:
        return _reply(session, store.by_id(session, consignment_id))


@consignments.operation(
    "PUT", ONE, scope="write", body=ConsignmentChangeSchema, returns=ConsignmentSchema, conditional=True,
    errors=["forbidden", "lines-changed-meanwhile"],
)  # fmt: skip
def change_consignment(consignment_id: UUID, body: Statement) -> Reply:
    """Change a consignment.

    Lines that are given replace all there were. Fit checks made earlier keep what they were made from.
    """
    with transaction() as session:
        before = store.by_id(session, consignment_id)
        return _reply(session, store.change(session, before, expected_version(), body.cover, body.lines))


@consignments.operation("DELETE", ONE, scope="write", conditional=True, errors=["forbidden"])
def delete_consignment(consignment_id: UUID) -> None:
    """Remove a consignment. Fit checks of it stay.

    Its lines and lots go with it, and those whom it was offered to see it no more. Only its owner may.
    """
    with transaction() as session:
        store.remove(session, store.by_id(session, consignment_id), expected_version())


@consignments.operation(
    "PUT", ONE + "/lines", scope="write", query=SheetQuery, upload=negotiation.CSV, returns=SheetReceiptSchema,
    upload_holds=headings_of(CONSIGNMENT), conditional=True, errors=["forbidden", "lines-changed-meanwhile"],
)  # fmt: skip
def upload_lines(consignment_id: UUID, query: dict[str, bool], upload: bytes) -> Reply:
    """Replace a consignment's lines by a spreadsheet (CSV).

    UTF-8, with commas, semicolons or tabs. `identifiers` holds what your own database calls a line, each as
    `scheme:value`, parted by semicolons. A bad cell is named by row and heading, and nothing is stored unless all is
    good, or only good rows are asked for.
    """
    lines, refused = judged(rows_of(read_sheet, upload), LineSchema())
    if refused and not query["good_rows_only"]:
        raise invalid(map(as_fault, refused))
    with transaction() as session:
        before = store.by_id(session, consignment_id)
        cover = Cover(before.kind, before.sender, before.offered_to, before.note)
        changed = store.change(session, before, expected_version(), cover, lines)
    return Reply({"lines_stored": len(lines), "refused": refused}, version=changed.version)


def _reply(session: Session, consignment: Consignment) -> Reply:
    lines = store.lines(session, consignment)
    shown = named(session, consignment) | {"lines": lines}
    shown["handling"] = handling_cautions(line.treatments_used for line in lines)
    return Reply(shown, version=consignment.version, location=f"/v1/consignments/{consignment.id}")


offer_patch(consignments, "get_consignment", "change_consignment")
