"""How many drawers of a line are expected to bind."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.consignment import Container, Line
from service.core.fit.case import Case
from service.core.fit.findings import Outcome
from service.core.fit.tolerance import scatter_of, tolerance_rule
from service.core.measure.dimension import Dimension, Grade, KnownAs, Size, ToleranceClass
from service.core.measure.lengths import NM_PER_MM
from service.core.measure.population import Exactly, Measured, Within
from service.core.standards import Cabinet, DrawerStandard, StorageSystem


def mm(value, plus_or_minus=None):
    tolerance_nm = None if plus_or_minus is None else round(plus_or_minus * NM_PER_MM)
    return Dimension(round(value * NM_PER_MM), tolerance_nm=tolerance_nm)


def read(*values):
    return Dimension.measured(tuple(round(value * NM_PER_MM) for value in values))


TEN_WIDTHS = (482.1, 482.4, 482.3, 482.9, 482.6, 482.2, 482.5, 483.0, 482.7, 482.8)
OPENING = Size(read(484.6, 484.9, 484.8, 484.7, 485.0), mm(425, 0.5), mm(1985))


def asked(width, opening=OPENING, count=200, turned=False, depth=None, height=None, pitch=None):
    line = Line(Container.DRAWER, count, outer=Size(width, depth, height))
    cabinet = Cabinet("steel", "Steel cabinet", 1, opening=opening, pitch=pitch)
    return tolerance_rule(Case(0, line, StorageSystem((cabinet,))), cabinet, turned)


def answer(*args, **kwargs):
    (finding,) = asked(*args, **kwargs)
    return finding


def test_ten_measured_drawers_with_room_to_spare_pass_for_two_hundred():
    finding = answer(read(*(width - 3 for width in TEN_WIDTHS)))
    assert (finding.outcome, finding.deciding, finding.missing) == (Outcome.PASS, True, ())
    assert "None of the 200 drawers is expected to bind" in finding.reason


def test_a_line_that_strays_into_its_openings_is_a_caution_with_a_number():
    finding = answer(read(*(width + 1.4 for width in TEN_WIDTHS)))
    assert finding.outcome is Outcome.CAUTION
    assert "of the 200 drawers are expected to bind" in finding.reason
    assert finding.remedy is not None


def test_a_line_whose_mean_is_too_large_fails():
    assert answer(read(*(width + 3 for width in TEN_WIDTHS))).outcome is Outcome.FAIL


def test_worst_case_and_root_sum_square_both_stand_in_the_figures():
    finding = answer(mm(482.6, 0.3), Size(mm(484, 0.4)), count=20)
    worst, likely = finding.comparisons
    assert (worst.what, likely.what) == ("width, worst case", "width, root-sum-square")
    assert (worst.value_nm, worst.limit_nm, worst.margin_nm) == (482_900_000, 483_600_000, 700_000)
    # 1.4 mm less the root of 0.3² + 0.4², which is 0.5: a three-four-five triangle.
    assert likely.margin_nm == 900_000
    assert finding.margin_nm == 700_000


def test_limits_that_never_meet_leave_no_chance_of_binding():
    finding = answer(mm(482.6, 0.3), Size(mm(484, 0.4)))
    assert finding.outcome is Outcome.PASS
    assert finding.reason.startswith("Within these limits none of the 200 drawers can bind.")
    single = answer(mm(482.6, 0.3), Size(mm(484, 0.4)), count=1)
    assert single.reason.startswith("Within these limits this drawer cannot bind.")


def test_a_number_and_its_chance_never_contradict_each_other():
    # Both spread evenly over 1 mm and overlap by 0.28 mm: half of 0.28 × 0.28 is 3.92 %, of 14 drawers 0.55.
    few = answer(mm(482.28, 0.5), Size(mm(483, 0.5)), count=14)
    assert few.reason.startswith("Fewer than one of the 14 drawers is expected to bind; the chance of any one is at")
    assert "at most 4 %." in few.reason
    # They overlap by 0.4 mm: 8 %, of 14 drawers 1.12.
    one = answer(mm(482.4, 0.5), Size(mm(483, 0.5)), count=14)
    assert one.reason.startswith(
        "About 1 of the 14 drawers is expected to bind; the chance of any one is at most 8 %."
    )
    every = answer(mm(486, 0.5), Size(mm(483, 0.5)), count=14)
    assert every.reason.startswith("All 14 drawers are expected to bind; the chance of any one is at most 100 %.")


def test_limits_that_just_overlap_leave_the_corner_of_a_rectangle():
    # Both spread evenly over 1 mm and overlap by 0.5 mm: one half times 0.5 × 0.5 of the square, 12.5 %.
    finding = answer(mm(482.5, 0.5), Size(mm(483, 0.5)))
    assert finding.outcome is Outcome.CAUTION
    assert "About 25 of the 200" in finding.reason


def test_a_single_drawer_that_may_bind_is_a_caution_and_not_a_pass():
    finding = answer(mm(482.5, 0.5), Size(mm(483, 0.5)), count=1)
    assert finding.outcome is Outcome.CAUTION
    assert "this drawer binds is at most 13 %" in finding.reason


def test_a_nominal_size_without_readings_is_unknown_and_says_what_is_assumed():
    finding = answer(mm(482.6))
    assert (finding.outcome, finding.deciding) == (Outcome.UNKNOWN, False)
    assert finding.missing == ("lines[0].outer.width",)
    assert "tolerance class c (coarse; ISO 2768-1" in finding.reason


def test_the_class_that_its_maker_states_takes_the_place_of_the_assumption():
    finding = answer(replace(mm(482.6), tolerance_class=ToleranceClass.FINE))
    assert (finding.outcome, finding.missing) == (Outcome.PASS, ())
    # ISO 2768-1, class f, over 400 up to 1000 mm: ± 0.3 mm.
    assert finding.comparisons[0].value_nm == 482_900_000


def test_an_opening_that_only_a_drawer_stands_in_for_is_unknown_even_if_that_drawer_was_measured():
    standard = DrawerStandard("amble", "Ambleford drawer", Size(read(484, 484.4, 484.2)))
    cabinet = Cabinet("steel", "Steel cabinet", 1, made_for="amble")
    line = Line(Container.DRAWER, 20, outer=Size(read(*TEN_WIDTHS)))
    (finding,) = tolerance_rule(Case(0, line, StorageSystem((cabinet,), (standard,))), cabinet, False)
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].opening.width",)
    assert "stands in" in finding.reason


def test_what_is_known_of_one_dimension_is_decided_whatever_is_unknown_of_another():
    told, left_open = asked(read(*(width + 1.4 for width in TEN_WIDTHS)), depth=mm(421))
    assert (told.outcome, told.deciding, told.missing) == (Outcome.CAUTION, True, ())
    assert {comparison.what for comparison in told.comparisons} == {"width, worst case", "width, root-sum-square"}
    assert (left_open.outcome, left_open.deciding) == (Outcome.UNKNOWN, False)
    assert left_open.missing == ("lines[0].outer.depth",)


def test_a_size_from_memory_decides_nothing():
    remembered = Dimension(480 * NM_PER_MM, KnownAs.HANDBOOK, tolerance_nm=100_000, grade=Grade.FROM_MEMORY)
    finding = answer(remembered)
    assert (finding.outcome, finding.deciding, finding.rests_on_memory) == (Outcome.UNKNOWN, False, True)


def test_turned_the_depth_goes_into_the_width_of_the_opening():
    finding = answer(mm(420, 0.1), turned=True, depth=mm(482, 0.1))
    whats = [comparison.what for comparison in finding.comparisons]
    assert whats[0] == "depth, worst case"
    assert finding.comparisons[0].value_nm == 482_100_000


def test_a_drawer_higher_than_one_position_is_left_to_the_rule_on_height():
    high = answer(mm(480, 0.1), height=mm(110, 0.1), pitch=mm(82.55, 0.1))
    assert not [comparison for comparison in high.comparisons if comparison.what.startswith("height")]
    low = answer(mm(480, 0.1), height=mm(80, 0.1), pitch=mm(82.55, 0.1))
    assert [comparison for comparison in low.comparisons if comparison.what.startswith("height")]


def test_without_any_size_it_says_nothing():
    assert asked(None) == ()


def test_how_a_dimension_strays_is_taken_from_the_best_that_is_known():
    assert isinstance(scatter_of(read(480, 481)).population, Measured)
    assert scatter_of(replace(mm(480, 0.2), tolerance_class=ToleranceClass.COARSE)).population == Within(
        480 * NM_PER_MM, 200_000
    )
    assert scatter_of(replace(mm(480), tolerance_class=ToleranceClass.MEDIUM)).population == Within(
        480 * NM_PER_MM, 800_000
    )
    assert scatter_of(mm(480)).assumed
    assert scatter_of(read(480), pieces=1).population == Exactly(480 * NM_PER_MM)
    assert scatter_of(read(480), pieces=2).assumed


@given(st.floats(0, 2), st.floats(0, 2), st.floats(0.5, 4))
def test_a_wider_tolerance_never_betters_the_answer(tolerance, more, gap):
    narrow = answer(mm(480, tolerance), Size(mm(480 + gap, 0.3)))
    wide = answer(mm(480, tolerance + more), Size(mm(480 + gap, 0.3)))
    assert wide.margin_nm <= narrow.margin_nm
    assert not (narrow.outcome is Outcome.CAUTION and wide.outcome is Outcome.PASS)


@pytest.mark.parametrize("count", [1, 5, 200])
def test_the_line_never_has_more_binding_drawers_than_drawers(count):
    finding = answer(mm(490, 0.5), Size(mm(483, 0.5), mm(425, 0.5)), count=count, depth=mm(430, 0.5))
    assert finding.outcome is Outcome.FAIL
    assert "100 %" in finding.reason
