"""What a consignment takes, and what that costs at the receiver's own rates."""

from decimal import Decimal

import pytest
from asking import answer_to
from builders import (
    a_bottom,
    a_box_line,
    a_line,
    a_system,
    a_tray_line,
    a_tray_lot,
    a_tray_series,
    a_tray_standard,
    size,
    some_rates,
)

from service.core.fit.check import check
from service.core.fit.cost import cents, lines_named
from service.core.fit.findings import Verdict
from service.core.standards import CostRates

TOO_WIDE = size(600, 600, 76.2)


def re_housed(**changes):
    return a_line(**{"outer": TOO_WIDE, "trays": (), "lining": a_bottom()} | changes)


def item(answer, what):
    return next(item for item in answer.cost.items if item.what == what)


def test_drawers_that_go_straight_in_take_positions_and_somebody_to_place_them():
    needed = answer_to(a_line(count=10), a_system()).needed
    assert (needed.drawers, needed.trays, needed.trays_moved, needed.specimens_moved) == (0, 0, 0, 0)
    assert (needed.drawers_placed, needed.cabinet_positions) == (10, 10)


def test_boxes_take_no_positions():
    assert answer_to(a_box_line(), a_system()).needed.cabinet_positions == 0


def test_trays_take_drawers_by_their_size_and_each_drawer_a_position():
    answer = answer_to(a_tray_line(count=200), a_system())
    # 4 x 4 trays of 100 x 97 mm with their play in 450 x 388 mm; 12 of 16 with a fifth kept free; 200 / 12 = 16.7
    assert answer.needed.drawers == 17
    assert answer.needed.cabinet_positions == 17
    assert answer.needed.trays_moved == 200


def test_area_alone_bounds_the_drawers_from_below():
    needed = answer_to(a_tray_line(count=200), a_system()).needed
    # 200 x 99.5 x 96.5 mm over four fifths of 450 x 388 mm is 13.7 drawers
    assert needed.drawers_at_least == 14


def test_each_size_of_tray_is_counted_in_drawers_of_its_own():
    lots = (a_tray_lot(count=13), a_tray_lot(count=1, outer=size(49.5, 96.5, 41)))
    needed = answer_to(a_line(outer=TOO_WIDE, trays=lots), a_system()).needed
    assert needed.drawers == 2 + 1
    assert needed.trays_moved == 14


def test_re_housing_counts_drawers_by_the_specimens_with_the_reserve_kept():
    answer = answer_to(re_housed(specimens=2000), a_system())
    assert answer.verdict is Verdict.RE_HOUSE
    # 220 to a drawer, a fifth kept free: 176; 2,000 / 176 = 11.4
    assert answer.needed.drawers == 12
    assert answer.needed.trays == 12 * 12
    assert answer.needed.specimens_moved == 2000
    assert answer.needed.bottom_sheet_mm2 == 144 * 96 * 93


def test_a_capacity_of_200_with_a_quarter_kept_free_is_planned_for_150():
    """Constructed. 200 to a drawer is what the Natural History Museum, London, comes to: 28,000,000 / 140,000."""
    system = a_system(growth_reserve_percent=Decimal(25), rates=some_rates(specimens_per_drawer=None))
    assert answer_to(re_housed(specimens=150), system).needed.drawers == 1
    assert answer_to(re_housed(specimens=151), system).needed.drawers == 2


def test_bottom_sheet_is_reckoned_from_the_outer_size_where_no_inner_is_published_and_says_so():
    series = a_tray_series(trays=(a_tray_standard(inner=size()),))
    answer = answer_to(re_housed(), a_system(tray_series=(series,)))
    assert answer.needed.bottom_sheet_mm2 == -(-144 * 995 * 965 // 100)
    assert any("reckoned from the outer" in finding.reason for finding in answer.findings)


def test_specimens_may_be_counted_by_their_trays():
    line = re_housed(specimens=None, trays=(a_tray_lot(outer=size(99.5, 96.5, 70), specimens=352),))
    assert answer_to(line, a_system()).needed.drawers == 2


@pytest.mark.parametrize("changes", [{"line": {"specimens": None}}, {"system": {"growth_reserve_percent": None}}])
def test_without_specimens_or_a_reserve_re_housing_cannot_be_counted(changes):
    answer = answer_to(re_housed(**changes.get("line", {})), a_system(**changes.get("system", {})))
    assert answer.verdict is Verdict.RE_HOUSE
    assert answer.needed.drawers is None
    assert answer.needed.trays is None


def test_the_amounts_are_quantity_times_rate_and_add_up_to_the_total():
    answer = check((a_line(), a_tray_line(), re_housed()), a_system())
    assert answer.cost.complete
    for each in answer.cost.items:
        assert each.amount == cents(each.quantity * each.rate)
    assert answer.cost.total == sum(each.amount for each in answer.cost.items)


def test_5_111_specimens_at_the_published_pace_take_65_hours():
    """Triplehorn Insect Collection, Ohio State: 5,111 specimens in 65 person-hours."""
    system = a_system(rates=some_rates(specimens_moved_per_h=None))
    hours = item(check((re_housed(specimens=5111),), system), "moving specimens")
    assert round(hours.quantity) == 65
    assert "one job at one museum" in hours.note


def test_an_unknown_rate_leaves_its_amount_open_and_the_cost_incomplete():
    answer = check((a_tray_line(),), a_system(rates=some_rates(drawer=None)))
    assert item(answer, "drawers").amount is None
    assert not answer.cost.complete
    assert answer.cost.total == sum(each.amount for each in answer.cost.items if each.amount is not None)


def test_an_unknown_pace_leaves_the_hours_open():
    answer = check((a_tray_line(),), a_system(rates=some_rates(trays_moved_per_h=None)))
    assert item(answer, "moving trays").quantity is None
    assert not answer.cost.complete


def test_a_rate_for_what_is_not_needed_is_not_missed():
    answer = check((a_line(),), a_system(rates=some_rates(tray=None, drawer=None, trays_moved_per_h=None)))
    assert answer.cost.complete


def test_a_line_on_hold_leaves_the_cost_incomplete_and_is_named():
    answer = check((a_line(), a_line(trays=None)), a_system())
    assert not answer.cost.complete
    assert answer.needed.cabinet_positions == 10
    assert "line 2" in item(answer, "cabinet positions").note


def test_without_any_rates_only_quantities_are_told():
    answer = check((re_housed(),), a_system(rates=CostRates()))
    assert item(answer, "drawers").quantity == 13  # 160 of the handbook's 200 to a drawer
    assert answer.cost.total == 0
    assert answer.cost.currency is None
    assert not answer.cost.complete


def test_halves_of_a_cent_round_up():
    assert cents(Decimal("0.125")) == Decimal("0.13")


def test_the_bound_by_area_yields_where_no_part_of_a_drawer_can_be_kept_free():
    """440 x 380 mm fills a drawer of 450 x 388 mm; a fifth of each cannot stay free beside it."""
    needed = answer_to(a_tray_line(outer=size(440, 380, 41), count=3), a_system()).needed
    assert (needed.drawers, needed.drawers_at_least) == (3, 3)


def test_lines_are_named_as_a_sentence_names_them():
    assert [lines_named(numbers) for numbers in ((4,), (1, 4), (1, 2, 4))] == [
        "line 4",
        "lines 1 and 4",
        "lines 1, 2 and 4",
    ]
