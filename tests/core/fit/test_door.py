"""A door may leave less than the inside of the cabinet does: a type-slide cabinet once met a safe's door."""

import pytest
from asking import answer_to, found
from builders import a_cabinet, a_line, a_system, mm, size

from service.core.fit.findings import Outcome, Verdict
from service.core.standards import Doorway


def behind_a_door(width=None, height=None):
    return a_system(cabinets=(a_cabinet(doorway=Doorway.NARROWER, door_width=mm(width), door_height=mm(height)),))


@pytest.mark.parametrize("doorway", [Doorway.NO_DOOR, Doorway.CLEARS_OPENING])
def test_no_door_and_a_door_that_clears_the_opening_let_every_drawer_by(doorway):
    assert found(a_line(), a_system(cabinets=(a_cabinet(doorway=doorway),)), "door").outcome is Outcome.PASS


def test_a_drawer_wider_than_the_door_stays_outside_though_the_cabinet_would_hold_it():
    answer = answer_to(a_line(), behind_a_door(480, 1900))
    finding = next(finding for finding in answer.findings if finding.rule == "door")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -2_600_000
    assert answer.verdict is Verdict.BY_THE_TRAY


def test_a_drawer_as_wide_as_the_door_passes_it():
    assert found(a_line(), behind_a_door(482.6, 76.2), "door").outcome is Outcome.PASS


def test_a_drawer_that_goes_in_turned_passes_the_door_turned():
    line = a_line(outer=size(419.1, 482.6, 76.2))
    answer = answer_to(line, behind_a_door(482.6, 1900))
    assert answer.turned
    assert answer.verdict is Verdict.AS_IT_IS


def test_a_narrower_door_of_unstated_size_is_asked_for():
    finding = found(a_line(), behind_a_door(height=1900), "door")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].door_width",)


def test_a_door_that_nobody_speaks_of_is_unknown():
    finding = found(a_line(), a_system(cabinets=(a_cabinet(doorway=None),)), "door")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("system.cabinets[steel].doorway",)


def test_what_goes_in_turned_has_to_pass_the_door_with_its_longer_side():
    line = a_line(outer=size(419.1, 482.6, 76.2))
    finding = found(line, behind_a_door(450, 1900), "door")
    assert finding.outcome is Outcome.FAIL
    assert finding.margin_nm == -32_600_000
