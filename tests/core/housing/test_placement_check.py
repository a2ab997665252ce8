"""The last look at a plan finds whatever is wrong with it."""

from dataclasses import replace
from decimal import Decimal

import pytest
from housing_cases import MM

from service.core.housing.placement_check import faults
from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, Layout, Placed, TraySize
from service.core.housing.planning import plan_housing
from service.core.housing.tiling import Place

ASKED = HousingRequest(
    (
        TraySize("a", 100 * MM, 50 * MM, 3, height_nm=40 * MM),
        TraySize("b", 80 * MM, 80 * MM, 2, height_nm=40 * MM, together="Carabus"),
    ),
    (DrawerType("d", 300 * MM, 200 * MM, clear_height_nm=50 * MM, at_most=1),),
    reserve_percent=Decimal(20),
    play_nm=MM,
)
PLAN = plan_housing(ASKED)


def with_place(number: int, **changes: int | bool) -> HousingPlan:
    """The plan with one tray somewhere else."""
    (layout,) = PLAN.layouts
    placed = list(layout.placed)
    placed[number] = replace(placed[number], place=replace(placed[number].place, **changes))
    return replace(PLAN, layouts=(replace(layout, placed=tuple(placed)),))


def with_layout(**changes: object) -> HousingPlan:
    return replace(PLAN, layouts=(replace(PLAN.layouts[0], **changes),))  # type: ignore[arg-type]


def test_a_sound_plan_has_no_faults() -> None:
    assert faults(ASKED, PLAN) == []


@pytest.mark.parametrize(
    ("plan", "says"),
    [
        (with_place(0, x_nm=-1), "leaves the drawer"),
        (with_place(0, x_nm=250 * MM), "leaves the drawer"),
        (with_place(0, x_nm=PLAN.layouts[0].placed[1].place.x_nm + 1), "overlap"),
        (with_place(0, width_nm=99 * MM), "another size"),
        (with_place(0, turned=True, width_nm=50 * MM, depth_nm=100 * MM), "does not face the front"),
        (with_layout(placed=PLAN.layouts[0].placed[1:]), "are housed"),
        (with_layout(drawers=2), "there are 1"),
        (with_layout(reserve=None), "no growth reserve"),
        (replace(PLAN, cost=2), "cost"),
        (replace(PLAN, used=()), "drawers used"),
    ],
)
def test_what_is_wrong_is_said(plan: HousingPlan, says: str) -> None:
    assert any(says in fault for fault in faults(ASKED, plan))


def test_a_reserve_that_is_too_small_not_whole_or_not_free_is_found() -> None:
    strip = PLAN.layouts[0].reserve
    assert strip is not None
    smaller = replace(strip, width_nm=strip.width_nm - 1, depth_nm=strip.depth_nm - 1)
    assert {"layout 1 (d): the growth reserve is too small"} <= set(faults(ASKED, with_layout(reserve=smaller)))
    moved = replace(strip, x_nm=0, y_nm=0)
    assert "layout 1 (d): a tray stands in the growth reserve" in faults(ASKED, with_layout(reserve=moved))
    outside = replace(strip, x_nm=strip.x_nm + 1, y_nm=strip.y_nm + 1)
    assert "layout 1 (d): the growth reserve leaves the drawer" in faults(ASKED, with_layout(reserve=outside))


def test_play_is_room_that_no_other_tray_may_take() -> None:
    (layout,) = PLAN.layouts
    first = min(layout.placed, key=lambda each: (each.place.y_nm, each.place.x_nm))
    beside = next(each for each in layout.placed if each.place.x_nm == first.place.x_nm + first.place.width_nm + MM)
    nearer = with_place(layout.placed.index(beside), x_nm=beside.place.x_nm - 1)
    assert any("overlap" in fault for fault in faults(ASKED, nearer))


def test_a_parted_group_and_a_tray_that_is_too_high_are_found() -> None:
    asked = replace(ASKED, drawers=(replace(ASKED.drawers[0], clear_height_nm=39 * MM, at_most=None),))
    (layout,) = PLAN.layouts
    alone = Layout("d", 1, (Placed("b", Place(0, 0, 80 * MM, 80 * MM)),), layout.reserve)
    rest = replace(layout, placed=tuple(each for each in layout.placed if each.tray == "a"))
    said = faults(asked, replace(PLAN, layouts=(rest, alone, alone)))
    assert "“Carabus” stands in 2 drawers" in said
    assert any("too high" in fault for fault in said)
