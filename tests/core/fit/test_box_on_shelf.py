"""Storage boxes on shelves."""

from asking import answer_to, found
from builders import a_box_line, a_shelf, a_system, remembered, size

from service.core.fit.findings import Outcome, Verdict

# Browne 1884, Practical Taxidermy, p. 157: a double store box, 15 x 10 x 4 in.
BRITISH = size("15 in", "10 in", "4 in")


def test_a_british_store_box_stands_on_a_shelf_of_its_own_size():
    shelf = a_shelf(clear=size(381, 254, 101.6))
    finding = found(a_box_line(outer=BRITISH), a_system(box_shelves=(shelf,)), "box_on_shelf")
    assert finding.outcome is Outcome.PASS
    assert finding.margin_nm == 0


def test_a_box_is_tried_both_ways_round():
    shelf = a_shelf(clear=size(254, 381, 101.6))
    answer = answer_to(a_box_line(outer=BRITISH), a_system(box_shelves=(shelf,)))
    assert answer.turned
    assert answer.verdict is Verdict.AS_IT_IS


def test_a_box_that_is_too_high_fails_by_the_difference():
    finding = found(
        a_box_line(outer=BRITISH), a_system(box_shelves=(a_shelf(clear=size(900, 400, 100)),)), "box_on_shelf"
    )
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -1_600_000


def test_a_box_size_from_memory_decides_nothing():
    """The hinged North American box, 13 x 9 x 2 1/2 in: from memory."""
    line = a_box_line(outer=size(remembered("13 in"), remembered("9 in"), remembered("2 1/2 in")))
    assert found(line, a_system(), "box_on_shelf").outcome is Outcome.UNKNOWN


def test_a_receiver_who_publishes_no_shelf_takes_no_boxes():
    finding = found(a_box_line(), a_system(box_shelves=()), "box_on_shelf")
    assert finding.outcome is Outcome.FAIL
    assert finding.reason == "No shelf for boxes is published."


def test_more_boxes_than_places_are_a_caution():
    finding = found(a_box_line(count=41), a_system(), "room_on_shelf")
    assert finding.outcome is Outcome.CAUTION
    assert finding.remedy == "Find room for 1 more."


def test_places_that_nobody_counted_are_unknown():
    system = a_system(box_shelves=(a_shelf(free_places=None),))
    assert found(a_box_line(), system, "room_on_shelf").missing == ("system.box_shelves[boxes].free_places",)


def test_a_refused_box_without_trays_is_re_housed():
    assert answer_to(a_box_line(), a_system(box_shelves=())).verdict is Verdict.RE_HOUSE


def test_of_two_shelves_the_one_that_takes_the_box_is_named():
    low = a_shelf(code="low", clear=size(900, 400, 50))
    finding = found(a_box_line(), a_system(box_shelves=(low, a_shelf())), "box_on_shelf")
    assert finding.subject == "boxes"
