"""What a housing plan costs, at the receiver's own rates."""

from dataclasses import replace
from decimal import Decimal

from service.core.consignment import Container
from service.core.fit.answer import Cost, CostItem, LineAnswer, Needed
from service.core.fit.cost import cost_of
from service.core.fit.findings import Verdict
from service.core.housing.plan import HousingPlan
from service.core.housing.wishes import Asked

_NM2_PER_MM2 = 10**12
_CENTS = 100


def needed_for(asked: Asked, plan: HousingPlan) -> Needed:
    """Drawers, trays, positions and work of a plan. A drawer takes one position."""
    trays = sum(tray.count for tray in asked.request.trays)
    sheet_mm2 = -(-plan.bottom_sheet_nm2 // _NM2_PER_MM2)
    return Needed(
        drawers=plan.drawer_count,
        drawers_at_least=plan.drawer_count,
        trays=trays if asked.new_trays else 0,
        trays_moved=0 if asked.new_trays else trays,
        specimens_moved=asked.specimens,
        bottom_sheet_mm2=sheet_mm2 if asked.new_trays else 0,
        cabinet_positions=plan.drawer_count,
    )


def cost_of_plan(asked: Asked, plan: HousingPlan) -> Cost:
    """Item by item, as a fit check has it; drawers at their own prices where types differ in price."""
    as_one_line = LineAnswer(1, Container.DRAWER, 1, Verdict.BY_THE_TRAY, findings=(), needed=needed_for(asked, plan))
    cost = cost_of((as_one_line,), asked.rates)
    return _at_own_prices(cost, plan) if asked.money else cost


def _at_own_prices(cost: Cost, plan: HousingPlan) -> Cost:
    usual, *others = cost.items
    drawers = tuple(
        CostItem(
            f"drawers {used.drawer}",
            Decimal(used.count),
            "drawer",
            Decimal(used.cost) / _CENTS / used.count,
            (Decimal(used.cost) / _CENTS).quantize(Decimal("0.01")),
        )
        for used in plan.used
    )
    known = sum((item.amount for item in drawers if item.amount is not None), Decimal(0))
    return replace(
        cost,
        items=(*drawers, *others),
        total=cost.total - (usual.amount or 0) + known,
        complete=all(item.amount is not None for item in others),
    )
