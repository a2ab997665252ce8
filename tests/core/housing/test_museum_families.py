"""Thousands of made-up trays as museums have them: what is proved, and how far the rest may be from the fewest."""

import pytest
from certificate_checker import at_least
from housing_cases import family

from service.core.housing.effort import QUICK
from service.core.housing.placement_check import faults
from service.core.housing.plan import HousingPlan, HousingRequest
from service.core.housing.planning import plan_housing

SIZES_AND_TRAYS = [(5, 2_000), (8, 10_000)]
SEEDS = [1, 2, 3]


def looked_at(request: HousingRequest) -> HousingPlan:
    plan = plan_housing(request, QUICK)
    assert faults(request, plan) == []
    assert at_least(plan.certificate, request) == plan.certificate.at_least
    return plan


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("sizes", "trays"), SIZES_AND_TRAYS)
def test_trays_on_the_drawers_own_grid_are_proved(sizes: int, trays: int, seed: int) -> None:
    assert looked_at(family("grid", sizes, trays, seed)).is_proved


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("sizes", "trays"), SIZES_AND_TRAYS)
def test_whole_parts_of_a_drawer_are_proved_or_one_drawer_apart(sizes: int, trays: int, seed: int) -> None:
    plan = looked_at(family("mod", sizes, trays, seed))
    assert plan.drawers_above is not None
    assert plan.drawers_above <= 1


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("name", "share"), [("mix", 0.01), ("rand", 0.03)])
@pytest.mark.parametrize(("sizes", "trays"), SIZES_AND_TRAYS)
def test_odd_sizes_come_close_and_no_column_plan_is_more_than_a_drawer_better(
    name: str, share: float, sizes: int, trays: int, seed: int
) -> None:
    plan = looked_at(family(name, sizes, trays, seed))
    # Two drawers of a hundred are more than a share of so few can be.
    assert plan.cost - plan.at_least <= max(2, share * plan.at_least)
    assert plan.at_least_in_columns is not None
    assert plan.cost <= plan.at_least_in_columns + 1


@pytest.mark.parametrize("name", ["grid", "mod", "mix", "rand"])
def test_trays_that_may_turn_are_bounded_as_well(name: str) -> None:
    fixed = plan_housing(family(name, 5, 2_000, 1), QUICK)
    turning = looked_at(family(name, 5, 2_000, 1, may_turn=True))
    assert turning.at_least <= turning.cost <= fixed.cost
    assert turning.cost - turning.at_least <= 0.1 * turning.at_least
