"""Does a drawer pass the door? A door, its hinges or a post may leave less than the inside does."""

from service.core.fit.case import Case
from service.core.fit.comparing import GEOMETRY, Side, Trial, missing_from, outcome_of_all, sentences
from service.core.fit.findings import Finding, Outcome
from service.core.fit.slot import Slot, outer_side, plane_off
from service.core.standards import Cabinet, Doorway


def door_rule(case: Case, cabinet: Cabinet, turned: bool) -> tuple[Finding, ...]:
    """The door in front of the positions, one way round."""
    slot = Slot.of(cabinet, case.system)
    if cabinet.doorway is None:
        reason = f"Nobody has stated whether the open door of {slot.name} leaves the whole opening free."
        missing = (slot.field("doorway"),)
        return (Finding("door", Outcome.UNKNOWN, reason, GEOMETRY, slot.subject, missing=missing),)
    if cabinet.doorway is Doorway.NO_DOOR:
        return (Finding("door", Outcome.PASS, f"No door stands before {slot.name}.", GEOMETRY, slot.subject),)
    if cabinet.doorway is Doorway.CLEARS_OPENING:
        reason = f"The open door of {slot.name} leaves the whole opening free."
        return (Finding("door", Outcome.PASS, reason, GEOMETRY, slot.subject),)
    return (_through_a_narrower_door(case, slot, turned),)


def _through_a_narrower_door(case: Case, slot: Slot, turned: bool) -> Finding:
    across, cabinet = "depth" if turned else "width", slot.cabinet
    width = Side(cabinet.door_width, f"the width of the door of {slot.name}", slot.field("door_width"))
    height = Side(cabinet.door_height, f"the height of the door of {slot.name}", slot.field("door_height"))
    trials = (
        Trial(outer_side(case.line, across, case.asks(f"outer.{across}")), width, "width of the door"),
        Trial(outer_side(case.line, "height", case.asks("outer.height")), height, "height of the door"),
    )
    outcome = outcome_of_all(trials)
    mends = [
        plane_off(case.line, trial.thing.field.rsplit(".", 1)[-1], -(trial.comparison.margin_nm or 0))
        for trial in trials
        if trial.outcome is Outcome.FAIL
    ]
    return Finding(
        "door",
        outcome,
        sentences(trials),
        GEOMETRY,
        slot.subject,
        tuple(trial.comparison for trial in trials),
        f"{'; '.join(mends)}." if mends else None,
        missing_from(trials),
    )
