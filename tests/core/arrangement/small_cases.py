"""Arrangements small enough to try everything, and a second way to say what is allowed."""

from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from hypothesis import strategies as st

from service.core.arrangement.inside import Inside, Sizes
from service.core.arrangement.task import LOOSE, Task


@dataclass(frozen=True)
class Small:
    """Trays as (along, across, slot), slots as (along, across, kept free)."""

    trays: tuple[tuple[int, int, int], ...]
    slots: tuple[tuple[int, int, int], ...]
    must_keep_reserve: bool = False

    def task(self) -> Task:
        along, across, old = (np.array([tray[at] for tray in self.trays], dtype=np.int64) for at in range(3))
        place = np.arange(len(self.trays), dtype=np.int64)
        insides = tuple(dict.fromkeys(Inside(*slot, None) for slot in self.slots))
        inside = np.array([insides.index(Inside(*slot, None)) for slot in self.slots], dtype=np.int64)
        sizes = Sizes(along, across, np.zeros(len(self.trays), dtype=np.int64))
        nowhere = np.zeros(len(self.slots), dtype=bool)
        return Task(sizes, old, place, insides, inside, nowhere, self.must_keep_reserve)


Trays = list[tuple[int, int]]


def least_across_by_trying(trays: Trays, longest: int, abreast: int) -> int | None:
    """The least that lines take up, over every way to break trays (along, across) into lines and these into courses
    no wider than ``abreast``; ``None`` where a tray is longer than a line."""
    if not trays:
        return 0
    best = None
    for held in range(1, len(trays) + 1):
        rest = least_across_by_trying(trays[held:], longest, abreast)
        widths = [width for length, width in _lines_by_trying(trays[:held], abreast) if length <= longest]
        if rest is not None and widths:
            best = min(rest + min(widths), rest + min(widths) if best is None else best)
    return best


def _lines_by_trying(trays: Trays, abreast: int) -> set[tuple[int, int]]:
    """Every (length, width) of one line of these trays."""
    if not trays:
        return {(0, 0)}
    lines = set[tuple[int, int]]()
    for held in range(1, len(trays) + 1):
        course = trays[:held]
        width = sum(across for _, across in course)
        if held == 1 or width <= abreast:
            rest = _lines_by_trying(trays[held:], abreast)
            lines |= {(max(along for along, _ in course) + more, max(width, wide)) for more, wide in rest}
    return lines


def allowed(small: Small, slot: int, first: int, end: int) -> bool:
    """Whether this slot may hold the trays from first to end; side by side where no wider than the widest of all."""
    along, across, kept_free = small.slots[slot]
    trays = small.trays[first:end]
    if not trays or (not small.must_keep_reserve and all(tray[2] == slot for tray in trays)):
        return True
    taken = least_across_by_trying([tray[:2] for tray in trays], along, max(tray[1] for tray in small.trays))
    return taken is not None and taken <= (across if len(trays) == 1 else across - kept_free)


def cheapest_by_trying(small: Small, opened: int) -> tuple[int, int] | None:
    """The least (moves and what stands for them, drawers touched) over every way to cut the order."""
    count, slots = len(small.trays), len(small.slots)
    best = None
    for cuts in combinations_with_replacement(range(count + 1), slots - 1):
        bounds = (0, *cuts, count)
        if all(allowed(small, slot, bounds[slot], bounds[slot + 1]) for slot in range(slots)):
            cost = _cost(small, bounds, opened)
            best = cost if best is None else min(best, cost)
    return best


def _cost(small: Small, bounds: tuple[int, ...], opened: int) -> tuple[int, int]:
    moves = touched = 0
    for slot in range(len(small.slots)):
        before = {at for at, tray in enumerate(small.trays) if tray[2] == slot}
        after = set(range(bounds[slot], bounds[slot + 1]))
        moves += sum(small.trays[at][2] not in (slot, LOOSE) for at in after)
        moves += opened if after and not before else 0
        touched += before != after
    return moves, touched


@st.composite
def smalls(draw: st.DrawFn) -> Small:
    """Up to nine trays and five drawers; mostly in order, with some loose or astray."""
    slots = draw(st.lists(st.tuples(st.integers(2, 5), st.integers(1, 3), st.integers(0, 1)), min_size=1, max_size=5))
    count = draw(st.integers(0, 9))
    where = sorted(draw(st.lists(st.integers(0, len(slots) - 1), min_size=count, max_size=count)))
    for at in draw(st.lists(st.integers(0, max(count - 1, 0)), max_size=4)) if count else []:
        where[at] = draw(st.integers(LOOSE, len(slots) - 1))
    sizes = draw(st.lists(st.tuples(st.integers(1, 3), st.integers(1, 2)), min_size=count, max_size=count))
    trays = tuple((*size, slot) for size, slot in zip(sizes, where, strict=True))
    return Small(trays, tuple(slots), draw(st.booleans()))
