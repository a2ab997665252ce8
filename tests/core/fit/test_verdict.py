"""The verdict on a line: the least work that nothing speaks against."""

import pytest
from asking import answer_to
from builders import (
    a_bottom,
    a_box_line,
    a_cabinet,
    a_drawer_standard,
    a_line,
    a_policy,
    a_system,
    a_tray_line,
    a_tray_lot,
    size,
    some_pins,
)

from service.core.fit.check import check
from service.core.fit.findings import Outcome, Verdict
from service.core.fit.routes import Route
from service.core.fit.verdict import decide
from service.core.materials import Bottom
from service.core.standards import StorageSystem

TOO_WIDE = size(600, 600, 76.2)


def test_drawers_of_the_houses_own_size_go_straight_in():
    answer = answer_to(a_line(), a_system())
    assert answer.verdict is Verdict.AS_IT_IS
    assert (answer.cabinet, answer.turned, answer.missing) == ("steel", False, ())


def test_where_the_drawers_do_not_go_in_their_trays_move_over():
    answer = answer_to(a_line(outer=TOO_WIDE), a_system())
    assert answer.verdict is Verdict.BY_THE_TRAY
    assert answer.drawer == "house"
    assert {finding.route for finding in answer.deciding} == {Verdict.AS_IT_IS, Verdict.BY_THE_TRAY}


def test_drawers_without_trays_that_do_not_go_in_are_re_housed():
    answer = answer_to(a_line(outer=TOO_WIDE, trays=(), lining=a_bottom()), a_system())
    assert answer.verdict is Verdict.RE_HOUSE


def test_where_neither_drawers_nor_trays_go_in_specimens_are_re_housed():
    answer = answer_to(a_line(outer=TOO_WIDE, trays=(a_tray_lot(outer=size(99.5, 96.5, 70)),)), a_system())
    assert answer.verdict is Verdict.RE_HOUSE
    assert answer.needed.specimens_moved == 2000


def test_boxes_go_on_their_shelf():
    assert answer_to(a_box_line(), a_system()).verdict is Verdict.AS_IT_IS


def test_loose_trays_have_no_way_in_but_their_own():
    answer = answer_to(a_tray_line(), a_system())
    assert answer.verdict is Verdict.BY_THE_TRAY
    assert {finding.route for finding in answer.deciding} == {Verdict.BY_THE_TRAY}


def test_a_missing_fact_holds_the_line_and_says_what_would_happen_otherwise():
    answer = answer_to(a_line(outer=size(482.6, None, 76.2)), a_system())
    assert answer.verdict is Verdict.HOLD
    assert answer.missing == ("lines[0].outer.depth",)
    assert answer.otherwise is Verdict.BY_THE_TRAY
    assert answer.needed.drawers is None


def test_a_hold_on_drawers_and_trays_both_falls_back_to_re_housing():
    answer = answer_to(a_line(outer=size(482.6, None, 76.2), trays=None), a_system())
    assert answer.verdict is Verdict.HOLD
    assert answer.otherwise is Verdict.RE_HOUSE


def test_a_hold_on_boxes_without_trays_falls_back_to_re_housing():
    answer = answer_to(a_box_line(outer=size(390, 260, None)), a_system())
    assert (answer.verdict, answer.otherwise) == (Verdict.HOLD, Verdict.RE_HOUSE)


def test_trays_that_nobody_spoke_of_are_asked_for_once_the_drawers_are_out():
    answer = answer_to(a_line(outer=TOO_WIDE, trays=None), a_system())
    assert answer.verdict is Verdict.HOLD
    assert answer.missing == ("lines[0].trays",)
    assert answer.otherwise is Verdict.RE_HOUSE


def test_a_plain_no_is_not_held_up_by_what_is_missing_beside_it():
    answer = answer_to(a_line(outer=size(600, 600, None)), a_system())
    assert answer.verdict is Verdict.BY_THE_TRAY


def test_a_caution_does_not_keep_a_line_out():
    system = a_system(cabinets=(a_cabinet(runners_removable=True),))
    answer = answer_to(a_line(outer=size(482.6, 419.1, 100)), system)
    assert answer.verdict is Verdict.AS_IT_IS
    assert any(finding.outcome is Outcome.CAUTION for finding in answer.deciding)


def test_advice_alone_never_changes_a_verdict():
    system = a_system(cabinets=(a_cabinet(free_positions=0),))
    assert answer_to(a_line(closure=None, pest_signs=None), system).verdict is Verdict.AS_IT_IS


def test_what_decides_stands_before_what_advises():
    deciding = [finding.deciding for finding in answer_to(a_line(), a_system()).findings]
    assert deciding == sorted(deciding, reverse=True)


def test_lines_are_counted_from_one_and_verdicts_are_added_up():
    lines = (a_line(count=4), a_line(count=6), a_box_line(), a_line(outer=TOO_WIDE), a_line(trays=None))
    answer = check(lines, a_system())
    assert [line.line for line in answer.lines] == [1, 2, 3, 4, 5]
    assert {count.verdict: (count.lines, count.containers) for count in answer.counts} == {
        Verdict.AS_IT_IS: (3, 19),
        Verdict.BY_THE_TRAY: (1, 10),
        Verdict.RE_HOUSE: (0, 0),
        Verdict.HOLD: (1, 10),
    }


def test_the_same_question_gets_the_same_answer():
    lines = (a_line(), a_box_line(), a_tray_line())
    assert check(lines, a_system()) == check(lines, a_system())


def test_a_way_in_about_which_nothing_is_known_is_not_open():
    decision = decide(iter([Route(Verdict.AS_IT_IS, ())]))
    assert (decision.verdict, decision.otherwise) == (Verdict.HOLD, Verdict.RE_HOUSE)


def test_an_empty_consignment_gets_an_empty_answer():
    answer = check((), a_system())
    assert answer.lines == ()
    assert answer.cautions == ()
    assert answer.cost.total == 0


def test_an_institution_that_has_published_nothing_re_houses_what_it_is_sent():
    assert answer_to(a_line(), StorageSystem()).verdict is Verdict.RE_HOUSE


@pytest.mark.parametrize("height", [39, 41])
def test_pins_too_long_for_the_receivers_drawers_still_come_in_with_their_own(height):
    """The receiver's lids are low; the sender's are not."""
    system = a_system(drawers=(a_drawer_standard(inner=size(450, 388, height)),))
    assert answer_to(a_line(), system).verdict is Verdict.AS_IT_IS


def test_a_refused_bottom_in_the_trays_keeps_the_trays_out_too():
    line = a_line(outer=TOO_WIDE, trays=(a_tray_lot(bottom=a_bottom(Bottom.PEAT)),))
    assert answer_to(line, a_system(materials=a_policy(treatments=()))).verdict is Verdict.RE_HOUSE


def test_every_reason_is_a_sentence():
    lines = (a_line(), a_box_line(), a_tray_line(), a_line(outer=TOO_WIDE, trays=None, pins=some_pins(None, None)))
    for line in check(lines, a_system()).lines:
        for finding in line.findings:
            assert not finding.reason[0].islower()
            assert finding.reason.endswith(".")
            assert finding.source
