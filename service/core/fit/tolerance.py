"""How many drawers of a line are expected to bind, by how far their sizes and the openings stray."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from service.core.consignment import Line
from service.core.fit.case import Case
from service.core.fit.comparing import Side, Trial, capital
from service.core.fit.findings import Comparison, Finding, Outcome
from service.core.fit.slot import Slot, outer_side
from service.core.handbook.tolerance_classes import (
    assumed_tolerance_class,
    behind_tolerance_class,
    general_tolerance_nm,
    judged_by,
    tolerance_class_name,
)
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import written_mm
from service.core.measure.population import (
    Exactly,
    Measured,
    Population,
    Within,
    expected_to_bind,
)
from service.core.measure.sample import Sample
from service.core.measure.stack import Stack
from service.core.standards import Cabinet

RULE = "tolerance"
#: What the last digits of a reckoning may be out, so that 12 % does not become 13.
_ROUNDING = 1e-6
METHOD = (
    "Student's t for the next piece (Montgomery & Runger, Applied Statistics and Probability for Engineers); "
    "tolerance factors of ISO 16269-6:2014; limits without readings spread evenly (JCGM 100:2008, 4.3.7)."
)


@dataclass(frozen=True, slots=True)
class Scatter:
    """How one dimension strays from piece to piece. ``assumed``: nobody stated it, so a class stands in."""

    population: Population
    reach_nm: float
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Meeting:
    """One dimension of the drawers and of the openings that they are to go into."""

    axis: str
    thing: Side
    room: Side
    drawer: Scatter
    opening: Scatter
    expected: float

    @property
    def is_assumed(self) -> bool:
        return self.drawer.assumed or self.opening.assumed

    @property
    def stack(self) -> Stack:
        gap_nm = self.opening.population.mean_nm - self.drawer.population.mean_nm
        return Stack(gap_nm, (self.drawer.reach_nm, self.opening.reach_nm))

    @property
    def missing(self) -> tuple[str, ...]:
        """What to measure: the sides whose spread is assumed or whose size is from memory."""
        sides = ((self.thing, self.drawer), (self.room, self.opening))
        return tuple(
            side.field
            for side, scatter in sides
            if scatter.assumed or (side.dimension is not None and side.dimension.is_from_memory)
        )

    def comparisons(self) -> tuple[Comparison, Comparison]:
        """The worst case, and the root of the sum of squares."""
        drawer_nm, opening_nm = self.drawer.population.mean_nm, self.opening.population.mean_nm
        largest_nm, smallest_nm = round(drawer_nm + self.drawer.reach_nm), round(opening_nm - self.opening.reach_nm)
        likely_nm = round(self.stack.likely_least_gap_nm)
        dimensions = self.thing.dimension, self.room.dimension
        return (
            Comparison(f"{self.axis}, worst case", largest_nm, smallest_nm, smallest_nm - largest_nm, *dimensions),
            Comparison(
                f"{self.axis}, root-sum-square",
                round(opening_nm) - likely_nm,
                round(opening_nm),
                likely_nm,
                *dimensions,
            ),
        )


@dataclass(frozen=True, slots=True)
class Few:
    """How many of a line of ``count`` are expected to bind where its readings say that most do not."""

    count: int
    expected: float

    def sentence(self) -> str:
        return f"by all of them {_about(self.expected, self.count)} to bind, and the others go in."


def few_that_bind(line: Line, trials: Sequence[Trial]) -> Few | None:
    """The few of a line that bind, by the readings of some of its drawers; ``None`` where it is more than half.

    A reading too large out of ten condemns that drawer and not the two hundred. The openings are taken at the least
    that they may be, so that this never expects fewer than there are. ``None`` too where a size is missing or from
    memory, and where what is too large was not read off two drawers at least.
    """
    expected = 0.0
    for trial in trials:
        thing, room = trial.thing.dimension, trial.room.dimension
        if thing is None or room is None or thing.is_from_memory or room.is_from_memory:
            return None
        if thing.largest_nm <= room.smallest_nm:
            continue
        scatter = scatter_of(thing, line.count)
        if not isinstance(scatter.population, Measured) or scatter.population.mean_nm > room.smallest_nm:
            return None
        opening = Exactly(room.smallest_nm)
        expected += expected_to_bind(line.count, scatter.population, opening, thing.readings_nm)
    return Few(line.count, expected) if 0 < expected <= line.count / 2 else None


def scatter_of(dimension: Dimension, pieces: int | None = None) -> Scatter:
    """How far a dimension strays: by its readings, its own tolerance, its class, or a class that is only assumed.

    ``pieces`` is how many there are; a single one that was measured is as it is.
    """
    if pieces == 1 and dimension.readings_nm:
        return Scatter(Exactly(dimension.value_nm), 0.0)
    if len(dimension.readings_nm) > 1:
        sample = Sample.of(dimension.readings_nm)
        share, confidence = (float(judged_by(name).value) / 100 for name in ("share", "confidence"))
        return Scatter(Measured(sample), sample.covering(share, confidence).greatest_nm - sample.mean_nm)
    if dimension.tolerance_nm is not None:
        return _within(dimension.value_nm, dimension.tolerance_nm)
    stated = _class_nm(dimension)
    if stated is not None:
        return _within(dimension.value_nm, stated)
    return _within(dimension.value_nm, _assumed_nm(dimension.value_nm), assumed=True)


def _class_nm(dimension: Dimension) -> int | None:
    """What the class that the maker states comes to; ``None`` where none is stated, or it gives this size nothing."""
    if dimension.tolerance_class is None:
        return None
    return general_tolerance_nm(dimension.tolerance_class, dimension.value_nm)


def _assumed_nm(length_nm: int) -> int:
    return general_tolerance_nm(assumed_tolerance_class(), length_nm) or 0


def _within(mean_nm: int, tolerance_nm: int, assumed: bool = False) -> Scatter:
    population = Within(mean_nm, tolerance_nm) if tolerance_nm else Exactly(mean_nm)
    return Scatter(population, tolerance_nm, assumed)


def tolerance_rule(case: Case, cabinet: Cabinet, turned: bool) -> tuple[Finding, ...]:
    """How many of the line are expected to bind in the openings of one kind of cabinet.

    Dimensions whose spread had to be assumed have a finding of their own, which decides nothing. Nothing is said
    where a size is missing altogether: the rules on the drawer in its cabinet ask for that.
    """
    slot = Slot.of(cabinet, case.system)
    meetings = tuple(
        _meet(case, axis, thing, room, slot.unmeasured())
        for axis, thing, room in _sides(case, slot, turned)
        if thing.dimension is not None and room.dimension is not None
    )
    # A spread that nobody stated leaves that dimension open, and takes nothing from what is known of the others.
    # What is too large however it strays is left to the rule on the drawer in its cabinet.
    told = [meeting for meeting in meetings if not meeting.missing]
    open_ = [meeting for meeting in meetings if meeting.missing and meeting.expected < case.line.count]
    return tuple(_finding(case, slot, tuple(group)) for group in (told, open_) if group)


def _sides(case: Case, slot: Slot, turned: bool) -> tuple[tuple[str, Side, Side], ...]:
    across, along = ("depth", "width") if turned else ("width", "depth")
    plan = ((across, slot.width_side()), (along, slot.depth_side()))
    # A drawer that is meant to take several positions does not bind under the next runner.
    height, pitch = case.line.outer.height, slot.cabinet.pitch
    one_position = height is not None and pitch is not None and height.value_nm <= pitch.value_nm
    upright = (("height", slot.height_side()),) if one_position else ()
    return tuple(
        (axis, outer_side(case.line, axis, case.asks(f"outer.{axis}")), room) for axis, room in (*plan, *upright)
    )


def _meet(case: Case, axis: str, thing: Side, room: Side, unmeasured: tuple[str, ...]) -> Meeting:
    if thing.dimension is None or room.dimension is None:
        raise ValueError("both lengths must be known")
    drawer = scatter_of(thing.dimension, case.line.count)
    opening = scatter_of(room.dimension)
    if room.field in unmeasured:
        # Readings of the drawers that a cabinet was made for say nothing of how its openings stray.
        opening = _within(room.dimension.value_nm, _assumed_nm(room.dimension.value_nm), assumed=True)
    expected = expected_to_bind(case.line.count, drawer.population, opening.population, thing.dimension.readings_nm)
    return Meeting(axis, thing, room, drawer, opening, expected)


def _finding(case: Case, slot: Slot, meetings: tuple[Meeting, ...]) -> Finding:
    # Whether a wide drawer is also a deep one is not known; together no more can bind than the sum (Boole).
    expected = min(float(case.line.count), sum(meeting.expected for meeting in meetings))
    missing = tuple(dict.fromkeys(field for meeting in meetings for field in meeting.missing))
    outcome = Outcome.UNKNOWN if missing else _outcome(expected, case.line.count)
    remarks = (_how_many(case, expected), _tightest(meetings), _assumption(meetings), slot.assumption())
    return Finding(
        RULE,
        outcome,
        " ".join(remark for remark in remarks if remark),
        METHOD,
        slot.subject,
        tuple(comparison for meeting in meetings for comparison in meeting.comparisons()),
        _remedy(outcome),
        missing,
        deciding=outcome is not Outcome.UNKNOWN,
        grade=judged_by("worth_saying").grade,
    )


def _outcome(expected: float, count: int) -> Outcome:
    if _is_unlikely(expected, count):
        return Outcome.PASS
    return Outcome.FAIL if expected > count / 2 else Outcome.CAUTION


def _is_unlikely(expected: float, count: int) -> bool:
    """Fewer than one drawer of the line, and no single one with more than a small chance."""
    small_chance = 1 - float(judged_by("confidence").value) / 100
    return expected < float(judged_by("worth_saying").value) and expected / count < small_chance


def _how_many(case: Case, expected: float) -> str:
    count = case.line.count
    chance = _percent(expected / count)
    if not expected:
        whose = "this drawer" if count == 1 else f"none of the {count} drawers"
        return f"Within these limits {whose} {'cannot bind' if count == 1 else 'can bind'}."
    if count == 1:
        return f"The chance that this drawer binds is at most {chance}."
    if _is_unlikely(expected, count):
        return f"None of the {count} drawers is expected to bind; the chance of any one is at most {chance}."
    few = f"fewer than one of the {count} drawers is expected" if expected < 1 else _about(expected, count)
    return f"{capital(few)} to bind; the chance of any one is at most {chance}."


def _about(expected: float, count: int) -> str:
    number = max(1, round(expected))
    if number == count:
        return f"all {count} drawers are expected"
    return f"about {number} of the {count} drawers {'is' if number == 1 else 'are'} expected"


def _percent(share: float) -> str:
    """Rounded up to what means something, since it follows “at most”; no false nought."""
    per_cent = 100 * share
    digits = 0 if per_cent >= 10 else 1 if per_cent >= 1 else 2
    return f"{ceil(per_cent * 10**digits - _ROUNDING) / 10**digits:g} %"


def _tightest(meetings: tuple[Meeting, ...]) -> str:
    tight = min(meetings, key=lambda meeting: meeting.stack.least_gap_nm)
    return (
        f"Tightest is the {tight.axis}: {_left(tight.stack.least_gap_nm)} at worst, "
        f"{_left(tight.stack.likely_least_gap_nm)} by the root of the sum of squares."
    )


def _left(gap_nm: float) -> str:
    return f"{written_mm(gap_nm)} to spare" if gap_nm >= 0 else f"{written_mm(-gap_nm)} too little"


def _assumption(meetings: tuple[Meeting, ...]) -> str | None:
    if not any(meeting.is_assumed for meeting in meetings):
        return None
    assumed = assumed_tolerance_class()
    source = behind_tolerance_class(assumed).source
    names = dict.fromkeys(
        side.name
        for meeting in meetings
        for side, scatter in ((meeting.thing, meeting.drawer), (meeting.room, meeting.opening))
        if scatter.assumed
    )
    return (
        f"Nobody has stated how far {_listed(tuple(names))} may stray from the size given; the figures assume the "
        f"general tolerance class {assumed} ({tolerance_class_name(assumed)}; {source})."
    )


def _listed(names: tuple[str, ...]) -> str:
    """“the width, the depth and the height”"""
    return " and ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _remedy(outcome: Outcome) -> str | None:
    if outcome is Outcome.UNKNOWN:
        return "Measure ten pieces, or ask their makers for the tolerance that they work to."
    if outcome is Outcome.PASS:
        return None
    return "Measure every drawer of the line beforehand; those that bind are planed, or go by the tray."
