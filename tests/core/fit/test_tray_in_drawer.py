"""Unit trays in the receiver's drawers: how many lie in one, what stays free, and the height of the rim."""

from dataclasses import replace
from decimal import Decimal

import pytest
from asking import answer_to, found
from builders import (
    a_bottom,
    a_drawer_standard,
    a_line,
    a_system,
    a_tray_line,
    a_tray_lot,
    a_tray_series,
    remembered,
    size,
)

from service.core.fit.findings import Outcome, Verdict
from service.core.measure.dimension import Dimension

# Abbott 1954, American Seashells, p. 65: a drawer 20 x 30 in inside, trays in multiples of 1 1/2 x 2 in.
ABBOTT = a_drawer_standard(inner=size("20 in", "30 in", "1 5/8 in"))


def abbott(play_nm=0, **changes):
    series = a_tray_series(trays=(), play_nm=play_nm, may_turn=False)
    return a_system(drawers=(ABBOTT,), tray_series=(series,), **changes)


def trays(width, depth, **changes):
    return a_tray_line(**{"outer": size(width, depth, "3/4 in"), "count": 1000} | changes)


@pytest.mark.parametrize(
    ("width", "depth", "count"),
    [
        ("2 in", "1 1/2 in", 200),
        ("1 1/2 in", "2 in", 195),
        ("2 in", "3 in", 100),
        ("4 in", "3 in", 50),
        ("3 in", "2 in", 90),
    ],
)
def test_abbotts_modular_trays_fill_his_drawer(width, depth, count):
    (fit,) = answer_to(trays(width, depth), abbott()).tray_fits
    assert fit.tiling.count == count


def test_half_a_millimetre_of_play_costs_abbotts_drawer_29_trays():
    (fit,) = answer_to(trays("2 in", "1 1/2 in"), abbott(play_nm=500_000)).tray_fits
    assert fit.tiling.count == 171


def test_a_quarter_kept_free_leaves_150_of_200():
    """Constructed: a drawer of 200 with 25 % kept free is planned for 150."""
    (fit,) = answer_to(trays("2 in", "1 1/2 in"), abbott(growth_reserve_percent=Decimal(25))).tray_fits
    assert fit.usable_per_drawer == 150
    assert fit.drawers == 7  # 1,000 trays, 150 to a drawer


def test_without_a_growth_reserve_the_trays_fit_and_the_drawers_are_unknown():
    answer = answer_to(a_tray_line(), a_system(growth_reserve_percent=None))
    assert answer.verdict is Verdict.BY_THE_TRAY
    assert answer.needed.drawers is None
    assert answer.needed.trays_moved == 200


def test_one_tray_that_fills_its_drawer_takes_a_drawer_though_no_part_of_it_is_free():
    (fit,) = answer_to(a_tray_line(outer=size(440, 380, 41), count=3), a_system()).tray_fits
    assert (fit.tiling.count, fit.usable_per_drawer, fit.drawers) == (1, 1, 3)


def test_a_tray_wider_than_the_drawer_fails():
    finding = found(a_tray_line(outer=size(451, 96.5, 41)), a_system(), "tray_in_drawer")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -1_000_000


def test_a_tray_that_would_lie_turned_fails_where_trays_do_not_turn_and_the_answer_says_so():
    finding = found(a_tray_line(outer=size(100, 400, 41)), a_system(), "tray_in_drawer")
    assert finding.outcome is Outcome.FAIL
    assert finding.remedy is not None
    assert "With the label to the side 3 would lie in it" in finding.remedy


def test_the_play_can_push_the_last_tray_out():
    exact = a_tray_line(outer=size(450, 388, 41))
    assert found(exact, a_system(), "tray_in_drawer").outcome is Outcome.FAIL
    without_play = a_system(tray_series=(a_tray_series(play_nm=0),))
    assert found(exact, without_play, "tray_in_drawer").outcome is Outcome.PASS


def test_unstated_play_is_none_with_a_caution():
    finding = found(a_tray_line(), a_system(tray_series=(a_tray_series(play_nm=None),)), "tray_in_drawer")
    assert finding.outcome is Outcome.CAUTION
    assert "No play is stated" in finding.reason


def test_a_tray_of_the_receivers_own_size_is_recognised_whichever_side_is_called_its_width():
    finding = found(a_tray_line(outer=size(96.5, 99.5, 41)), a_system(), "tray_in_drawer")
    assert "your own “Half tray”" in finding.reason


def test_a_rim_higher_than_the_drawer_fails_by_the_difference():
    finding = found(a_tray_line(outer=size(99.5, 96.5, 62)), a_system(), "tray_under_lid")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -1_000_000
    assert finding.remedy == "Cut 1 mm off the rims of the trays."


def test_a_lining_lifts_the_trays_and_its_thickness_has_to_be_known():
    lined = a_drawer_standard(lining=a_bottom(thickness=None))
    finding = found(a_tray_line(), a_system(drawers=(lined,)), "tray_under_lid")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.drawers[house].lining.thickness",)


@pytest.mark.parametrize(
    ("line", "drawer", "field"),
    [
        (a_tray_line(outer=size(None, 96.5, 41)), a_drawer_standard(), "lines[0].outer.width"),
        (a_tray_line(), a_drawer_standard(inner=size(450, None, 61)), "system.drawers[house].inner.depth"),
    ],
)
def test_a_missing_side_holds_the_line_and_is_asked_for(line, drawer, field):
    answer = answer_to(line, a_system(drawers=(drawer,)))
    assert answer.verdict is Verdict.HOLD
    assert field in answer.missing


def test_trays_in_drawers_are_asked_for_by_their_place_in_the_line():
    line = a_line(outer=size(600, 600, 76.2), trays=(a_tray_lot(), a_tray_lot(outer=size(99.5, None, 41))))
    assert "lines[0].trays[1].outer.depth" in answer_to(line, a_system()).missing


def test_a_drawer_measured_by_memory_decides_nothing_but_a_side_that_is_known_to_be_too_long_fails():
    by_memory = a_system(drawers=(a_drawer_standard(inner=size(450, remembered(388), 61)),))
    assert found(a_tray_line(), by_memory, "tray_in_drawer").outcome is Outcome.UNKNOWN
    too_wide = a_tray_line(outer=size(460, 96.5, 41))
    assert found(too_wide, by_memory, "tray_in_drawer").outcome is Outcome.FAIL


def test_each_size_goes_to_the_drawer_that_holds_most_of_it():
    large = a_drawer_standard(code="large", inner=size(600, 500, 61))
    low = a_drawer_standard(code="low", inner=size(900, 900, 30))
    answer = answer_to(a_tray_line(), a_system(drawers=(low, a_drawer_standard(), large)))
    assert [fit.drawer for fit in answer.tray_fits] == ["large"]


def test_sizes_that_cannot_be_trays_are_a_slip_of_a_unit_and_stay_unknown():
    finding = found(a_tray_line(outer=size(0.5, 0.5, 41)), a_system(), "tray_in_drawer")
    assert finding.outcome is Outcome.UNKNOWN
    assert "check their unit" in finding.reason


def test_the_widest_tray_measured_decides():
    width = Dimension.measured((99_500_000, 150_000_000))
    outer = replace(size(1, 96.5, 41), width=width)
    (fit,) = answer_to(a_tray_line(outer=outer), a_system()).tray_fits
    assert fit.tiling.count == 8  # two of 150.5 mm side by side in 450 mm, four of 97 mm deep in 388 mm


def test_a_receiver_without_drawers_takes_no_trays():
    assert answer_to(a_tray_line(), a_system(drawers=())).verdict is Verdict.RE_HOUSE


def test_the_height_of_a_tray_has_to_be_known():
    answer = answer_to(a_tray_line(outer=size(99.5, 96.5, None)), a_system())
    assert answer.verdict is Verdict.HOLD
    assert answer.missing == ("lines[0].outer.height",)
