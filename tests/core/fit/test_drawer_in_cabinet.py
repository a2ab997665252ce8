"""A drawer before an opening: the published sizes against each other, and what carries a narrow one."""

from dataclasses import replace

import pytest
from asking import answer_to, found
from builders import a_cabinet, a_drawer_standard, a_line, a_system, from_handbook, mm, remembered, size

from service.core.fit.drawer_in_cabinet import Entry, enters_either_way, positions_each
from service.core.fit.findings import Outcome, Verdict
from service.core.fit.runners import SIDE_CLEARANCE, bearing_nm
from service.core.handbook import figure
from service.core.measure.dimension import Dimension
from service.core.standards import Support

CORNELL = (482.6, 419.1)  # Cornell University Insect Collection, The Cornell Drawer: 16-1/2 x 19 x 3 in
DISPLAY_BOX = (482.6, 419.1)  # Mississippi State University Extension, Standard 4-H Display Box
USNM = (457.2, 457.2)  # New York State Museum Bulletin, p. 22: 18 in square
NATURE_STUDY = (457.2, 406.4)  # Cornell Nature-Study Leaflets, pp. 131-132: 18 x 16 x 3 in
MUNICH = (510, 420)  # Schmidt, Balke & Lafogler 2012, ZooKeys 209: 183-191: 51 x 42 cm
FRENCH = (390, 260)  # a French lepidopterists' manual: 39 x 26 cm
CAS = (482.6, 431.8)  # from memory: North American textbooks, 19 x 17 in
CORNELL_OTHER = (479.4, 422.3)  # from memory: dealers' lists, 18 7/8 x 16 5/8 in
CAS_PITCH = 70.8  # derived from a home plan (12 Cornell or 14 CAS drawers) and a height from memory


def entrance(drawer, slot):
    sizes = [length.value_nm for length in map(mm, (*drawer, *slot)) if length]
    return enters_either_way(*sizes, usual_play_nm=figure(SIDE_CLEARANCE).nm)


PLANS = [
    pytest.param(CORNELL, USNM, Entry.NO, -25.4, id="Cornell drawer, USNM slot"),
    pytest.param(USNM, CORNELL, Entry.NO, -38.1, id="USNM drawer, Cornell slot"),
    pytest.param(USNM, CAS, Entry.NO, -25.4, id="USNM drawer, CAS slot (from memory)"),
    pytest.param(CORNELL, CAS, Entry.LOOSE, 0, id="Cornell drawer, CAS slot (from memory): the plan fits"),
    pytest.param(CAS, CORNELL, Entry.NO, -12.7, id="CAS drawer (from memory), Cornell slot"),
    pytest.param(FRENCH, CORNELL, Entry.LOOSE, 92.6, id="French drawer, Cornell slot"),
    pytest.param(MUNICH, CORNELL, Entry.NO, -27.4, id="Munich drawer, Cornell slot"),
    pytest.param(NATURE_STUDY, USNM, Entry.LOOSE, 0, id="Cornell nature-study box, USNM slot"),
    pytest.param(CORNELL, DISPLAY_BOX, Entry.TIGHT, 0, id="Cornell drawer, display box: the same size"),
    pytest.param(CORNELL_OTHER, CORNELL, Entry.NO, -3.2, id="Cornell by memory, Cornell slot without tolerance"),
]


@pytest.mark.parametrize(("drawer", "slot", "entry", "margin_mm"), PLANS)
def test_published_drawers_enter_published_slots_or_miss_them_by_the_difference(drawer, slot, entry, margin_mm):
    way_in = entrance(drawer, slot)
    assert way_in.entry is entry
    assert way_in.margin_nm == round(margin_mm * 1_000_000)


def test_a_cornell_drawer_has_12_7_mm_to_spare_in_a_cas_slot_from_memory():
    assert entrance(CORNELL, CAS).depth_spare_nm == 12_700_000


def test_a_nature_study_box_has_50_8_mm_to_spare_on_one_side_of_a_usnm_slot():
    way_in = entrance(NATURE_STUDY, USNM)
    assert sorted((way_in.width_spare_nm, way_in.depth_spare_nm)) == [0, 50_800_000]


def test_a_munich_drawer_misses_a_cornell_slot_on_both_sides_and_by_0_9_mm_on_the_shorter():
    assert entrance(MUNICH, CORNELL).depth_spare_nm == -900_000


def slot_for(plan, height=76.2, **cabinet):
    """A system whose cabinet was made for a drawer and never measured."""
    made_for = a_drawer_standard(outer=plan if isinstance(plan, type(size())) else size(*plan, height))
    unmeasured = {"opening": size(), "pitch": mm(82.55)}
    return a_system(cabinets=(a_cabinet(**unmeasured | cabinet),), drawers=(made_for,))


def drawers(plan, height=76.2, **changes):
    return a_line(**{"outer": size(*plan, height)} | changes)


@pytest.mark.parametrize(
    ("drawer", "slot", "short_mm"),
    [
        pytest.param(CORNELL, USNM, 25.4, id="Cornell into USNM"),
        pytest.param(USNM, CORNELL, 38.1, id="USNM into Cornell"),
        pytest.param(MUNICH, CORNELL, 27.4, id="Munich into Cornell"),
    ],
)
def test_a_drawer_wider_than_the_slot_fails_by_the_difference(drawer, slot, short_mm):
    finding = found(drawers(drawer), slot_for(slot), "drawer_in_cabinet")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -round(short_mm * 1_000_000)
    assert f"{short_mm} mm" in finding.reason


@pytest.mark.parametrize(("drawer", "slot", "entry", "margin_mm"), PLANS)
def test_the_check_shuts_out_what_does_not_enter_and_nothing_else(drawer, slot, entry, margin_mm):
    """Plain geometry: the sizes from memory among them are taken as if somebody had measured them."""
    finding = found(drawers(drawer), slot_for(slot), "drawer_in_cabinet")
    assert (finding.outcome is Outcome.FAIL) == (entry is Entry.NO)
    assert (finding.margin_nm or 0) == round(margin_mm * 1_000_000)


def test_where_the_opening_was_never_measured_the_answer_says_what_stands_in_for_it():
    finding = found(drawers(CORNELL), slot_for(DISPLAY_BOX), "drawer_in_cabinet")
    assert finding.outcome is Outcome.PASS
    assert "never measured" in finding.reason
    assert "no clearance" in finding.reason


def test_a_measured_drawer_3_2_mm_too_deep_is_to_be_planed_by_as_much():
    line = drawers((479.4, 422.3), inner=size(450, 388, 61))
    finding = found(line, slot_for(CORNELL), "drawer_in_cabinet")
    assert finding.outcome is Outcome.FAIL
    assert finding.remedy is not None
    assert "plane 3.2 mm off the depth" in finding.remedy
    assert "34.3 mm in its two walls" in finding.remedy


def test_no_planing_mends_a_drawer_whose_walls_are_thinner_than_the_excess():
    line = drawers((510, 419.1), inner=size(490, 400, 61))
    finding = found(line, slot_for(CORNELL), "drawer_in_cabinet")
    assert finding.remedy is not None
    assert "no planing will do" in finding.remedy


def test_inches_are_told_where_somebody_wrote_inches():
    line = a_line(outer=size("20 in", "16 1/2 in", "3 in"))
    assert "508 mm, 20 in" in found(line, a_system(), "drawer_in_cabinet").reason


# A figure from memory never decides: neither that a drawer goes in, nor that it does not.


def test_a_usnm_drawer_stays_unknown_before_a_cas_slot_from_memory():
    slot = slot_for(size(from_handbook("cas.outer.width"), from_handbook("cas.outer.depth"), 63.5))
    finding = found(drawers(USNM), slot, "drawer_in_cabinet")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing
    assert finding.rests_on_memory


def test_a_plan_that_fits_by_memory_says_what_to_measure():
    slot = slot_for(size(482.6, from_handbook("cas.outer.depth"), 76.2))
    finding = found(drawers(CORNELL), slot, "drawer_in_cabinet")
    assert finding.outcome is Outcome.UNKNOWN
    assert "would pass with 12.7 mm to spare if the 431.8 mm, which is from memory, is right: measure it" in (
        finding.reason
    )
    assert finding.missing == ("system.cabinets[steel].opening.depth",)


def test_a_drawer_of_a_size_from_memory_is_asked_to_be_measured():
    line = a_line(outer=size(remembered(482.6), remembered(431.8), 76.2))
    finding = found(line, slot_for(CORNELL), "drawer_in_cabinet")
    assert finding.outcome is Outcome.UNKNOWN
    assert "lines[0].outer.depth" in finding.missing


def test_a_well_known_side_that_fails_fails_whatever_the_other_from_memory_is():
    line = a_line(outer=size(500, remembered(100), 76.2))
    finding = found(line, slot_for(CORNELL), "drawer_in_cabinet")
    assert finding.outcome is Outcome.FAIL
    assert finding.missing == ()


def test_a_cornell_drawer_is_too_high_for_the_cas_pitch_but_that_pitch_is_from_memory():
    by_geometry = slot_for((482.6, 431.8), pitch=mm(CAS_PITCH))
    assert found(drawers(CORNELL), by_geometry, "drawer_height").outcome is Outcome.FAIL
    by_memory = slot_for((482.6, 431.8), pitch=remembered(CAS_PITCH))
    finding = found(drawers(CORNELL), by_memory, "drawer_height")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].pitch",)


# Loose fit.


def test_pushed_to_one_wall_a_drawer_rests_on_what_its_play_leaves_of_the_opposite_runner():
    assert bearing_nm(12_000_000, 3_400_000) == 8_600_000


def test_a_french_drawer_enters_a_cornell_slot_and_is_not_carried_by_its_runners():
    groove = figure("cabinet.runner_groove_depth").as_dimension()  # Brou's plan: 3/16 in
    system = slot_for(CORNELL, runner_ledge=groove)
    line = drawers(FRENCH, height=54)
    assert found(line, system, "drawer_in_cabinet").outcome is Outcome.PASS
    finding = found(line, system, "drawer_on_runners")
    assert finding.outcome is Outcome.FAIL
    assert "loose fit" in finding.reason.lower()


def test_a_drawer_50_8_mm_too_narrow_wants_battens_of_25_4_mm_on_each_side():
    system = slot_for((457.2, 457.2), runner_ledge=mm(12))
    finding = found(drawers((406.4, 406.4)), system, "drawer_on_runners")
    assert finding.outcome is Outcome.FAIL
    assert finding.remedy == "Add 25.4 mm battens to each side."


def test_a_nature_study_box_is_carried_in_a_usnm_slot_when_its_long_side_is_to_the_front():
    answer = answer_to(drawers((406.4, 457.2)), slot_for(USNM, runner_ledge=mm(12)))
    assert answer.turned
    assert answer.verdict is Verdict.AS_IT_IS


def test_without_a_ledge_the_usual_side_clearance_passes_and_more_is_unknown():
    """3 to 6 mm of play, both sides together: common practice, no source."""
    system = a_system(cabinets=(a_cabinet(runner_ledge=None),))
    assert found(drawers((480, 419.1)), system, "drawer_on_runners").outcome is Outcome.PASS
    finding = found(drawers((479.9, 419.1)), system, "drawer_on_runners")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].runner_ledge",)


def test_a_shelf_carries_a_drawer_of_any_width():
    system = a_system(cabinets=(a_cabinet(support=Support.SHELF, runner_ledge=None),))
    assert found(drawers(FRENCH), system, "drawer_on_runners").outcome is Outcome.PASS


def test_a_drawer_that_would_drop_off_runners_is_unknown_while_the_cabinet_may_have_shelves():
    system = a_system(cabinets=(a_cabinet(support=None),))
    finding = found(drawers(FRENCH), system, "drawer_on_runners")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].support",)


def test_the_narrowest_of_measured_drawers_decides_whether_all_are_carried():
    width = Dimension.measured((482_600_000, 470_000_000))
    line = a_line(outer=replace(size(1, 419.1, 76.2), width=width))
    finding = found(line, a_system(), "drawer_on_runners")
    assert finding.outcome is Outcome.FAIL  # 486 mm less 470 mm is 16 mm of play on 12 mm of runner


# Height.


def test_a_high_drawer_fouls_a_fixed_runner():
    finding = found(drawers(CORNELL, height=110), a_system(), "drawer_height")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -27_450_000


def test_a_high_drawer_takes_two_positions_where_runners_come_out():
    """110 mm: the extra-high drawer of the Milwaukee Public Museum; 82.55 mm: Brou's pitch, read from a scan."""
    system = a_system(cabinets=(a_cabinet(runners_removable=True),))
    answer = answer_to(drawers(CORNELL, height=110), system)
    assert positions_each(110_000_000, 82_550_000) == 2
    assert answer.verdict is Verdict.AS_IT_IS
    assert answer.needed.cabinet_positions == 20
    finding = found(drawers(CORNELL, height=110), system, "drawer_height")
    assert finding.outcome is Outcome.CAUTION
    assert "10 of them take 20" in finding.reason


def test_whether_runners_come_out_has_to_be_known():
    system = a_system(cabinets=(a_cabinet(runners_removable=None),))
    finding = found(drawers(CORNELL, height=110), system, "drawer_height")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].runners_removable",)


def test_no_runner_has_to_come_out_over_a_shelf():
    cabinet = a_cabinet(support=Support.SHELF, runner_ledge=None, runners_removable=None)
    finding = found(drawers(CORNELL, height=110), a_system(cabinets=(cabinet,)), "drawer_height")
    assert finding.outcome is Outcome.CAUTION


def test_a_drawer_higher_than_its_column_goes_nowhere():
    low = a_cabinet(runners_removable=True, opening=size(486, 425, 100), positions_per_column=1)
    finding = found(drawers(CORNELL, height=110), a_system(cabinets=(low,)), "drawer_height")
    assert finding.outcome is Outcome.FAIL


def test_without_a_pitch_only_the_height_that_the_positions_were_made_for_is_certain():
    system = slot_for(CORNELL, height=76.2, pitch=None)
    assert found(drawers(CORNELL, height=76.2), system, "drawer_height").outcome is Outcome.PASS
    finding = found(drawers(CORNELL, height=78), system, "drawer_height")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].pitch",)


# Several cabinets.


def test_of_several_cabinets_the_one_that_takes_the_drawer_is_chosen():
    narrow = a_cabinet(code="narrow", opening=size(460, 460, 1985))
    answer = answer_to(a_line(), a_system(cabinets=(narrow, a_cabinet())))
    assert answer.cabinet == "steel"
    assert answer.verdict is Verdict.AS_IT_IS


def test_of_two_that_take_it_the_larger_margin_wins_and_then_the_order_of_listing():
    wide = a_cabinet(code="wide", opening=size(487, 425, 1985))
    same = a_cabinet(code="same", opening=size(487, 425, 1985))
    assert answer_to(a_line(), a_system(cabinets=(a_cabinet(), wide, same))).cabinet == "wide"


def test_where_no_cabinet_takes_it_the_others_get_a_sentence():
    narrow = a_cabinet(code="narrow", name="Narrow cabinet", opening=size(460, 460, 1985))
    finding = found(drawers((500, 490)), a_system(cabinets=(a_cabinet(), narrow)), "drawer_in_cabinet")
    assert "“Steel cabinet” misses by 65 mm" in finding.reason or "“Narrow cabinet” misses by 40 mm" in finding.reason


def test_a_receiver_without_cabinets_takes_no_drawers():
    assert found(a_line(), a_system(cabinets=()), "drawer_in_cabinet").outcome is Outcome.FAIL


def test_a_runner_as_wide_as_the_play_carries_nothing():
    system = slot_for((457.2, 457.2), runner_ledge=mm(12))
    assert found(drawers((445.2, 445.2)), system, "drawer_on_runners").outcome is Outcome.FAIL
    assert found(drawers((445.3, 445.3)), system, "drawer_on_runners").outcome is Outcome.PASS


def test_of_two_ways_round_that_fail_the_nearer_miss_is_told():
    finding = found(drawers((430, 480)), a_system(), "drawer_in_cabinet")
    assert finding.margin_nm == -5_000_000
    assert finding.remedy is not None
    assert "Plane 5 mm off the width" in finding.remedy


def test_the_walls_say_nothing_of_what_can_be_planed_off_the_height():
    finding = found(drawers(CORNELL, height=110), a_system(), "drawer_height")
    assert finding.remedy == "Plane 27.45 mm off the height, if there is wood enough."
