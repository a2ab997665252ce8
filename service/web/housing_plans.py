"""Housing plans: the fewest drawers for some trays, proved as far as may be, and where every tray goes."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from service.actions import housing_plans as actions
from service.core.errors import NotFound
from service.core.housing.wishes import PlanQuestion
from service.paper.cabinet_drawing import cabinet_drawings
from service.paper.contact_sheet import contact_sheets
from service.paper.drawer_drawing import drawer_drawing
from service.store import housing_plans as store
from service.store.housing_plans import KeptPlan
from service.store.paging import Age
from service.web import plan_answers
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.operation_answers import accepted
from service.web.schemas.housing import (
    CertificateSchema,
    DrawersOfPlanSchema,
    FilledDrawerSchema,
    PlanInputsSchema,
    PlanSchema,
    PlanSummarySchema,
)
from service.web.schemas.housing_asked import PlanQuestionSchema
from service.web.schemas.operations import OperationSchema
from service.web.transaction import transaction

housing_plans = Blueprint(
    "housing-plans",
    __name__,
    url_prefix="/v1/housing-plans",
    description="The fewest drawers that hold some trays, beside what no plan goes below, and where every tray goes.",
)
ONE = "/<uuid:plan_id>"
DRAWER = ONE + "/drawers/<number:number>"


class PlansQuery(paging.PageQuery):
    """Which plans to list."""

    consignment_id = Uuid(metadata={"description": "only those of this consignment"})


@housing_plans.operation("GET", "", scope="read", query=PlansQuery, returns=paging.page_of(PlanSummarySchema))
def list_housing_plans(query: dict[str, Any]) -> Reply:
    """List your housing plans.

    The newest first, without their layouts.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        asker = current_actor().own_institution()
        return page.answer(store.page(session, asker, page.position(Age), page.size, query.get("consignment_id")))


@housing_plans.operation(
    "POST", "", scope="write", body=PlanQuestionSchema, returns=PlanSchema, media=[negotiation.TEXT], creates=True,
    later=OperationSchema,
    errors=[
        "not-found", "no-lines", "nothing-published", "nothing-by-the-tray", "cannot-be-housed", "too-many-requests",
    ],
)  # fmt: skip
def create_housing_plan(body: PlanQuestion) -> Reply:
    """Ask for the fewest drawers that hold some trays.

    A small case is answered within the request (201). A larger one goes on after it (202): Location leads to an
    operation that tells how far it is, with the best plan and the bound so far, and in the end to the plan. The
    growth reserve is kept in every drawer, and every placement is looked at by a second routine before it is shown.
    """
    with transaction() as session:
        prepared = actions.prepare(session, body)
    plan = actions.at_once(prepared)
    with transaction() as session:
        if plan is None:
            return accepted(actions.hand_over(session, current_actor(), prepared))
        asker = current_actor().own_institution()
        made = actions.keep(session, asker, prepared, plan)
        return _reply(store.by_id(session, asker, made.id))


@housing_plans.operation("GET", ONE, scope="read", returns=PlanSchema, media=[negotiation.TEXT])
def get_housing_plan(plan_id: UUID) -> Reply:
    """Read a housing plan, as JSON or as a plain table.

    How many drawers of which type, what lies in them, what it costs, and how far it is from the fewest at most. It
    never changes.
    """
    return _reply(_kept(plan_id))


@housing_plans.operation("GET", ONE + "/inputs", scope="read", returns=PlanInputsSchema)
def get_housing_plan_inputs(plan_id: UUID) -> Reply:
    """Read what a housing plan was made from.

    All trays and all types of drawer with their sizes: the same again gives the same plan.
    """
    return Reply(plan_answers.inputs(_kept(plan_id)))


@housing_plans.operation("GET", ONE + "/certificate", scope="read", returns=CertificateSchema)
def get_housing_plan_certificate(plan_id: UUID) -> Reply:
    """Read the certificate of the lower bound.

    Whole numbers to be added up by anybody: give each length along a drawer's width a number such that lengths side
    by side, each as often as there are trays with it at most, never have more than `width_capacity` together, and
    each length along its depth likewise; then the products of the trays in one drawer never have more than both
    capacities multiplied, however the trays lie. Where the plan's bound is higher, `whole_trays` shows the rest:
    no load of whole trays that the scales allow, and that holds no set of trays found never to lie in one drawer,
    weighs more than `heaviest`.
    """
    return Reply(plan_answers.certificate(_kept(plan_id)))


@housing_plans.operation("GET", ONE + "/drawers", scope="read", returns=DrawersOfPlanSchema)
def list_housing_plan_drawers(plan_id: UUID) -> Reply:
    """List the drawers of a housing plan, each with its layout, its cabinet and its position.

    In the order in which they fill the cabinets. The cabinet is left out where none is published for the drawer.
    """
    return Reply(_drawers(_kept(plan_id)))


@housing_plans.operation("GET", DRAWER, scope="read", returns=FilledDrawerSchema)
def get_housing_plan_drawer(plan_id: UUID, number: int) -> Reply:
    """Read one drawer of a housing plan, with every tray in its place.

    Corners and sizes are those of the trays themselves, from the front left corner inside; the strip that is kept
    free for growth stands apart.
    """
    kept = _kept(plan_id)
    plan_answers.layout_of(kept, number)
    return Reply(plan_answers.filled(kept, number))


@housing_plans.operation("GET", DRAWER + "/drawing", scope="read", media=[negotiation.SVG])
def get_housing_plan_drawer_drawing(plan_id: UUID, number: int) -> Reply:
    """Draw one drawer of a housing plan to scale, to pin to the cabinet.

    Seen from above with its front below: each tray with its label, and the growth reserve.
    """
    kept = _kept(plan_id)
    layout = plan_answers.layout_of(kept, number)
    return Reply(drawer_drawing(kept.asked.request, kept.plan, layout.number, title=_title(kept)))


@housing_plans.operation("GET", ONE + "/contact-sheets/<number:number>", scope="read", media=[negotiation.SVG])
def get_housing_plan_contact_sheet(plan_id: UUID, number: int) -> Reply:
    """Draw all drawers of a housing plan to one scale, sheet by sheet, from 1 until there is none.

    Drawers that are alike are drawn once, with their numbers; the last sheets list every size of tray and where it
    went. A sheet after the last is not found.
    """
    kept = _kept(plan_id)
    return Reply(_sheet(contact_sheets(kept.asked.request, kept.plan, title=_title(kept)), number))


@housing_plans.operation("GET", ONE + "/cabinet-sheets/<number:number>", scope="read", media=[negotiation.SVG])
def get_housing_plan_cabinet_sheet(plan_id: UUID, number: int) -> Reply:
    """Draw the faces of the cabinets that a housing plan fills, sheet by sheet, from 1 until there is none.

    Each drawer stands in its position. There is no sheet where no cabinets are published for the drawers.
    """
    kept = _kept(plan_id)
    cabinets = plan_answers.cabinets(kept)
    sheets = cabinet_drawings(kept.plan, cabinets, title=_title(kept)) if cabinets else ()
    return Reply(_sheet(sheets, number))


def _drawers(kept: KeptPlan) -> dict[str, Any]:
    return {"drawers": plan_answers.drawers(kept), "handling": plan_answers.handling(kept)}


def _kept(plan_id: UUID) -> KeptPlan:
    with transaction() as session:
        return store.by_id(session, current_actor().own_institution(), plan_id)


def _title(kept: KeptPlan) -> str:
    return kept.asked.consignment or kept.asked.system


def _sheet(sheets: Sequence[str], number: int) -> str:
    if number > len(sheets):
        raise NotFound("sheet of this housing plan with the number", number)
    return sheets[number - 1]


def _reply(kept: KeptPlan) -> Reply:
    address = f"/v1/housing-plans/{kept.id}"
    if negotiation.wanted() == negotiation.TEXT:
        return Reply(plan_answers.table(kept), location=address)
    return Reply(plan_answers.as_answer(kept), location=address)
