"""Published packing instances: no plan is better than what anybody has found, and no bound is above it.

Berkey & Wang 1987 and Martello & Vigo 1998; best known values from github.com/fontanf/packingsolver, data/rectangle,
which are values that somebody has reached: a smaller plan would be news, and a larger bound a fault.
"""

import pytest
from housing_cases import instance, needs_instances

from service.core.housing.effort import QUICK
from service.core.housing.planning import plan_housing

NAMES = [f"Class_{number:02d}.2bp_{count}_{which}" for number in range(1, 11) for count, which in ((20, 4), (60, 2))]


@needs_instances
@pytest.mark.parametrize("may_turn", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_plan_and_bound_keep_to_the_best_known_value(name: str, may_turn: bool) -> None:
    case = instance(name)
    plan = plan_housing(case.request(may_turn=may_turn), QUICK)
    known = case.fewest_known[may_turn]
    assert plan.at_least <= known <= plan.cost <= known + 1
