"""How many positions the cabinets have, and whether enough of them are free."""

from service.core.fit.case import Case
from service.core.fit.drawer_in_cabinet import positions_taken
from service.core.fit.findings import Finding, Outcome
from service.core.fit.slot import Slot
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
    each, free, in_all = positions_taken(case.line, slot), cabinet.free_positions, capacity(cabinet)
    of_all = f" of {in_all}" if in_all is not None else ""
    if each is None or free is None:
        missing = (slot.field("free_positions"),) if free is None else ()
        unknown = f"Nobody has stated how many positions of {slot.name} are free{of_all and ','}{of_all}."
        return (_room(Outcome.UNKNOWN, slot, unknown, missing=missing),)
    wanted = each * case.line.count
    text = f"{wanted} positions are wanted and {free}{of_all} are free in {slot.name}"
    if wanted > free:
        return (_room(Outcome.CAUTION, slot, f"{text}.", f"Find or buy {wanted - free} more positions."),)
    return (_room(Outcome.PASS, slot, f"{text}."),)


def _room(
    outcome: Outcome, slot: Slot, reason: str, remedy: str | None = None, missing: tuple[str, ...] = ()
) -> Finding:
    source = "Arithmetic: positions wanted against positions free."
    return Finding("room_in_cabinets", outcome, reason, source, slot.subject, (), remedy, missing, deciding=False)
