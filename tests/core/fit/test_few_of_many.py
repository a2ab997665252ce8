"""One reading too large condemns that drawer and not the line that it was taken from."""

from asking import answer_to
from builders import a_cabinet, a_line, a_system, mm, size

from service.core.fit.findings import Outcome, Verdict
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM


def read(*values: float) -> Dimension:
    return Dimension.measured(tuple(round(value * NM_PER_MM) for value in values))


#: Ten of a line of two hundred; the openings take 486 mm.
ONE_TOO_LARGE = read(485.0, 485.3, 485.1, 485.4, 485.2, 484.9, 485.3, 485.5, 485.1, 486.2)
MOST_TOO_LARGE = read(486.0, 486.3, 486.1, 486.4, 486.2, 485.9, 486.3, 486.5, 486.1, 487.2)


def of_width(width, count=200):
    return answer_to(a_line(count=count, outer=size(width, "16 1/2 in", "3 in")), a_system(cabinets=(CABINET,)))


def found(answer, rule):
    """What a rule decided."""
    (finding,) = [finding for finding in answer.findings if finding.rule == rule and finding.deciding]
    return finding


CABINET = a_cabinet(opening=size(read(486.0, 486.1), 425, 1985))


def test_two_hundred_drawers_come_as_they_are_though_one_of_ten_measured_ones_is_too_wide():
    answer = of_width(ONE_TOO_LARGE)
    plan = found(answer, "drawer_in_cabinet")
    assert answer.verdict is Verdict.AS_IT_IS
    assert plan.outcome is Outcome.CAUTION
    assert "0.2 mm too much" in plan.reason
    assert "of the 200 drawers are expected to bind" in plan.reason
    assert "by the tray" in plan.remedy
    assert plan.margin_nm == -200_000


def test_the_rule_on_tolerance_says_its_own_number_beside_it():
    spread = found(of_width(ONE_TOO_LARGE), "tolerance")
    assert spread.outcome is Outcome.CAUTION
    assert "of the 200 drawers are expected to bind" in spread.reason


def test_a_line_of_which_most_are_too_wide_does_not_come_as_it_is():
    answer = of_width(MOST_TOO_LARGE)
    assert answer.verdict is not Verdict.AS_IT_IS
    assert found(answer, "drawer_in_cabinet").outcome is Outcome.FAIL


def test_a_single_drawer_read_ten_times_is_too_wide_by_its_largest_reading():
    assert found(of_width(ONE_TOO_LARGE, count=1), "drawer_in_cabinet").outcome is Outcome.FAIL


def test_of_ten_drawers_all_measured_exactly_the_one_that_was_too_wide_binds():
    plan = found(of_width(ONE_TOO_LARGE, count=10), "drawer_in_cabinet")
    assert "about 1 of the 10 drawers is expected to bind" in plan.reason


def test_a_size_that_nobody_measured_fails_the_whole_line():
    assert found(of_width(mm(486.2)), "drawer_in_cabinet").outcome is Outcome.FAIL
