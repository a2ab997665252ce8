"""Arrangement plans: the fewest hands to change what stands where, and carrying that out step by step."""

from typing import Any
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import arrangement_plans as actions
from service.actions import carrying_out, handling, housed_trays
from service.core.arrangement.questions import Asked
from service.core.care.cautions import HandlingCaution
from service.store import arrangement_plans as store
from service.store.arrangement_plans import KeptArrangement
from service.store.inventory import standing
from service.store.paging import Age, Page
from service.web import arrangement_answers as answers
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import check_version
from service.web.kit.fields import Flag
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.schema import Parameters
from service.web.operation_answers import accepted
from service.web.schemas.arrangement import (
    AlternativeChoiceSchema,
    ArrangementQuestionSchema,
    ArrangementSchema,
    ArrangementSummarySchema,
    CarriedThroughSchema,
    DrawersOfArrangementSchema,
    WalkingListSchema,
)
from service.web.schemas.operations import OperationSchema
from service.web.transaction import transaction

arrangement_plans = Blueprint(
    "arrangement-plans",
    __name__,
    url_prefix="/v1/arrangement-plans",
    description="The fewest trays moved for what is to be done, proved as far as may be; a walking list, and how far "
    "it has been carried out.",
)
ONE = "/<uuid:arrangement_id>"
PLANNING = (
    "not-found", "rules-missing", "no-sequence", "cannot-be-arranged", "cannot-be-walked", "too-many-requests",
)  # fmt: skip


class PlanningQuery(Parameters):
    """When to plan."""

    later = Flag(
        load_default=False,
        metadata={"description": "true: after the request, however small the collection is", "example": False},
    )


@arrangement_plans.operation(
    "GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(ArrangementSummarySchema)
)
def list_arrangement_plans(query: dict[str, Any]) -> Reply:
    """List your arrangement plans, the newest first, each with how far it has been carried out.

    Plans are kept for good, those that were replaced as well.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        found = store.page(session, current_actor().own_institution(), page.position(Age), page.size)
    return page.answer(Page(tuple(map(answers.summary, found.items)), found.next))


@arrangement_plans.operation(
    "POST", "", scope="write", query=PlanningQuery, body=ArrangementQuestionSchema,
    returns=ArrangementSchema, creates=True, later=OperationSchema, errors=list(PLANNING),
)  # fmt: skip
def create_arrangement_plan(query: dict[str, bool], body: dict[str, Any]) -> Reply:
    """Ask for the fewest hands that do something: take trays in, insert, merge, split or re-order taxa, and so on.

    The systematic order and the growth reserve of every drawer are kept, gaps are used before anything shifts, and
    alternatives run from the fewest trays moved to the fewest drawers put to use. Nothing is carried by asking. A
    large collection is planned after the request (202).
    """
    with transaction() as session:
        asked = _asked(session, body)
        gathered = actions.gather(session, current_actor().own_institution(), asked)
        if query["later"] or not gathered.is_quick:
            return accepted(actions.hand_over(session, current_actor(), asked))
    return _made(gathered)


@arrangement_plans.operation("GET", ONE, scope="read", returns=ArrangementSchema, conditional=True)
def get_arrangement_plan(arrangement_id: UUID) -> Reply:
    """Read a plan: its alternatives, how far it has been carried out, and whether the world has overtaken it.

    `overtaken` is there when something stands elsewhere than the plan takes for granted; it cannot be carried on
    then, but asked again.
    """
    with transaction() as session:
        return _reply(session, store.by_id(session, current_actor().own_institution(), arrangement_id))


@arrangement_plans.operation(
    "PUT", ONE + "/choice", scope="write", body=AlternativeChoiceSchema, returns=ArrangementSchema, conditional=True,
    errors=["plan-is-over", "plan-has-begun"],
)  # fmt: skip
def choose_alternative(arrangement_id: UUID, body: dict[str, int]) -> Reply:
    """Choose another of the plan's alternatives, before the first step.

    The walking list becomes that of this alternative. Refused once a step was carried out, and for a plan that is
    over.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        check_version("arrangement plan", store.locked(session, asker, arrangement_id).version)
        actions.choose(session, current_actor(), arrangement_id, body["alternative"])
        return _reply(session, store.by_id(session, asker, arrangement_id))


@arrangement_plans.operation(
    "GET", ONE + "/walking-list", scope="read", returns=WalkingListSchema, media=[negotiation.CSV, negotiation.HTML]
)
def get_walking_list(arrangement_id: UUID) -> Reply:
    """Read the walking list: which tray to carry from where to where, in an order that always finds room.

    Trips group what goes one way. As CSV it is a sheet to take along, with a column to tick; as HTML a page to print,
    with boxes to tick and what to mind.
    """
    with transaction() as session:
        kept = store.by_id(session, current_actor().own_institution(), arrangement_id)
        done = store.steps_done(session, kept)
        minded = _handling(session, kept)
    if negotiation.wanted() == negotiation.HTML:
        return Reply(answers.page(kept, minded))
    steps = answers.steps(kept, done)
    if negotiation.wanted() == negotiation.CSV:
        return Reply(answers.sheet(steps))
    return Reply({"steps": steps, "handling": minded})


@arrangement_plans.operation(
    "PUT", ONE + "/progress", scope="write", body=CarriedThroughSchema, returns=ArrangementSchema,
    errors=["plan-is-over", "plan-overtaken", "place-taken", "outside-drawer", "code-taken", "in-quarantine"],
)  # fmt: skip
def carry_out_steps(arrangement_id: UUID, body: dict[str, Any]) -> Reply:
    """Say how far the walking list has been walked: all steps up to this one are done.

    The inventory changes with it, in one transaction. Sent again it does nothing more. When something stands
    elsewhere than the plan takes for granted, nothing is carried and the answer says what; renew the plan then. After
    the last step taxa bear their new names, and a new sequence holds.
    """
    actor = current_actor()
    with transaction() as session:
        carrying_out.carry_out(session, actor, arrangement_id, body["done_through"], body["by"])
        shown = _reply(session, store.by_id(session, actor.own_institution(), arrangement_id))
    return Reply(shown.body)


@arrangement_plans.operation(
    "POST", ONE + "/renewal", scope="write", query=PlanningQuery, returns=ArrangementSchema, creates=True,
    later=OperationSchema,
    errors=[*PLANNING, "plan-is-over"],
)  # fmt: skip
def renew_arrangement_plan(arrangement_id: UUID, query: dict[str, bool]) -> Reply:
    """Ask the same again from where all stands now. What has been carried out stays; the earlier plan is over.

    The answer is a new plan (201), or where the collection is large an operation that leads to it (202). Refused for
    a plan that was carried out or replaced.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        kept = actions.open_one(session, asker, arrangement_id)
        gathered = actions.gather(session, asker, kept.asked, kept.id)
        if query["later"] or not gathered.is_quick:
            return accepted(actions.hand_over(session, current_actor(), kept.asked, kept.id))
    return _made(gathered)


@arrangement_plans.operation("GET", ONE + "/drawers", scope="read", returns=DrawersOfArrangementSchema)
def list_arrangement_drawers(arrangement_id: UUID) -> Reply:
    """List the drawers that the chosen alternative changes, each with its trays before and after.

    In reading order, and by the numbers that their drawings have.
    """
    with transaction() as session:
        kept = store.by_id(session, current_actor().own_institution(), arrangement_id)
    return Reply({"drawers": answers.drawers(kept)})


@arrangement_plans.operation("GET", ONE + "/drawers/<number:number>/drawing", scope="read", media=[negotiation.SVG])
def get_arrangement_drawer_drawing(arrangement_id: UUID, number: int) -> Reply:
    """Draw a drawer before and after, to scale: what comes, what goes, what stays, and the growth reserve.

    Its number is that of the list of drawers that change; beyond the last there is nothing.
    """
    with transaction() as session:
        kept = store.by_id(session, current_actor().own_institution(), arrangement_id)
    return Reply(answers.drawer_drawing(kept, number))


@arrangement_plans.operation("GET", ONE + "/cabinets/<code:cabinet>/drawing", scope="read", media=[negotiation.SVG])
def get_arrangement_cabinet_drawing(arrangement_id: UUID, cabinet: str) -> Reply:
    """Draw the face of a cabinet as it will be once the plan is carried out, each drawer with its fill and reserve.

    Drawers that the plan does not touch are drawn as they stand now.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        kept = store.by_id(session, asker, arrangement_id)
        inventory = standing.whole(session, asker)
    return Reply(answers.cabinet_drawing(kept, inventory, cabinet))


def _asked(session: Session, body: dict[str, Any]) -> Asked:
    if "asked" in body:
        asked: Asked = body["asked"]
        return asked
    taken_in = housed_trays.take_in(session, current_actor().own_institution(), body["take_in"])
    return Asked(taken_in, body["wishes"])


def _made(gathered: actions.Gathered) -> Reply:
    plan = actions.made_now(gathered)
    asker = current_actor().own_institution()
    with transaction() as session:
        made = actions.keep(session, asker, gathered, plan)
        return _reply(session, store.by_id(session, asker, made))


def _handling(session: Session, kept: KeptArrangement) -> tuple[HandlingCaution, ...]:
    return handling.of_arrangement(session, current_actor().own_institution(), kept)


def _reply(session: Session, kept: KeptArrangement) -> Reply:
    overtaken = carrying_out.why_overtaken(session, kept)
    outside = carrying_out.new_drawers_outside(session, kept)
    shown = answers.whole(kept, overtaken, outside) | {"handling": _handling(session, kept)}
    return Reply(shown, version=kept.version, location=f"/v1/arrangement-plans/{kept.id}")
