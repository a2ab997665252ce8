"""One length held against one limit: the outcome, and the words for it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from service.core.fit.findings import Comparison, Outcome, worst
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import written_mm

#: What a rule says of itself when it rests on nothing but the two lengths.
GEOMETRY = "Geometry: the largest the thing may be against the least the space may leave."

_IN_INCHES = re.compile(r"\d\s*(in|inch|inches|ft|foot|feet|[\"'″′”’])", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a comparison: its dimension, the name it goes by in a sentence, and the field to ask for."""

    dimension: Dimension | None
    name: str
    field: str


@dataclass(frozen=True, slots=True)
class Trial:
    """A thing's length against the room there is for it."""

    thing: Side
    room: Side
    what: str

    @property
    def comparison(self) -> Comparison:
        return room_for(self.what, self.thing.dimension, self.room.dimension)

    @property
    def outcome(self) -> Outcome:
        return outcome_of(self.comparison)

    @property
    def missing(self) -> tuple[str, ...]:
        """The fields to ask for: those that are absent, or else those that are from memory."""
        sides = (self.thing, self.room)
        absent = tuple(side.field for side in sides if side.dimension is None)
        return absent or tuple(side.field for side in sides if side.dimension and side.dimension.is_from_memory)

    def sentence(self) -> str:
        """What came of it, in words."""
        margin_nm = self.comparison.margin_nm
        if margin_nm is None:
            absent = [side.name for side in (self.thing, self.room) if side.dimension is None]
            return f"Nobody has stated {' or '.join(absent)}."
        if self.outcome is Outcome.UNKNOWN:
            return from_memory(self.thing.name, margin_nm, self.thing.dimension, self.room.dimension)
        thing, room = (named(self.thing, largest=True), named(self.room, largest=False))
        if margin_nm < 0:
            return f"{thing} is {written_mm(-margin_nm)} too much for {room}."
        return f"{thing} fits {room} with {written_mm(margin_nm)} to spare."


def room_for(what: str, thing: Dimension | None, room: Dimension | None) -> Comparison:
    """The largest that a thing may be, held against the least that a space may be."""
    largest_nm = thing.largest_nm if thing else None
    smallest_nm = room.smallest_nm if room else None
    margin_nm = None if largest_nm is None or smallest_nm is None else smallest_nm - largest_nm
    return Comparison(what, largest_nm, smallest_nm, margin_nm, thing, room)


def outcome_of(comparison: Comparison) -> Outcome:
    """Pass or fail; unknown where a side is absent, or from memory, which never decides alone."""
    remembered = any(side and side.is_from_memory for side in (comparison.value, comparison.limit))
    if comparison.margin_nm is None or remembered:
        return Outcome.UNKNOWN
    return Outcome.FAIL if comparison.margin_nm < 0 else Outcome.PASS


def outcome_of_all(trials: Sequence[Trial]) -> Outcome:
    return worst([trial.outcome for trial in trials])


def sentences(trials: Sequence[Trial]) -> str:
    """Only the comparisons that decide are told; the others stand in the figures."""
    outcome = outcome_of_all(trials)
    return " ".join(trial.sentence() for trial in trials if trial.outcome is outcome)


def missing_from(trials: Sequence[Trial]) -> tuple[str, ...]:
    """What to ask for where a comparison could not be made, unless another has already failed."""
    if outcome_of_all(trials) is not Outcome.UNKNOWN:
        return ()
    return tuple(field for trial in trials if trial.outcome is Outcome.UNKNOWN for field in trial.missing)


def from_memory(subject: str, margin_nm: int, *dimensions: Dimension | None) -> str:
    """What would follow if a figure from memory were right."""
    figures = " and ".join(written_mm(d.value_nm) for d in dimensions if d and d.is_from_memory)
    would = (
        f"would pass with {written_mm(margin_nm)} to spare"
        if margin_nm >= 0
        else f"would be {written_mm(-margin_nm)} too much"
    )
    return f"{capital(subject)} {would} if the {figures}, which is from memory, is right: measure it."


def named(side: Side, *, largest: bool) -> str:
    """“The width of the drawer, 482.6 mm (19 in),”: the figure that was compared, and as it was written."""
    if side.dimension is None:
        return side.name
    nm = side.dimension.largest_nm if largest else side.dimension.smallest_nm
    text = f"{side.name} ({in_both_units(nm, side.dimension)})"
    return capital(text) if largest else text


def in_both_units(nm: int, dimension: Dimension) -> str:
    """Millimetres, and the inches that somebody wrote where they are this very figure."""
    written = dimension.as_written
    if written and nm == dimension.value_nm and _IN_INCHES.search(written):
        return f"{written_mm(nm)}, {written.strip()}"
    return written_mm(nm)


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]
