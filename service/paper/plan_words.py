"""How a housing plan's proof is said in words."""

from service.core.housing.plan import HousingPlan, LayoutClass


def proof_words(plan: HousingPlan) -> str:
    """How far the plan may be from the best: ``proved: no layout needs fewer than 14 drawers``."""
    above = plan.drawers_above
    if plan.is_proved:
        return f"proved: no layout {_least(plan)}"
    gap = f"at most {drawers_words(above)} above the fewest" if above is not None else _cost_gap(plan)
    if plan.parts_groups:
        return f"{gap}, which is worked out as if trays that stay together could part"
    if plan.proved_for is LayoutClass.COLUMNS:
        return f"{gap}; proved among layouts in columns, of which none {_least(plan)}"
    return gap


def plan_in_words(plan: HousingPlan) -> str:
    """How many drawers, and how far that is from the best."""
    at_cost = f" at a cost of {plan.cost:,}" if plan.unit_cost is None else ""
    return f"{drawers_words(plan.drawer_count)}{at_cost}; {proof_words(plan)}"


def _least(plan: HousingPlan) -> str:
    return f"costs less than {plan.cost:,}" if plan.unit_cost is None else f"needs fewer than {plan.drawer_count:,}"


def _cost_gap(plan: HousingPlan) -> str:
    return f"at most {plan.cost - plan.at_least:,} above the least cost"


def drawers_words(count: int) -> str:
    """``1 drawer``, ``14 drawers``."""
    return f"{count:,} drawer" if count == 1 else f"{count:,} drawers"


def share_words(share: float) -> str:
    """A part of the whole in whole hundredths, rounded down so that a drawer with room left is never called full."""
    return f"{int(share * 100 + 1e-9)} %"


def trays_words(count: int) -> str:
    """``1 tray``, ``14 trays``."""
    return f"{count:,} tray" if count == 1 else f"{count:,} trays"
