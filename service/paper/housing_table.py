"""A housing plan as plain text: to read in a terminal, to print, to put in a letter."""

from datetime import date

from service.core.fit.answer import Cost
from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.cabinet_positions import CabinetPlan
from service.paper.plan_words import proof_words


def housing_table(
    request: HousingRequest,
    plan: HousingPlan,
    *,
    consignment: str = "",
    system: str = "",
    revision: str = "",
    planned_on: date | None = None,
    cabinets: CabinetPlan | None = None,
    cost: Cost | None = None,
) -> str:
    """The whole plan as plain text, no line longer than 110 characters: the answer first, its parts after it."""
    return f"{plan.drawer_count} drawers, {proof_words(plan)}\n"
