"""Parcels and papers of a transfer: planned, printed as PDF, and held against the facts later."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import flask

from service.actions import papers as actions
from service.actions import parcel_plans as planning
from service.actions.papers import NewPaper
from service.core.errors import Invalid
from service.core.papers.check_code import as_printed
from service.core.parcels.asking import ParcelQuestion
from service.store import papers as store
from service.store import parcel_plans, transfers
from service.store.paging import Age, Page
from service.web import paper_answers as answers
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.problems import Refusal
from service.web.schemas.papers import NewPaperSchema, PaperSchema, VerifiedSchema
from service.web.schemas.parcels import ParcelPlanSchema, ParcelPlanSummarySchema, ParcelQuestionSchema
from service.web.transaction import transaction

papers = Blueprint(
    "papers",
    __name__,
    url_prefix="/v1",
    description="Plans of parcels, and papers as PDF: agreement, specimen list, acknowledgement, return note, the "
    "texts for parcel and customs, labels. Each carries a revision and a check code by which the service says later "
    "what of it still holds. None says that something may travel.",
)
PLANS = "/transfers/<uuid:transfer_id>/parcel-plans"
PAPERS = "/transfers/<uuid:transfer_id>/papers"


@papers.operation("GET", PLANS, scope="read", query=paging.PageQuery, returns=paging.page_of(ParcelPlanSummarySchema))
def list_parcel_plans(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """List the plans of a transfer's parcels, the newest first.

    Both sides read them. A plan is never changed; when the lines have changed, make another.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        transfers.by_id(session, transfer_id)
        found = parcel_plans.page(session, transfer_id, page.position(Age), page.size)
    return page.answer(Page(tuple(map(answers.plan, found.items)), found.next))


@papers.operation(
    "POST", PLANS, scope="write", body=ParcelQuestionSchema, returns=ParcelPlanSchema, creates=True,
    errors=["not-found", "too-many-things"],
)  # fmt: skip
def create_parcel_plan(transfer_id: UUID, body: ParcelQuestion) -> Reply:
    """Plan the parcels of a transfer, from your own packing bench.

    Trays go into lidded inner boxes under a card, inner boxes, drawers and storage boxes into cartons, with at least
    the published padding on every side; slides, vials and pins apart. Where no box of the stock will do, the
    smallest to make is named. Lines say what they travel in; `pieces` say what they do not. What nobody stated is
    left out of the plan or named as unknown, and nothing here says that a parcel may travel.
    """
    with transaction() as session:
        kept = planning.make(session, current_actor(), transfer_id, body)
        address = f"/v1/transfers/{transfer_id}/parcel-plans/{kept.id}"
        return Reply(answers.plan(kept, planning.handling(session, kept)), location=address)


@papers.operation("GET", PLANS + "/<uuid:parcel_plan_id>", scope="read", returns=ParcelPlanSchema)
def get_parcel_plan(transfer_id: UUID, parcel_plan_id: UUID) -> Reply:
    """Read a plan of parcels, with every thing in its place. It never changes; `revision` says what it knew.

    Both sides read it. `left_out` and `notices` say what is not packed and what to know before posting.
    """
    with transaction() as session:
        kept = parcel_plans.by_id(session, transfer_id, parcel_plan_id)
        return Reply(answers.plan(kept, planning.handling(session, kept)))


@papers.operation("GET", PAPERS, scope="read", query=paging.PageQuery, returns=paging.page_of(PaperSchema))
def list_papers(transfer_id: UUID, query: dict[str, Any]) -> Reply:
    """List the papers that were printed for a transfer, the newest first.

    Those of either side, without their pages: read one as PDF for these.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        transfers.by_id(session, transfer_id)
        found = store.page(session, transfer_id, page.position(Age), page.size)
    return page.answer(Page(tuple(map(answers.paper, found.items)), found.next))


@papers.operation(
    "POST", PAPERS, scope="write", body=NewPaperSchema, returns=PaperSchema, creates=True,
    errors=["not-found", "paper-too-early", "paper-not-wanted", "paper-too-long"],
)  # fmt: skip
def create_paper(transfer_id: UUID, body: NewPaper) -> Reply:
    """Print a paper from the transfer as it stands. Read what was made as `application/pdf` for the paper itself.

    What stands on it is kept, with the number of the transfer's last fact and a check code; both stand on each page.
    """
    with transaction() as session:
        now = datetime.now(UTC)
        return _reply(actions.print_paper(session, current_actor(), transfer_id, body, _address(), now))


@papers.operation(
    "GET", PAPERS + "/<uuid:paper_id>", scope="read", returns=PaperSchema, media=[negotiation.PDF], conditional=True
)
def get_paper(transfer_id: UUID, paper_id: UUID) -> Reply:
    """Read a printed paper: what is known of it as JSON, or the paper as PDF, the same bytes every time.

    What it says is that of the day on which it was printed; ask by its check code whether it still holds.
    """
    with transaction() as session:
        paper = store.by_id(session, transfer_id, paper_id)
        if negotiation.wanted() == negotiation.PDF:
            return Reply(actions.as_pdf(session, paper), version=1)
        return _reply(paper)


@papers.operation("GET", "/papers/<code:check_code>", scope="read", returns=VerifiedSchema)
def verify_paper(check_code: str) -> Reply:
    """Say whether a printed paper still holds, by the check code at its foot.

    It is held against the facts of today: as printed, or changed since, and each place with what was printed and what
    it would say now. Both sides of the transfer may ask; for everybody else there is no such paper. A code with a
    slip of the pen in it is told from one that was never printed.
    """
    try:
        code = as_printed(check_code)
    except Invalid as error:
        raise Refusal("not-found", error.message) from error
    with transaction() as session:
        return Reply(answers.verdict(actions.verify(session, code)))


def _address() -> str:
    """Where this service is found, as the papers say it."""
    return str(flask.current_app.config.get("ADDRESS") or flask.request.url_root).rstrip("/")


def _reply(paper: store.KeptPaper) -> Reply:
    address = f"/v1/transfers/{paper.transfer_id}/papers/{paper.id}"
    return Reply(answers.paper(paper), version=1, location=address)
