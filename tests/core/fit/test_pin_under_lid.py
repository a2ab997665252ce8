"""Pins under the lid. The model of heights is a definition; the lengths in it are published."""

import pytest
from asking import answer_to, found
from builders import (
    a_bottom,
    a_box_line,
    a_drawer_standard,
    a_line,
    a_system,
    a_tray_line,
    a_tray_lot,
    from_handbook,
    mm,
    size,
    some_pins,
)

from service.core.fit.findings import Outcome, Verdict
from service.core.fit.pin_under_lid import head_above_floor_nm, lid_clearance_nm, rim_clearance_nm
from service.core.handbook import figure

PIN = 38  # Schauff (ed.) 1997, USDA, p. 31
LONG_PIN = 52  # from memory: pin charts, No. 7
HOLLAND_INSIDE = 50.8  # Holland 1898, The Butterfly Book: 2 in, taken as from the bare floor
HOLLAND_CORK = 7.9375  # Holland 1898: 5/16 in
OLD_RIM, NEW_RIM = 33, 43  # California Academy of Sciences; 4.3 mm is printed for 43
BASE = 2  # common practice, no source

HEADS = [
    pytest.param(BASE, 6, 6, PIN, 40, id="pushed in to the base"),
    pytest.param(BASE, 10, 10, PIN, 40, id="pushed in to the base of thicker foam: the foam cancels"),
    pytest.param(BASE, 10, 6, PIN, 44, id="foam not used up: 4 mm higher"),
    pytest.param(0, HOLLAND_CORK, HOLLAND_CORK, PIN, 38, id="through the cork of a drawer"),
    pytest.param(0, HOLLAND_CORK, 5, PIN, 40.9375, id="5 mm into the cork"),
    pytest.param(BASE, 6, 6, LONG_PIN, 54, id="a long pin (from memory)"),
    pytest.param(0, HOLLAND_CORK, 0, PIN, 45.9375, id="hardly in the cork: the worst case"),
]


def nm(*lengths):
    return [length.value_nm for length in map(mm, lengths) if length]


@pytest.mark.parametrize(("base", "bottom", "depth", "length", "head"), HEADS)
def test_a_head_stands_as_high_as_base_bottom_and_pin_less_its_depth(base, bottom, depth, length, head):
    assert [head_above_floor_nm(*nm(base, bottom, depth, length))] == nm(head)


def test_a_head_at_40_mm_is_7_above_an_old_rim_and_3_below_a_new_one():
    head, old, new = nm(40, OLD_RIM, NEW_RIM)
    assert rim_clearance_nm(old, head) == -7_000_000
    assert rim_clearance_nm(new, head) == 3_000_000


@pytest.mark.parametrize(
    ("head", "clearance"), [(38, 12.8), (40.9375, 9.8625), (54, -3.2), (45.9375, 4.8625)], ids=str
)
def test_under_hollands_glass_heads_have_what_is_left_of_two_inches(head, clearance):
    inside, above = nm(HOLLAND_INSIDE, head)
    assert lid_clearance_nm(inside, above) == round(clearance * 1_000_000)


def hollands_drawer(depth, length=PIN):
    """Ten drawers lined with cork, without trays."""
    return a_line(
        inner=size(406.4, 558.8, HOLLAND_INSIDE),
        lining=a_bottom(thickness=HOLLAND_CORK),
        trays=(),
        pins=some_pins(length, depth),
    )


@pytest.mark.parametrize(("depth", "clearance"), [(HOLLAND_CORK, 12.8), (5, 9.8625), (0, 4.8625)])
def test_pins_in_hollands_own_drawer_clear_its_lid(depth, clearance):
    finding = found(hollands_drawer(depth), a_system(), "pin_under_lid")
    assert finding.outcome is Outcome.PASS
    assert finding.margin_nm == round(clearance * 1_000_000)


def test_pins_hardly_pushed_in_still_pass_when_their_depth_is_unknown_but_even_so_clear_the_lid():
    finding = found(hollands_drawer(None), a_system(), "pin_under_lid")
    assert finding.outcome is Outcome.PASS
    assert finding.margin_nm == 4_862_500
    assert finding.missing == ()


def by_the_tray(trays, height, pins):
    """Loose trays for a drawer of a given clear height."""
    return a_tray_line(**trays, pins=pins), a_system(drawers=(a_drawer_standard(inner=size(450, 388, height)),))


def test_a_pin_of_52_mm_in_a_tray_is_3_2_mm_too_long_for_50_8_mm():
    line, system = by_the_tray({"outer": size(99.5, 96.5, 43)}, HOLLAND_INSIDE, some_pins(LONG_PIN, 6))
    finding = found(line, system, "pin_under_lid")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -3_200_000
    assert "3.2 mm too long" in finding.reason


def test_that_pin_is_known_from_memory_only_and_so_the_answer_stays_unknown():
    pins = some_pins(from_handbook("pins.length_of_long_number_7"), 6)
    line, system = by_the_tray({"outer": size(99.5, 96.5, 43)}, HOLLAND_INSIDE, pins)
    finding = found(line, system, "pin_under_lid")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("lines[0].pins.length",)
    assert finding.rests_on_memory


def test_touching_the_lid_fails_and_less_than_the_gap_is_a_caution():
    for height, outcome in ((40, Outcome.FAIL), (40.1, Outcome.CAUTION), (42.9, Outcome.CAUTION), (43, Outcome.PASS)):
        line, system = by_the_tray({"outer": size(99.5, 96.5, 33)}, height, some_pins(38, 6))
        assert found(line, system, "pin_under_lid").outcome is outcome, height


def test_without_a_gap_of_its_own_the_receiver_gets_the_usual_least():
    """2 mm: common practice, no source."""
    usual = figure("lid.air_gap_least")
    for height, outcome in ((41.9, Outcome.CAUTION), (42, Outcome.PASS)):
        line, _ = by_the_tray({"outer": size(99.5, 96.5, 33)}, height, some_pins(38, 6))
        system = a_system(drawers=(a_drawer_standard(inner=size(450, 388, height)),), lid_air_gap_nm=None)
        finding = found(line, system, "pin_under_lid")
        assert finding.outcome is outcome
        assert (finding.source, finding.grade) == (usual.source, usual.grade)


@pytest.mark.parametrize(
    ("height", "outcome"),
    [
        pytest.param(49, Outcome.PASS, id="clears it even if hardly pushed in: 46 mm"),
        pytest.param(46, Outcome.UNKNOWN, id="just touches if hardly pushed in"),
        pytest.param(43, Outcome.UNKNOWN, id="clears it if pushed in, touches if not"),
        pytest.param(40, Outcome.FAIL, id="touches even if pushed in to the base: 40 mm"),
    ],
)
def test_an_unknown_depth_is_bounded_by_the_bottom(height, outcome):
    line, system = by_the_tray({"outer": size(99.5, 96.5, 33)}, height, some_pins(38, None))
    finding = found(line, system, "pin_under_lid")
    assert finding.outcome is outcome
    assert finding.missing == (("lines[0].pins.depth",) if outcome is Outcome.UNKNOWN else ())


def test_a_pin_longer_than_the_drawer_is_high_fails_whatever_is_missing():
    trays = {"outer": size(99.5, 96.5, 33), "base": None, "lining": None}
    line, system = by_the_tray(trays, 37, some_pins(38, None))
    assert found(line, system, "pin_under_lid").outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("trays", "pins", "field"),
    [
        ({"base": None}, some_pins(), "lines[0].base"),
        ({"lining": a_bottom(thickness=None)}, some_pins(), "lines[0].lining.thickness"),
        ({}, some_pins(length=None), "lines[0].pins.length"),
    ],
)
def test_what_the_head_stands_on_has_to_be_known(trays, pins, field):
    finding = found(a_tray_line(**trays, pins=pins), a_system(), "pin_under_lid")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == (field,)


def test_the_receiver_is_asked_for_the_height_under_its_lid():
    system = a_system(drawers=(a_drawer_standard(inner=size(450, 388)),))
    finding = found(a_tray_line(), system, "pin_under_lid")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.drawers[house].inner.height",)


def test_a_lining_under_the_trays_takes_its_thickness_from_the_clear_height():
    bare = found(a_tray_line(), a_system(), "pin_under_lid")
    lined_drawer = a_drawer_standard(lining=a_bottom(thickness=10))
    lined = found(a_tray_line(), a_system(drawers=(lined_drawer,)), "pin_under_lid")
    assert bare.margin_nm == 21_000_000
    assert lined.margin_nm == 11_000_000


def test_whether_pins_stand_in_trays_or_in_the_lining_has_to_be_known():
    answer = answer_to(a_line(trays=None), a_system())
    assert answer.verdict is Verdict.HOLD
    assert "lines[0].trays" in answer.missing


def test_every_size_of_tray_in_a_drawer_is_looked_at():
    high = a_tray_lot(bottom=a_bottom(thickness=20))
    line = a_line(trays=(a_tray_lot(), high), pins=some_pins(38, 6))
    findings = [f for f in answer_to(line, a_system()).findings if f.rule == "pin_under_lid"]
    assert [f.margin_nm for f in findings] == [21_000_000, 7_000_000]


def test_empty_trays_have_no_pins():
    line = a_tray_line(specimens=0, pins=some_pins(None, None, None))
    assert answer_to(line, a_system()).verdict is Verdict.BY_THE_TRAY


def test_for_the_journey_heads_that_are_far_from_their_lid_want_a_card_on_four_pins():
    """Schauff (ed.) 1997, USDA, p. 51; Ross, How to Collect and Preserve Insects."""
    finding = found(a_box_line(), a_system(), "pins_in_transit")
    assert not finding.deciding
    assert finding.remedy is not None
    assert "firm card" in finding.remedy
    assert "4 pins" in finding.remedy
    assert "Schauff" in finding.source
    assert "Ross" in finding.source


def test_for_the_journey_heads_must_not_press_the_lid():
    line = a_box_line(inner=size(380, 250, 37))
    finding = found(line, a_system(), "pins_in_transit")
    assert "press 1 mm" in finding.reason


def test_open_trays_are_not_posted():
    """Schauff (ed.) 1997, USDA, p. 50."""
    assert "Do not post" in found(a_tray_line(), a_system(), "pins_in_transit").reason
