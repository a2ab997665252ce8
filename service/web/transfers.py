"""Transfers: loans, gifts, exchanges and empty trays, from the text that both sides sign to the closed file."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from marshmallow import ValidationError
from sqlalchemy.orm import Session

from service.actions import transfer_questions as questions
from service.actions import transfers as actions
from service.actions.transfers import NewFact, NewTransfer, View
from service.core.care.cautions import handling_cautions
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.reconciliation import tally
from service.formats.consignment_csv import BadCell
from service.formats.transfer_lines_csv import TRANSFER_LINES, read_lines, write_lines
from service.store import codec, ledger
from service.store import transfers as store
from service.store.paging import Age, Page
from service.web import transfer_answers as answers
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Choice, Date, Text
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.kit.problems import faults_in, invalid
from service.web.kit.schema import Parameters
from service.web.schemas.parts import Handling
from service.web.schemas.transfers import (
    FactSchema,
    LineStandingSchema,
    NewFactSchema,
    NewTransferSchema,
    OneLineSchema,
    TextSchema,
    TransferLineSchema,
    TransferSchema,
    TransferSummarySchema,
)
from service.web.sheets import as_fault, headings_of, rows_of
from service.web.transaction import transaction

transfers = Blueprint(
    "transfers",
    __name__,
    url_prefix="/v1/transfers",
    description="Loans, gifts, exchanges and empty trays. Both sides sign one text; after that only dated facts are "
    "added, and every state and count follows from them.",
)
ONE = "/<uuid:transfer_id>"
_LINES = paging.page_of(LineStandingSchema, handling=Handling(required=True))
REFUSALS = ("step-refused", "below-zero", "override-needed", "forbidden")


class TransfersQuery(paging.PageQuery):
    """Which transfers to list."""

    side = Choice(
        Side,
        load_default=Side.LENDER,
        metadata={"description": "lender: what you lend or give; borrower: what you get"},
    )


class LinesQuery(paging.PageQuery):
    """As of which day to say what is overdue."""

    as_of = Date(metadata={"description": "the day as of which to answer; left out: today"})


class OneLineQuery(Parameters):
    """As of which day to say whether it is overdue."""

    as_of = Date(metadata={"description": "the day as of which to answer; left out: today"})


class SheetQuery(Parameters):
    """Who writes the lines down, and when."""

    by = Text(
        max_length=200,
        required=True,
        metadata={"description": "the person who writes them", "example": "Marta Quillfeather"},
    )
    on = Date(metadata={"description": "the day on which they were written down; left out: today"})


def now() -> datetime:
    return datetime.now(UTC)


@transfers.operation("GET", "", scope="read", query=TransfersQuery, returns=paging.page_of(TransferSummarySchema))
def list_transfers(query: dict[str, Any]) -> Reply:
    """List your transfers, the newest first, each as it stands.

    Of both sides, or of the side that is asked for. Those of other institutions are never among them.
    """
    page, me = paging.page(query, paging.BY_AGE), current_actor().own_institution()
    with transaction() as session:
        found = store.page(session, me, query["side"], page.position(Age), page.size)
    return page.answer(Page(tuple(answers.summary(kept, me) for kept in found.items), found.next))


@transfers.operation(
    "POST", "", scope="write", body=NewTransferSchema, returns=TransferSchema, creates=True,
    errors=["not-found", "code-taken", "identifier-taken", *REFUSALS],
)  # fmt: skip
def create_transfer(body: NewTransfer) -> Reply:
    """Write a transfer down, as one of its two sides.

    It needs no lines yet; they may follow as a spreadsheet. Without terms it has those that the lender publishes.
    Nothing moves before both sides have signed the text: add the fact `signed` with the `agreement` that you read.
    """
    with transaction() as session:
        return _reply(actions.make(session, current_actor(), body, now()))


@transfers.operation("GET", ONE, scope="read", returns=TransferSchema, conditional=True)
def get_transfer(transfer_id: UUID) -> Reply:
    """Read a transfer: its text but for the lines, how it stands, and which steps are open to you.

    Its two sides read it, and nobody else. `agreement` is the digest of the text as it now reads: name it when you
    sign.
    """
    with transaction() as session:
        return _reply(actions.view(session, current_actor(), transfer_id))


@transfers.operation(
    "PUT", ONE, scope="write", body=TextSchema, returns=TransferSchema, conditional=True, errors=list(REFUSALS)
)
def change_transfer(transfer_id: UUID, body: actions.Text) -> Reply:
    """Write the text anew, before anything is packed. Both signatures fall, and have to be given again.

    Refused once something lies packed. Lines that are given replace all there were; without any, they stay as they
    are.
    """
    with transaction() as session:
        return _reply(actions.change_text(session, current_actor(), transfer_id, expected_version(), body, now()))


@transfers.operation(
    "GET", ONE + "/lines", scope="read", query=LinesQuery, returns=_LINES,
    media=[negotiation.CSV],
)  # fmt: skip
def list_transfer_lines(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """List the lines in their order, each with what became of it and when it is due.

    As CSV all lines at once, under the headings that an upload takes and a few more. A cell that a spreadsheet would
    take for a formula is written with an apostrophe before it.
    """
    page = paging.page(query, (int,))
    today = query.get("as_of") or now().date()
    with transaction() as session:
        kept = store.by_id(session, transfer_id)
        if negotiation.wanted() == negotiation.CSV:
            return Reply(_sheet(session, kept, today))
        rows, following = store.line_page(session, transfer_id, page.at(0) or 0, page.size)
        lines = tuple(codec.from_json(Line, row.content) for row in rows)
        shown = _with_standing(session, kept, lines, today)
    minded = handling_cautions(line.treatments_used for line in lines)
    return page.answer(Page(tuple(shown), following), handling=minded)


@transfers.operation("GET", ONE + "/lines/<code:line>", scope="read", query=OneLineQuery, returns=OneLineSchema)
def get_transfer_line(transfer_id: UUID, line: str, query: dict[str, Any]) -> Reply:
    """Read one lot, with what became of it and when it is due. This is where the QR code on its label leads.

    Both sides read it. Days are reckoned as of today, unless another day is asked for.
    """
    today = query.get("as_of") or now().date()
    with transaction() as session:
        kept = store.by_id(session, transfer_id)
        found = store.line(session, transfer_id, line)
        (shown,) = _with_standing(session, kept, (found,), today)
        return Reply(shown | {"handling": handling_cautions([found.treatments_used])})


@transfers.operation(
    "PUT", ONE + "/lines", scope="write", upload=negotiation.CSV, upload_holds=headings_of(TRANSFER_LINES),
    query=SheetQuery, returns=TransferSchema,
    conditional=True, errors=list(REFUSALS),
)  # fmt: skip
def upload_transfer_lines(transfer_id: UUID, query: dict[str, Any], upload: bytes) -> Reply:
    """Replace all lines by those of a spreadsheet (CSV), before anything is packed. Both signatures fall.

    UTF-8, parted by commas, semicolons or tabs; lists within a cell are parted by semicolons. A bad cell is named by
    row and heading, and nothing is stored unless all is good.
    """
    lines = _read(upload)
    with transaction() as session:
        written = actions.change_lines(
            session, current_actor(), transfer_id, expected_version(), lines, query["by"], query.get("on"), now()
        )
        return _reply(written)


@transfers.operation("GET", ONE + "/facts", scope="read", query=paging.PageQuery, returns=paging.page_of(FactSchema))
def list_facts(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """List what happened, in the order in which it was written down, each with its text and its hash.

    Each `body` contains the `digest` of the one before it; anybody can check the chain with any SHA-256 program.
    """
    page = paging.page(query, (int,))
    with transaction() as session:
        store.by_id(session, transfer_id)
        found = ledger.page(session, transfer_id, page.at(0) or 0, page.size)
    return page.answer(Page(tuple(map(answers.fact, found.items)), found.next))


@transfers.operation(
    "POST", ONE + "/facts", scope="write", body=NewFactSchema, returns=TransferSchema, creates=True, moves=True,
    errors=list(REFUSALS),
)  # fmt: skip
def add_fact(transfer_id: UUID, body: NewFact) -> Reply:
    """Add a fact: the next step, on its day, by the person who took it.

    `open_steps` of the transfer lists what can be added; a step that cannot be taken yet says which fact is missing.
    Facts are never changed. The answer is the transfer as it stands with the new fact.
    """
    with transaction() as session:
        seen = actions.add_fact(session, current_actor(), transfer_id, body, now())
        return replace(_reply(seen), location=f"/v1/transfers/{transfer_id}/facts")


def _reply(view: View) -> Reply:
    shown = answers.whole(view, current_actor().institution_id)
    return Reply(shown, version=view.kept.head.seq, location=f"/v1/transfers/{view.kept.id}")


def _with_standing(session: Session, kept: store.Kept, lines: Sequence[Line], today: date) -> list[dict[str, Any]]:
    """Lines with what became of them; worked out from the facts, and not from what the lists keep."""
    narrowed = replace(kept, transfer=replace(kept.transfer, lines=tuple(lines)))
    dues = questions.dues_of(session, narrowed)
    held = ledger.balances(session, kept.id, [line.key for line in lines]) if lines else {}
    shown = []
    for line in lines:
        due = dues.get(line.key)
        said = {name: getattr(line, name) for name in line.__dataclass_fields__}
        shown.append(
            said
            | {
                "tally": tally(held.get(line.key, {})),
                "due_on": due.on if due else None,
                "due_why": due.why if due else "It is given, not lent.",
                "overdue_by_days": due.overdue_by(today) if due else 0,
            }
        )
    return shown


_FURTHER = (
    "lent",
    "returned",
    "retained",
    "passed_on",
    "consumed",
    "lost",
    "outstanding",
    "due_on",
    "overdue_by_days",
)


def _sheet(session: Session, kept: store.Kept, today: date) -> str:
    lines = store.lines(session, kept.id)
    shown = _with_standing(session, kept, lines, today)
    values = [
        [*(getattr(row["tally"], name) for name in _FURTHER[:7]), row["due_on"], row["overdue_by_days"]]
        for row in shown
    ]
    return write_lines(lines, _FURTHER, values)


def _read(upload: bytes) -> tuple[Line, ...]:
    """The lines of a sheet, or every bad cell of it."""
    lines: list[Line] = []
    faults: list[BadCell] = []
    for row in rows_of(read_lines, upload):
        faults += row.faults
        try:
            lines.append(_SCHEMA.load(row.request))
        except ValidationError as error:
            unread = {fault.column for fault in row.faults}
            judged = faults_in(error.messages, "pointer")
            faults += [
                BadCell(row.number, at, each.detail) for each in judged if (at := _heading(each.at)) not in unread
            ]
    if faults:
        raise invalid(map(as_fault, faults))
    return tuple(lines)


_SCHEMA = TransferLineSchema()


def _heading(pointer: str) -> str | None:
    return pointer.split("/")[1] if "/" in pointer else None


offer_patch(transfers, "get_transfer", "change_transfer")
