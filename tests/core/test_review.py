"""What a storage system must get right before it is published, and what it is told it left unsaid."""

from dataclasses import replace

from service.core.measure.dimension import Dimension, Size
from service.core.review import faults_in, gaps_in
from service.core.standards import (
    Cabinet,
    Doorway,
    DrawerStandard,
    MaterialsPolicy,
    RoomClimate,
    SetPoint,
    StorageSystem,
    Support,
    TraySeries,
    TrayStandard,
)


def mm(value: int) -> Dimension:
    return Dimension(value * 1_000_000)


CABINET = Cabinet(
    "c1",
    "Cabinet",
    count=10,
    opening=Size(mm(486), mm(425), mm(1985)),
    pitch=mm(82),
    positions_per_column=24,
    support=Support.SIDE_RUNNERS,
    runner_ledge=mm(12),
    runners_removable=False,
    doorway=Doorway.CLEARS_OPENING,
    made_for="d1",
    free_positions=40,
)
DRAWER = DrawerStandard("d1", "Drawer", inner=Size(mm(450), mm(388), mm(61)))
COMPLETE = StorageSystem(
    climate=RoomClimate(dampest=SetPoint(20, 60)),
    cabinets=(CABINET,),
    drawers=(DRAWER,),
    tray_series=(TraySeries("t", "Trays", (TrayStandard("half", "Half"),)),),
    materials=MaterialsPolicy(treatments=()),
    growth_reserve_percent=20,
)


def test_a_complete_system_has_neither_faults_nor_gaps():
    assert faults_in(COMPLETE) == ()
    assert gaps_in(COMPLETE) == ()


def test_a_cabinet_made_for_a_drawer_that_is_not_listed_is_a_fault():
    (fault,) = faults_in(replace(COMPLETE, drawers=(replace(DRAWER, code="other"),)))
    assert fault.pointer == "/cabinets/0/made_for"
    assert "other" in fault.detail


def test_a_code_may_stand_once_only():
    (fault,) = faults_in(replace(COMPLETE, drawers=(DRAWER, DRAWER)))
    assert fault.pointer == "/drawers/1/code"


def test_more_free_positions_than_there_are_is_a_fault():
    crowded = replace(CABINET, free_positions=241)
    (fault,) = faults_in(replace(COMPLETE, cabinets=(crowded,)))
    assert fault.pointer == "/cabinets/0/free_positions"


def test_a_door_that_leaves_the_opening_free_has_no_size_of_its_own():
    (fault,) = faults_in(replace(COMPLETE, cabinets=(replace(CABINET, door_width=mm(470)),)))
    assert fault.pointer == "/cabinets/0/doorway"


def test_a_drawer_larger_inside_than_outside_is_a_slip_on_one_side_or_the_other():
    hollow = replace(DRAWER, outer=Size(mm(400)))
    (fault,) = faults_in(replace(COMPLETE, drawers=(hollow,)))
    assert fault.pointer == "/drawers/0/inner/width"
    assert "450 mm" in fault.detail
    assert "400 mm" in fault.detail


def test_each_thing_left_unsaid_is_named_with_what_it_costs():
    silent = StorageSystem(cabinets=(Cabinet("c1", "Cabinet", 1),), drawers=(DrawerStandard("d1", "Drawer"),))
    named = {gap.field for gap in gaps_in(silent)}
    assert {
        "cabinets[c1].opening.width",
        "cabinets[c1].pitch",
        "cabinets[c1].support",
        "cabinets[c1].doorway",
        "drawers[d1].inner.height",
        "materials.treatments",
        "growth_reserve_percent",
    } <= named
    assert all(gap.consequence.endswith(".") for gap in gaps_in(silent))
