"""What stands beside a transfer: its permits, its notices, whether its trays fit, and the exchange it belongs to."""

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from service.actions import transfer_questions as questions
from service.core.transfers.exchange import Balance
from service.core.transfers.permits import Permit
from service.store import permits as store
from service.store import transfers
from service.web import transfer_answers as answers
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Code, Date, Int, List, Nested, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.kit.schema import Parameters, Strict
from service.web.schemas.consignment import MOST_LINES, LineSchema
from service.web.schemas.fit import FitAnswerSchema
from service.web.schemas.parts import Handling
from service.web.schemas.transfers import ExchangeSchema, KeptPermitSchema, NoticeSchema, PermitSchema
from service.web.transaction import transaction

transfer_papers = Blueprint(
    "transfer-papers",
    __name__,
    url_prefix="/v1",
    description="Beside a transfer: permits, warnings, whether its trays fit, and the balance of an exchange. The "
    "service records and warns; whether something may cross a border is for the authorities of both countries.",
)
ONE = "/transfers/<uuid:transfer_id>"


class NoticesSchema(Strict):
    """What to look at before the next step. An empty list says that no rule found anything, and nothing more."""

    notices = List(
        Nested(NoticeSchema),
        max_items=20_000,
        required=True,
        metadata={"description": "none: nothing was found, which is no permission"},
    )


class NoticesQuery(Parameters):
    """On which day it would be posted."""

    as_of = Date(metadata={"description": "the day as of which to answer; left out: today"})


class PermitsSchema(Strict):
    """The permits of a transfer, the oldest first."""

    items = List(Nested(KeptPermitSchema), max_items=1_000, required=True)


class FitQuery(Parameters):
    """Which systems to hold the trays against; left out, the one that each side has published."""

    borrower_system_id = Uuid(
        metadata={
            "description": "the system that the trays go into; left out: the one that the borrower has published"
        }
    )
    lender_system_id = Uuid(
        metadata={"description": "the system that they come home to; left out: the one that the lender has published"}
    )


class OneWaySchema(Strict):
    """The trays held against one published system."""

    storage_system_id = Uuid(required=True, metadata={"description": "the storage system that they would go into"})
    revision_number = Int(min=1, required=True)
    answer = Nested(FitAnswerSchema, required=True, metadata={"description": "the verdict with its figures"})


class TraysFitSchema(Strict):
    """Whether the trays fit the borrower's system, and whether they can come home.

    `containers` is what the lines travel in, like together; the lines of both answers are about them in turn.
    """

    containers = List(
        Nested(LineSchema),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "the trays, drawers and boxes of the transfer, as lines of an offer"},
    )
    out = Nested(OneWaySchema, required=True, metadata={"description": "whether they fit at the receiver"})
    home = Nested(OneWaySchema, required=True, metadata={"description": "whether they fit when they come back"})
    lines_without_storage = List(
        Code(),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "not covered: nobody said what they travel in"},
    )
    handling = Handling(required=True)


@transfer_papers.operation("GET", ONE + "/notices", scope="read", query=NoticesQuery, returns=NoticesSchema)
def get_notices(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """Read what to look at before the next step.

    Unknown permits across a border, listed taxa, letters that a country wants, permits that end before the return,
    the lender's shares and days without post, third parties. Warnings and gaps, never a judgement.
    """
    with transaction() as session:
        today = query.get("as_of") or datetime.now(UTC).date()
        return Reply({"notices": questions.notices(session, current_actor(), transfer_id, today)})


@transfer_papers.operation("GET", ONE + "/permits", scope="read", returns=PermitsSchema)
def list_permits(transfer_id: UUID) -> Reply:
    """List the permits and letters of a transfer.

    Those that either side wrote down. That none is listed says nothing of whether one is needed.
    """
    with transaction() as session:
        transfers.by_id(session, transfer_id)
        return Reply({"items": [answers.permit(one) for one in store.of_transfer(session, transfer_id)]})


@transfer_papers.operation(
    "POST", ONE + "/permits", scope="write", body=PermitSchema, returns=KeptPermitSchema, creates=True
)
def create_permit(transfer_id: UUID, body: Permit) -> Reply:
    """Write down a permit or letter. Both sides read it.

    It is recorded as it was told, and warned about where it ends too early or leaves something open; nobody here
    judges whether it is enough.
    """
    with transaction() as session:
        kept = transfers.by_id(session, transfer_id)
        return _reply(store.make(session, kept, current_actor().own_institution(), body))


@transfer_papers.operation(
    "GET", ONE + "/permits/<uuid:permit_id>", scope="read", returns=KeptPermitSchema, conditional=True
)
def get_permit(transfer_id: UUID, permit_id: UUID) -> Reply:
    """Read one permit or letter of a transfer.

    Both sides read it; the side that wrote it down may change it.
    """
    with transaction() as session:
        return _reply(store.by_id(session, transfer_id, permit_id))


@transfer_papers.operation(
    "PUT", ONE + "/permits/<uuid:permit_id>", scope="write", body=PermitSchema, returns=KeptPermitSchema,
    conditional=True, errors=["forbidden"],
)  # fmt: skip
def change_permit(transfer_id: UUID, permit_id: UUID, body: Permit) -> Reply:
    """Write a permit anew, as the side that recorded it.

    The permits that the other side wrote down are its own to change.
    """
    with transaction() as session:
        transfers.by_id(session, transfer_id)
        return _reply(store.change(session, transfer_id, permit_id, expected_version(), body))


@transfer_papers.operation(
    "GET",
    ONE + "/fit",
    scope="read",
    query=FitQuery,
    returns=TraysFitSchema,
    errors=["no-lines", "nothing-published"],
)
def get_transfer_fit(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """Ask whether the trays of a transfer fit the borrower's published system, and the lender's own coming home.

    Sizes are those of the lender's tray series, by the `tray` that each line names; a tray that nobody named is
    unknown. Worth asking before signing.
    """
    with transaction() as session:
        fit = questions.trays_fit(
            session, transfer_id, query.get("borrower_system_id"), query.get("lender_system_id")
        )
        return Reply(fit)


@transfer_papers.operation("GET", "/exchanges/<uuid:exchange_id>", scope="read", returns=ExchangeSchema)
def get_exchange(exchange_id: UUID) -> Reply:
    """Read an exchange: its ways, and what one side still owes the other.

    Both sides read it. The balance counts what each side has taken over from the other, of each kind of thing that is
    counted.
    """
    me = current_actor().institution_id
    with transaction() as session:
        found = questions.exchange(session, exchange_id)
    first = found.ways[0].transfer
    names = {first.lender.key: first.lender.name, first.borrower.key: first.borrower.name}
    return Reply(
        {
            "id": exchange_id,
            "first": first.lender.name,
            "second": first.borrower.name,
            "ways": [answers.summary(way, me) for way in found.ways],
            "balance": [_balance(one, names) for one in found.balance],
        }
    )


def _balance(one: Balance, names: dict[str, str]) -> dict[str, Any]:
    return asdict(one) | {"owing": names[one.owing] if one.owing else None, "owed": one.owed}


def _reply(kept: store.KeptPermit) -> Reply:
    address = f"/v1/transfers/{kept.transfer_id}/permits/{kept.id}"
    return Reply(answers.permit(kept), version=kept.version, location=address)


offer_patch(transfer_papers, "get_permit", "change_permit")
