"""The drawing of one drawer of a housing plan, to scale, to pin to the cabinet."""

from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.numbered_drawers import layout_numbered
from service.paper.plan_words import proof_words
from service.paper.svg import blank_sheet, finish


def drawer_drawing(request: HousingRequest, plan: HousingPlan, layout: int, *, title: str = "") -> str:
    """The layout with this number, from 1, as an SVG sheet; its viewBox counts millimetres of the drawer.

    :raises LookupError: when the plan has no such layout.
    """
    shown = layout_numbered(plan, layout)
    root = blank_sheet(f"layout-{layout}", f"{title} {shown.drawers_words}", proof_words(plan))
    return finish(root, 100, 100)
