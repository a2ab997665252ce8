"""Fit checks: will this consignment go into that storage system, and what does it take?"""

from typing import Any
from uuid import UUID

from service.actions import fit_checks as actions
from service.actions.fit_checks import Question
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.errors import NotFound
from service.paper.fit_drawing import fit_drawing
from service.paper.fit_table import fit_table
from service.store import fit_checks as store
from service.store.fit_checks import FitCheck
from service.store.paging import Age
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Instant, Int, List, Nested, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.paths import LARGEST_NUMBER
from service.web.kit.schema import Strict
from service.web.schemas.consignment import MOST_LINES, LineSchema
from service.web.schemas.fit import FitAnswerSchema
from service.web.schemas.parts import Handling
from service.web.schemas.standards import StorageSystemContentSchema
from service.web.transaction import transaction

fit_checks = Blueprint(
    "fit-checks",
    __name__,
    url_prefix="/v1/fit-checks",
    description="Will this consignment go into that storage system? A verdict with figures, kept for good.",
)
ONE = "/<uuid:fit_check_id>"
_SHOWN = ("id", "consignment_id", "storage_system_id", "revision_number", "engine", "created_at", "answer")


class QuestionSchema(Strict):
    """What is to be held against what."""

    makes = Question
    consignment_id = Uuid(required=True, metadata={"description": "what is offered; yours, or offered to you"})
    storage_system_id = Uuid(required=True, metadata={"description": "what it would go into"})
    revision = Int(min=1, max=LARGEST_NUMBER, metadata={"description": "number; left out: the one that holds today"})


class FitCheckSummarySchema(Strict):
    """Which check this is."""

    id = Uuid(required=True)
    consignment_id = Uuid(
        metadata={"description": "the consignment that was held against it; it may have been removed since"}
    )
    storage_system_id = Uuid(required=True, metadata={"description": "the storage system that it was held against"})
    revision_number = Int(min=1, max=LARGEST_NUMBER, required=True)
    engine = Text(max_length=40, required=True, metadata={"description": "version of the arithmetic"})
    created_at = Instant(required=True)


class FitCheckSchema(FitCheckSummarySchema):
    """A fit check with its answer."""

    answer = Nested(FitAnswerSchema, required=True, metadata={"description": "the verdict with its figures"})
    handling = Handling(required=True)


class InputsSchema(Strict):
    """All that an answer was worked out from."""

    consignment = Text(max_length=100, required=True, metadata={"description": "its code on that day"})
    sender = Text(max_length=300, min_length=0, required=True, metadata={"description": "who sent it, by name"})
    system = Text(
        max_length=500,
        min_length=0,
        required=True,
        metadata={"description": "name of the storage system and of its owner on that day"},
    )
    content_sha256 = Text(
        max_length=64,
        required=True,
        metadata={"description": "digest of the storage system's contents, as the revision shows it"},
    )
    lines = List(
        Nested(LineSchema),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "the consignment's lines on that day"},
    )
    content = Nested(
        StorageSystemContentSchema,
        required=True,
        metadata={"description": "the storage system's contents on that day"},
    )


class FitChecksQuery(paging.PageQuery):
    """Which fit checks to list."""

    consignment_id = Uuid(metadata={"description": "only those of this consignment"})


@fit_checks.operation("GET", "", scope="read", query=FitChecksQuery, returns=paging.page_of(FitCheckSummarySchema))
def list_fit_checks(query: dict[str, Any]) -> Reply:
    """List the fit checks that you asked for.

    The newest first, without their answers.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        asker = current_actor().own_institution()
        return page.answer(store.page(session, asker, page.position(Age), page.size, query.get("consignment_id")))


@fit_checks.operation(
    "POST", "", scope="write", body=QuestionSchema, returns=FitCheckSchema, media=[negotiation.TEXT], creates=True,
    errors=["not-found", "no-lines", "nothing-published"],
)  # fmt: skip
def create_fit_check(body: Question) -> Reply:
    """Ask whether a consignment fits a storage system.

    Each line gets a verdict; each rule behind it an outcome with what was compared, the limit, the margin, the
    reason, the remedy and the source. The answer is kept with all that it was made from.
    """
    with transaction() as session:
        return _reply(actions.ask(session, current_actor(), body))


@fit_checks.operation("GET", ONE, scope="read", returns=FitCheckSchema, media=[negotiation.TEXT])
def get_fit_check(fit_check_id: UUID) -> Reply:
    """Read a fit check, as JSON or as a plain table.

    It never changes: under another revision the same consignment is another fit check. As text it is a plain table to
    print.
    """
    with transaction() as session:
        return _reply(store.by_id(session, current_actor().own_institution(), fit_check_id))


@fit_checks.operation("GET", ONE + "/inputs", scope="read", returns=InputsSchema)
def get_fit_check_inputs(fit_check_id: UUID) -> Reply:
    """Read what a fit check was made from.

    The lines and the storage system's contents as they were on that day, so that the answer can be worked out again
    in years.
    """
    with transaction() as session:
        return Reply(store.by_id(session, current_actor().own_institution(), fit_check_id).inputs)


@fit_checks.operation("GET", ONE + "/lines/<number:line>/drawing", scope="read", media=[negotiation.SVG])
def get_fit_check_drawing(fit_check_id: UUID, line: int) -> Reply:
    """Draw one line of a fit check to scale.

    The drawer in its cabinet opening, the trays in the receiver's drawer, a pin under the lid.
    """
    with transaction() as session:
        found = store.by_id(session, current_actor().own_institution(), fit_check_id)
    if line > len(found.inputs.lines):
        raise NotFound("line of this fit check with the number", line)
    of_line = found.answer.lines[line - 1]
    return Reply(
        fit_drawing(found.inputs.lines[line - 1], of_line, found.inputs.content, system_name=found.inputs.system)
    )


def _reply(found: FitCheck) -> Reply:
    address = f"/v1/fit-checks/{found.id}"
    if negotiation.wanted() == negotiation.TEXT:
        return Reply(_table(found), location=address)
    shown = {name: getattr(found, name) for name in _SHOWN}
    return Reply(shown | {"handling": _handling(found)}, location=address)


def _handling(found: FitCheck) -> tuple[HandlingCaution, ...]:
    return handling_cautions(line.treatments_used for line in found.inputs.lines)


def _table(found: FitCheck) -> str:
    return fit_table(
        found.answer,
        consignment=found.inputs.consignment,
        sender=found.inputs.sender,
        system=found.inputs.system,
        revision=str(found.revision_number),
        checked_on=found.created_at.date(),
        lines=found.inputs.lines,
        handling=_handling(found),
    )
