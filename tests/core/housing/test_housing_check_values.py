"""Housing plans whose fewest drawers are known from elsewhere, or can be told by hand."""

import pytest
from certificate_checker import at_least
from housing_cases import Trays, instance, needs_instances, request_for

from service.core.housing.effort import QUICK
from service.core.housing.placement_check import faults
from service.core.housing.planning import plan_housing

# Told by hand: 49 = 49 units of area, and no straight cut goes through the layout. Label to the front, 5 x 2 trays
# never stand beside one another or beside the 3 x 3 one, and one behind another all five take 11 of 7.
PINWHEEL = ((7, 7), [(5, 2, 4), (3, 3, 1)])


@pytest.mark.parametrize(
    ("drawer", "trays", "may_turn", "fewest"),
    [
        # github.com/secnot/rectpack, issue 52: 31 fit; 32 are 13,824 of 13,680 units of area
        ((114, 120), [(24, 18, 31)], True, 1),
        ((114, 120), [(24, 18, 32)], True, 2),
        # github.com/fontanf/packingsolver, test/rectangle
        ((200, 100), [(55, 70, 4)], True, 2),
        ((200, 100), [(55, 70, 2)], True, 1),
        ((100, 100), [(60, 60, 2)], False, 2),
        ((10, 10), [(5, 5, 10)], False, 3),
        (*PINWHEEL, True, 1),
        (*PINWHEEL, False, 2),
        # By hand: 4 of 5 x 4 lie in 10 x 10 with the label to the front, and no more when turned
        ((10, 10), [(5, 4, 10)], False, 3),
        ((10, 10), [(5, 4, 10)], True, 3),
        # By hand: 4 x 3 trays of 107 x 133 take 428 x 399
        ((430, 405), [(107, 133, 13)], False, 2),
        ((430, 405), [(107, 133, 12)], False, 1),
    ],
)
def test_the_fewest_drawers_are_found_and_proved(
    drawer: tuple[int, int], trays: Trays, may_turn: bool, fewest: int
) -> None:
    request = request_for(drawer, trays, may_turn=may_turn)
    plan = plan_housing(request)
    assert (plan.drawer_count, plan.at_least) == (fewest, fewest)
    assert faults(request, plan) == []
    assert at_least(plan.certificate, request) == plan.certificate.at_least


def test_chvatals_rolls_take_453_as_shelves_of_one_tray_depth() -> None:
    # Chvatal 1983, "Linear Programming", chapter 13: 97 rolls of 45, 610 of 36, 395 of 31 and 211 of 14 out of 100.
    request = request_for((100, 10), [(45, 10, 97), (36, 10, 610), (31, 10, 395), (14, 10, 211)])
    plan = plan_housing(request)
    assert (plan.drawer_count, plan.at_least) == (453, 453)


@needs_instances
@pytest.mark.parametrize(
    ("name", "may_turn", "fewest"),
    [
        # Class 1, n = 20, numbers 1 and 2 (best known values of github.com/fontanf/packingsolver, data/rectangle)
        ("Class_01.2bp_20_1", False, 8),
        ("Class_01.2bp_20_2", False, 5),
        ("Class_01.2bp_20_1", True, 7),
        ("Class_01.2bp_20_2", True, 5),
        # proved there or here by a bound that meets the plan
        ("Class_03.2bp_40_3", False, 11),
        ("Class_05.2bp_40_3", False, 15),
        ("Class_08.2bp_40_3", False, 11),
        ("Class_09.2bp_40_3", False, 29),
        ("Class_01.2bp_40_3", True, 15),
        ("Class_05.2bp_40_3", True, 14),
        ("Class_07.2bp_40_3", True, 9),
        ("Class_09.2bp_40_3", True, 28),
        ("Class_10.2bp_40_3", True, 9),
    ],
)
def test_published_instances_are_proved_at_their_published_value(name: str, may_turn: bool, fewest: int) -> None:
    case = instance(name)
    assert case.fewest_known[may_turn] == fewest
    plan = plan_housing(case.request(may_turn=may_turn), QUICK)
    assert (plan.drawer_count, plan.at_least) == (fewest, fewest)
