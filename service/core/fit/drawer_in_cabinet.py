"""Does a drawer go into a cabinet, is it carried there, and how many positions does it take?

Neither sources nor senders agree on which side of a drawer is its front, so each is tried both ways round.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.core.consignment import Line
from service.core.fit.case import Case
from service.core.fit.comparing import (
    GEOMETRY,
    Trial,
    capital,
    missing_from,
    outcome_of_all,
    room_for,
    sentences,
)
from service.core.fit.findings import Comparison, Finding, Outcome
from service.core.fit.slot import Slot, outer_side, plane_off
from service.core.fit.tolerance import Few, few_that_bind
from service.core.standards import Cabinet, Support


class Entry(StrEnum):
    """How a drawer sits in an opening, by its plan alone."""

    TIGHT = "tight"
    """It enters and has no more play than is usual."""
    LOOSE = "loose"
    """It enters, with so much play that something has to be said about what carries it."""
    NO = "no"


@dataclass(frozen=True, slots=True)
class Entrance:
    """One drawer before one opening. A spare below zero is what is missing."""

    entry: Entry
    width_spare_nm: int
    depth_spare_nm: int
    turned: bool = False

    @property
    def margin_nm(self) -> int:
        return min(self.width_spare_nm, self.depth_spare_nm)


def enters(
    width_nm: int,
    depth_nm: int,
    opening_width_nm: int,
    opening_depth_nm: int,
    usual_play_nm: int,
    turned: bool = False,
) -> Entrance:
    """A drawer before an opening, one way round: ``width_nm`` is the side along the front of the cabinet."""
    width_spare_nm, depth_spare_nm = opening_width_nm - width_nm, opening_depth_nm - depth_nm
    entry = Entry.TIGHT
    if max(width_spare_nm, depth_spare_nm) > usual_play_nm:
        entry = Entry.LOOSE
    if min(width_spare_nm, depth_spare_nm) < 0:
        entry = Entry.NO
    return Entrance(entry, width_spare_nm, depth_spare_nm, turned)


def enters_either_way(
    width_nm: int, depth_nm: int, opening_width_nm: int, opening_depth_nm: int, usual_play_nm: int
) -> Entrance:
    """The better of both ways round; the plain way where neither is better."""
    ways = (
        enters(width_nm, depth_nm, opening_width_nm, opening_depth_nm, usual_play_nm),
        enters(depth_nm, width_nm, opening_width_nm, opening_depth_nm, usual_play_nm, turned=True),
    )
    rank = {Entry.TIGHT: 2, Entry.LOOSE: 1, Entry.NO: 0}
    return max(ways, key=lambda way: (rank[way.entry], way.margin_nm))


def positions_each(height_nm: int, pitch_nm: int) -> int:
    """How many positions a drawer of this height takes up."""
    return max(1, -(-height_nm // pitch_nm))


def plan_rule(case: Case, cabinet: Cabinet, turned: bool) -> tuple[Finding, ...]:
    """Width and depth against the opening, one way round."""
    slot = Slot.of(cabinet, case.system)
    across, along = ("depth", "width") if turned else ("width", "depth")
    trials = (
        Trial(outer_side(case.line, across, case.asks(f"outer.{across}")), slot.width_side(), "width"),
        Trial(outer_side(case.line, along, case.asks(f"outer.{along}")), slot.depth_side(), "depth"),
    )
    few = few_that_bind(case.line, trials) if outcome_of_all(trials) is Outcome.FAIL else None
    outcome = Outcome.CAUTION if few else outcome_of_all(trials)
    remarks = (
        _few_of_many(few, trials) if few else sentences(trials),
        "It goes in with its front to the side." if turned else None,
        slot.assumption(),
    )
    finding = Finding(
        "drawer_in_cabinet",
        outcome,
        " ".join(remark for remark in remarks if remark),
        GEOMETRY,
        slot.subject,
        tuple(trial.comparison for trial in trials),
        _mend(case.line, trials, slot, few),
        missing_from(trials),
    )
    return (finding,)


def _few_of_many(few: Few, trials: tuple[Trial, ...]) -> str:
    """What the largest reading says of itself, and what all the readings say of the line."""
    return f"{sentences(trials)} That is the largest reading; {few.sentence()}"


def _mend(line: Line, trials: tuple[Trial, ...], slot: Slot, few: Few | None) -> str | None:
    if few:
        return "Try every drawer before it travels; those that bind are planed, or go by the tray."
    return _mend_plan(line, trials, slot) if outcome_of_all(trials) is Outcome.FAIL else None


def _mend_plan(line: Line, trials: tuple[Trial, ...], slot: Slot) -> str:
    """What to take off, or what to measure first where the opening is only assumed."""
    mends = [
        plane_off(line, trial.thing.field.rsplit(".", 1)[-1], -margin_nm)
        for trial in trials
        if trial.outcome is Outcome.FAIL and (margin_nm := trial.comparison.margin_nm) is not None
    ]
    measure = [f"measure the opening of {slot.name} first"] if slot.unmeasured() else []
    return capital("; ".join(measure + mends)) + "."


def height_rule(case: Case, cabinet: Cabinet, turned: bool) -> tuple[Finding, ...]:  # noqa: ARG001 - either way
    """Height against the pitch: one position, several, or none."""
    slot = Slot.of(cabinet, case.system)
    trial = Trial(outer_side(case.line, "height", case.asks("outer.height")), slot.height_side(), "height")
    margin_nm = trial.comparison.margin_nm
    if trial.outcome is not Outcome.FAIL or margin_nm is None:
        return (_height(trial.outcome, slot, trial.sentence(), trial, missing=missing_from([trial])),)
    if cabinet.pitch is None:
        reason = f"{trial.sentence()} The pitch itself was never stated and may be more."
        return (_height(Outcome.UNKNOWN, slot, reason, trial, missing=(slot.field("pitch"),)),)
    return (_too_high_for_one(case, slot, trial, -margin_nm),)


def _too_high_for_one(case: Case, slot: Slot, trial: Trial, excess_nm: int) -> Finding:
    """A drawer higher than the pitch takes more positions, where the runner above it can be taken out."""
    cabinet, mend = slot.cabinet, f"{capital(plane_off(case.line, 'height', excess_nm))}."
    by_itself = cabinet.support is Support.SHELF or cabinet.runners_removable is True
    if not by_itself and cabinet.runners_removable is False:
        reason = f"{trial.sentence()} It would foul the runner above, which is fixed."
        return _height(Outcome.FAIL, slot, reason, trial, mend)
    if not by_itself:
        reason = f"{trial.sentence()} Nobody has stated whether the runner above it can be taken out."
        return _height(Outcome.UNKNOWN, slot, reason, trial, mend, (slot.field("runners_removable"),))
    each = positions_taken(case.line, slot) or 1
    comparisons = (trial.comparison, *_column_height(trial, slot))
    if _more_than_a_column(each, cabinet) or any((c.margin_nm or 0) < 0 for c in comparisons[1:]):
        return _height(Outcome.FAIL, slot, f"{trial.sentence()} No column of it is as high as that.", trial)
    reason = (
        f"{trial.sentence()} Each takes {each} positions, one above the other: "
        f"{case.line.count} of them take {case.line.count * each}."
    )
    return _height(Outcome.CAUTION, slot, reason, trial, mend)


def _column_height(trial: Trial, slot: Slot) -> tuple[Comparison, ...]:
    column = slot.cabinet.opening.height
    return (room_for("height of the column", trial.thing.dimension, column),) if column else ()


def _more_than_a_column(each: int, cabinet: Cabinet) -> bool:
    return cabinet.positions_per_column is not None and each > cabinet.positions_per_column


def _height(
    outcome: Outcome,
    slot: Slot,
    reason: str,
    trial: Trial,
    remedy: str | None = None,
    missing: tuple[str, ...] = (),
) -> Finding:
    return Finding("drawer_height", outcome, reason, GEOMETRY, slot.subject, (trial.comparison,), remedy, missing)


def positions_taken(line: Line, slot: Slot) -> int | None:
    """How many positions one of these drawers takes up in this cabinet; ``None`` where a height is missing."""
    height, pitch = line.outer.height, slot.height()
    if height is None or pitch is None or pitch.smallest_nm == 0:
        return None
    return positions_each(height.largest_nm, pitch.smallest_nm)
