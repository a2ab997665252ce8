"""How many positions a cabinet has, and whether enough of them are free."""

import pytest
from asking import found
from builders import a_cabinet, a_line, a_system, mm, size

from service.core.fit.check import check
from service.core.fit.drawer_in_cabinet import positions_each
from service.core.fit.findings import Outcome
from service.core.fit.room_in_cabinets import capacity, positions_in_column
from service.core.measure.lengths import length_from_mm

BROU_PITCH = 82.55  # Brou, Build it yourself cabinets: groove every 3 1/4 in, read from a damaged scan


@pytest.mark.parametrize(
    ("usable_mm", "pitch_mm", "positions"),
    [
        pytest.param(25 * BROU_PITCH, BROU_PITCH, 25, id="constructed from Brou's pitch"),
        pytest.param(25 * BROU_PITCH, 70.8, 29, id="the same height at the pitch that Richers' plan implies"),
        pytest.param(12 * BROU_PITCH, BROU_PITCH, 12, id="constructed from Brou's pitch"),
        pytest.param(12 * BROU_PITCH, 70.757, 14, id="Richers: 12 Cornell or 14 CAS drawers"),
        pytest.param(1016, 57.15, 17, id="Abbott 1954, American Seashells, p. 65: 40 in, runners 2 1/4 in apart"),
    ],
)
def test_a_column_has_as_many_positions_as_its_pitch_goes_into_its_height(usable_mm, pitch_mm, positions):
    assert positions_in_column(length_from_mm(usable_mm), length_from_mm(pitch_mm)) == positions


def test_an_extra_high_drawer_of_110_mm_takes_two_positions_of_82_55_mm():
    """110 mm outside: Milwaukee Public Museum, storage procedure for papered Lepidoptera."""
    assert positions_each(length_from_mm(110), length_from_mm(BROU_PITCH)) == 2


def test_four_cabinets_of_48_hold_192_drawers():
    """Michigan State University Arthropod Research Collection, renovation of 2008."""
    assert capacity(a_cabinet(count=4, columns=2, positions_per_column=24)) == 192


def test_two_rows_of_ten_rows_and_three_make_69_drawers_in_three_columns():
    """Holland 1898, The Butterfly Book: sections of 30, 30 and 9 drawers in three columns."""
    sections = [a_cabinet(count=1, columns=3, positions_per_column=rows) for rows in (10, 10, 3)]
    assert sum(capacity(section) or 0 for section in sections) == 69


def test_without_a_count_the_height_and_the_pitch_give_it():
    assert capacity(a_cabinet(count=1, columns=2, positions_per_column=None, opening=size(1, 1, 1985))) == 48


def test_without_either_the_capacity_is_unknown():
    assert capacity(a_cabinet(positions_per_column=None, opening=size(1, 1), pitch=mm(82.55))) is None


def test_too_few_free_positions_are_a_caution_and_no_verdict():
    finding = found(a_line(count=12), a_system(cabinets=(a_cabinet(free_positions=11),)), "room_in_cabinets")
    assert finding.outcome is Outcome.CAUTION
    assert not finding.deciding
    assert finding.remedy == "Find or buy 1 more position."


def test_exactly_enough_free_positions_are_enough():
    finding = found(a_line(count=12), a_system(cabinets=(a_cabinet(free_positions=12),)), "room_in_cabinets")
    assert finding.outcome is Outcome.PASS


def test_unstated_free_positions_are_unknown():
    finding = found(a_line(), a_system(cabinets=(a_cabinet(free_positions=None),)), "room_in_cabinets")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].free_positions",)


def test_drawers_of_unstated_height_leave_open_how_many_positions_they_take_and_not_how_many_are_free():
    unseen = a_line(count=5, outer=size("19 in", "16 1/2 in", None))
    finding = found(unseen, a_system(cabinets=(a_cabinet(free_positions=420),)), "room_in_cabinets")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("lines[0].outer.height",)
    assert "5 positions are wanted at least and 420 of 480 are free" in finding.reason
    assert finding.reason.endswith("because nobody has stated the height of the drawer.")


def test_an_unstated_pitch_leaves_open_how_many_positions_they_take():
    system = a_system(cabinets=(a_cabinet(pitch=None, made_for=None),))
    assert found(a_line(), system, "room_in_cabinets").missing == ("system.cabinets[steel].pitch",)


def test_more_drawers_than_free_positions_are_too_many_whatever_their_height():
    """Each takes at least one position."""
    unseen = a_line(count=12, outer=size("19 in", "16 1/2 in", None))
    finding = found(unseen, a_system(cabinets=(a_cabinet(free_positions=10),)), "room_in_cabinets")
    assert finding.outcome is Outcome.CAUTION
    assert finding.remedy == "Find or buy 2 more positions."


def test_lines_that_find_room_one_by_one_may_not_find_it_together():
    answer = check((a_line(count=60), a_line(count=60)), a_system())
    assert any("120 positions" in caution and "100 are free" in caution for caution in answer.cautions)
