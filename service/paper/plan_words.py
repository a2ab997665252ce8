"""How a housing plan's proof is said in words."""

from service.core.housing.plan import HousingPlan, LayoutClass


def proof_words(plan: HousingPlan) -> str:
    """How far the plan may be from the best: ``proved: no layout needs fewer than 14 drawers``."""
    above = plan.drawers_above
    if plan.is_proved:
        return f"proved: no layout {_least(plan)}"
    gap = f"at most {_drawers(above)} above the fewest" if above is not None else _cost_gap(plan)
    if plan.proved_for is LayoutClass.COLUMNS:
        return f"{gap}; proved among layouts in columns, of which none {_least(plan)}"
    return gap


def _least(plan: HousingPlan) -> str:
    if plan.unit_cost is None:
        return f"costs less than {plan.cost:,}"
    return f"needs fewer than {_drawers(plan.drawer_count)}"


def _cost_gap(plan: HousingPlan) -> str:
    return f"costs {plan.cost:,}, at most {plan.cost - plan.at_least:,} above the least"


def _drawers(count: int) -> str:
    return f"{count:,} drawer" if count == 1 else f"{count:,} drawers"
