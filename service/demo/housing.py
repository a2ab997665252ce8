"""The housing plan of the scenario: where the trays of the donation go."""

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import housing_plans as actions
from service.core.housing.wishes import Contents, PlanQuestion, Wishes
from service.paper.plan_words import proof_words
from service.store import housing_plans
from service.store.fit_checks import FitCheck
from service.store.housing_plans import KeptPlan, PlanHead
from service.store.session import open_session

_PAGE = 200


def load(engine: Engine, check: FitCheck) -> KeptPlan:
    """The plan for what the fit check says goes by the tray, made on the first call and found again on later ones."""
    owner = check.institution_id
    with open_session(engine, owner) as session:
        if (first := _first_plan(session, check)) is not None:
            return housing_plans.by_id(session, owner, first.id)
        question = PlanQuestion(
            Contents(), Wishes(), check.consignment_id, check.storage_system_id, check.revision_number
        )
        prepared = actions.prepare(session, question)
        made = actions.keep(session, owner, prepared, actions.made_now(prepared))
        session.commit()
        return housing_plans.by_id(session, owner, made.id)


def _first_plan(session: Session, check: FitCheck) -> PlanHead | None:
    """The demo's own: it was made before any visitor came, and no plan is ever removed."""
    oldest, after = None, None
    while True:
        page = housing_plans.page(session, check.institution_id, after, _PAGE, check.consignment_id)
        oldest = page.items[-1] if page.items else oldest
        if (after := page.next) is None:
            return oldest


def in_words(kept: KeptPlan) -> str:
    """What the plan saves over the fit check, in a line or two."""
    trays = f"{kept.tray_count:,} trays that move over"
    at_most = kept.asked.at_most_by_check
    by_check = "" if at_most is None else f"{at_most} drawers at most by the fit check, "
    return f"Housing plan\n  {trays}: {by_check}{kept.drawer_count} by the plan, {proof_words(kept.plan)}."
