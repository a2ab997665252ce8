"""What a collection asks of a plan beside few drawers: reserve, play, labels, heights, groups, costs and stock."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

import pytest
from certificate_checker import at_least
from housing_cases import MM, request_for

from service.core.housing.effort import Effort, Watch
from service.core.housing.placement_check import faults
from service.core.housing.plan import (
    CannotBeHoused,
    DrawerType,
    HousingPlan,
    HousingRequest,
    Progress,
    Strip,
    TraySize,
)
from service.core.housing.planning import plan_housing

DRAWER = DrawerType("flat", 430 * MM, 405 * MM)


def tray(code: str, width: int, depth: int, count: int) -> TraySize:
    return TraySize(code, width * MM, depth * MM, count)


def request(
    trays: Iterable[TraySize], drawers: Iterable[DrawerType] = (DRAWER,), reserve: int = 0, play_nm: int = 0
) -> HousingRequest:
    return HousingRequest(tuple(trays), tuple(drawers), Decimal(reserve), play_nm)


def pair_of(genus: str) -> TraySize:
    """Two trays as wide as the drawer, to stay together."""
    return replace(tray(f"{genus} tray", 430, 135, 2), together=genus)


def planned(asked: HousingRequest) -> HousingPlan:
    plan = plan_housing(asked)
    assert faults(asked, plan) == []
    assert at_least(plan.certificate, asked) == plan.certificate.at_least
    return plan


def test_half_a_millimetre_of_play_costs_a_row() -> None:
    # By hand: four of 107.5 fill 430 exactly; with play only three go in
    exact = replace(tray("a", 107, 133, 12), width_nm=107_500_000)
    assert planned(request([exact])).drawer_count == 1
    assert planned(request([exact], play_nm=MM // 2)).drawer_count == 2


def test_a_label_faces_front_unless_the_tray_may_turn() -> None:
    # By hand: 405 x 215 lies twice in 430 x 405 only when turned
    wide = tray("a", 405, 215, 2)
    assert planned(request([wide])).drawer_count == 2
    turned = planned(request([replace(wide, may_turn=True)]))
    assert turned.drawer_count == 1
    assert all(placed.place.turned for placed in turned.layouts[0].placed)


def test_the_reserve_is_one_clear_strip_where_the_next_trays_come() -> None:
    # By hand: 4 x 3 trays; a fifth of the drawer free leaves 344 mm of width, three columns of three
    plan = planned(request([tray("a", 107, 133, 18)], reserve=20))
    assert [layout.drawers for layout in plan.layouts] == [2]
    assert plan.layouts[0].reserve == Strip(344 * MM, 0, 86 * MM, 405 * MM)
    assert plan.is_proved


def test_the_reserve_lies_at_the_back_where_that_holds_more() -> None:
    # By hand: two rows of 160 leave a fifth of 405 free, five rows in one column would not
    plan = planned(request([tray("a", 430, 160, 2)], reserve=20))
    assert plan.layouts[0].reserve == Strip(0, 324 * MM, 430 * MM, 81 * MM)


def test_a_tray_as_large_as_its_drawer_has_it_to_itself_and_keeps_no_reserve() -> None:
    plan = planned(request([tray("whole", 428, 400, 2), tray("small", 100, 100, 1)], reserve=20))
    assert plan.drawer_count == 3
    assert {layout.reserve for layout in plan.layouts if layout.counts["whole"]} == {None}
    assert plan.is_proved


def test_a_high_tray_rules_out_a_shallow_drawer() -> None:
    shallow = DrawerType("shallow", 430 * MM, 405 * MM, clear_height_nm=45 * MM, cost=1)
    deep = DrawerType("deep", 430 * MM, 405 * MM, clear_height_nm=80 * MM, cost=3)
    low, high = (replace(tray(code, 215, 405, 2), height_nm=height * MM) for code, height in (("a", 40), ("b", 60)))
    plan = planned(request([low, high], [shallow, deep]))
    assert {used.drawer: used.count for used in plan.used} == {"shallow": 1, "deep": 1}
    assert (plan.cost, plan.at_least, plan.heights_unknown) == (4, 4, ())


def test_a_tray_too_high_for_every_drawer_is_named() -> None:
    shallow = replace(DRAWER, clear_height_nm=45 * MM)
    with pytest.raises(CannotBeHoused, match="“a” is too high for every type of drawer"):
        plan_housing(request([replace(tray("a", 100, 100, 1), height_nm=46 * MM)], [shallow]))


def test_a_tray_too_large_for_every_drawer_is_named() -> None:
    with pytest.raises(CannotBeHoused, match="“a” with its play fits into none of the drawers"):
        plan_housing(request([tray("a", 430, 405, 1)], play_nm=1))


def test_heights_that_nobody_stated_are_named_and_not_taken_for_fine() -> None:
    assert planned(request([tray("a", 100, 100, 1)])).heights_unknown == ("a", "flat")


def test_a_large_drawer_is_used_where_it_is_worth_its_cost() -> None:
    large = DrawerType("large", 860 * MM, 405 * MM, cost=3)
    small = replace(DRAWER, cost=2)
    # By hand: one large drawer for two small ones is 3 against 4; an odd drawerful is cheapest small
    plan = planned(request([tray("a", 430, 405, 5)], [large, small]))
    assert (plan.cost, plan.at_least) == (8, 8)
    assert {used.drawer: used.count for used in plan.used} == {"large": 2, "flat": 1}
    assert plan.drawers_above is None


def test_no_more_drawers_are_used_than_there_are() -> None:
    few = DrawerType("few", 860 * MM, 405 * MM, cost=3, at_most=1)
    plan = planned(request([tray("a", 430, 405, 5)], [few, replace(DRAWER, cost=2)]))
    assert (plan.cost, plan.at_least) == (9, 9)


def test_too_few_drawers_are_said_to_be_too_few() -> None:
    with pytest.raises(CannotBeHoused, match="do not suffice"):
        plan_housing(request([tray("a", 430, 405, 3)], [replace(DRAWER, at_most=2)]))


def test_trays_that_belong_together_stand_in_one_drawer() -> None:
    # By hand: a drawer has three places; six trays take two drawers, three groups of two take one each
    groups = [pair_of(name) for name in ("Carabus", "Cicindela", "Elater")]
    assert planned(request([replace(each, together=None) for each in groups])).drawer_count == 2
    plan = planned(request(groups))
    assert plan.drawer_count == 3
    assert plan.drawers_above == 1
    assert plan.parts_groups, "the bound is that of trays that may part, and says so"


def test_single_trays_fill_up_the_drawers_of_groups() -> None:
    groups = [pair_of(name) for name in ("Carabus", "Cicindela", "Elater")]
    plan = planned(request([*groups, tray("single", 430, 135, 3)]))
    assert (plan.drawer_count, plan.at_least) == (3, 3)


def test_a_group_that_no_drawer_holds_is_named() -> None:
    with pytest.raises(CannotBeHoused, match="trays of “Carabus” are to stay together"):
        plan_housing(request([replace(tray("a", 430, 135, 4), together="Carabus")]))


def test_cabinets_positions_cost_and_bottom_sheet_are_counted() -> None:
    drawer = replace(DRAWER, cost=7, per_cabinet=25)
    lined = replace(tray("a", 430, 405, 26), bottom_width_nm=400 * MM, bottom_depth_nm=250 * MM)
    plan = planned(request([lined], [drawer]))
    (used,) = plan.used
    assert (used.count, used.cabinets, used.cost) == (26, 2, 182)
    # 26 bottoms of a tenth of a square metre
    assert plan.bottom_sheet_m2 == Decimal("2.6")


def test_no_trays_take_no_drawers() -> None:
    plan = planned(request([tray("a", 100, 100, 0)]))
    assert (plan.drawer_count, plan.at_least, plan.layouts) == (0, 0, ())


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (request([tray("a", 1, 1, 1)], []), "No type of drawer"),
        (request([tray("a", 1, 1, 1)], reserve=100), "growth reserve of 100 %"),
        (request([tray("a", 1, 1, 1)], play_nm=-1), "play of a tray"),
        (request([tray("a", 0, 1, 1)]), "Tray “a” needs a width"),
        (request([tray("a", 1, 1, 1)], [DrawerType("d", 0, 1)]), "Drawer “d” needs"),
        (request([tray("a", 1, 1, 1), tray("a", 2, 1, 1)]), "Two of the trays"),
    ],
)
def test_figures_that_make_no_sense_are_refused_in_words(wrong: HousingRequest, says: str) -> None:
    with pytest.raises(CannotBeHoused, match=says):
        plan_housing(wrong)


def test_onlookers_see_the_plan_get_cheaper_and_can_stop_it() -> None:
    trays = [(61, 73, 90), (97, 57, 80), (143, 110, 40), (83, 129, 60), (200, 77, 30)]
    asked, seen = request_for((430, 405), trays), list[Progress]()
    stopped = plan_housing(asked, Effort(), Watch(should_stop=lambda: len(seen) >= 2, on_progress=seen.append))
    assert seen[0].best is not None
    assert seen[-1].best == stopped.cost
    assert seen[-1].at_least <= stopped.at_least
    assert stopped.stopped_early
    assert faults(asked, stopped) == []
    whole = plan_housing(asked)
    assert whole.cost <= stopped.cost
    assert not whole.stopped_early


def test_a_search_that_is_stopped_before_it_begins_still_has_a_plan() -> None:
    asked = request([tray("a", 107, 133, 30), tray("b", 61, 73, 40)])
    plan = plan_housing(asked, watch=Watch(should_stop=lambda: True))
    assert faults(asked, plan) == []
