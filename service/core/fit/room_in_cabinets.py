"""How many positions the cabinets have, and whether enough of them are free."""

from service.core.fit.case import Case
from service.core.fit.drawer_in_cabinet import positions_taken
from service.core.fit.findings import Finding, Outcome
from service.core.fit.slot import Slot, outer_side
from service.core.standards import Cabinet


def positions_in_column(usable_height_nm: int, pitch_nm: int) -> int:
    """How many positions there are, one above the other, in a clear height."""
    return usable_height_nm // pitch_nm


def capacity(cabinet: Cabinet) -> int | None:
    """All the positions of this kind of cabinet; ``None`` where neither their number nor a height is known."""
    in_column = cabinet.positions_per_column
    if in_column is None and cabinet.pitch and cabinet.opening.height and cabinet.pitch.largest_nm:
        in_column = positions_in_column(cabinet.opening.height.smallest_nm, cabinet.pitch.largest_nm)
    return None if in_column is None else in_column * cabinet.columns * cabinet.count


def room_left(case: Case, cabinet: Cabinet) -> tuple[Finding, ...]:
    """Whether the free positions are enough. It decides nothing: cabinets can be bought."""
    slot = Slot.of(cabinet, case.system)
    each, free = positions_taken(case.line, slot), cabinet.free_positions
    # A drawer takes one position or more, so its number is what they take at the least.
    wanted = case.line.count * (each or 1)
    text = f"{_positions(wanted)} {'is' if wanted == 1 else 'are'} wanted{'' if each else ' at least'}"
    if free is None:
        return (_free_not_stated(slot, text, capacity(cabinet)),)
    text += f" and {free}{_of_all(cabinet)} are free in {slot.name}"
    if wanted > free:
        return (_room(Outcome.CAUTION, slot, f"{text}.", f"Find or buy {_positions(wanted - free, 'more ')}."),)
    if each is None:
        return (_height_not_stated(case, slot, text),)
    return (_room(Outcome.PASS, slot, f"{text}."),)


def _free_not_stated(slot: Slot, wanted: str, in_all: int | None) -> Finding:
    of_all = f", of {in_all}" if in_all is not None else ""
    reason = f"{wanted}; nobody has stated how many positions of {slot.name} are free{of_all}."
    return _room(Outcome.UNKNOWN, slot, reason, missing=(slot.field("free_positions"),))


def _height_not_stated(case: Case, slot: Slot, text: str) -> Finding:
    """There is room unless the drawers are so high that each takes more than one position."""
    sides = (outer_side(case.line, "height", case.asks("outer.height")), slot.height_side())
    absent = [side for side in sides if side.dimension is None or side.dimension.smallest_nm == 0]
    reason = (
        f"{text}; how many positions each drawer takes is unknown, because nobody has stated"
        f" {' or '.join(side.name for side in absent)}."
    )
    return _room(Outcome.UNKNOWN, slot, reason, missing=tuple(side.field for side in absent))


def _of_all(cabinet: Cabinet) -> str:
    in_all = capacity(cabinet)
    return f" of {in_all}" if in_all is not None else ""


def _positions(number: int, more: str = "") -> str:
    return f"{number} {more}position{'' if number == 1 else 's'}"


def _room(
    outcome: Outcome, slot: Slot, reason: str, remedy: str | None = None, missing: tuple[str, ...] = ()
) -> Finding:
    source = "Arithmetic: positions wanted against positions free."
    return Finding("room_in_cabinets", outcome, reason, source, slot.subject, (), remedy, missing, deciding=False)
