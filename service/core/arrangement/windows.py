"""Where anything has to change at all, and how far around it one has to look to be sure.

Between two *clean* cuts of the order, with all that stands before it in earlier slots and all behind it in later
ones, lies a block. A block of one drawer that may stay as it is is *quiet*. Each window has those that are not, and a
margin of R blocks on both sides. A plan that shifts something across every edge of a margin moves a tray at each: the
last of the block before it, or the first of the block behind it, and never one tray twice. So when the best
arrangement inside a window costs no more than R moves, no plan whatever does the same work with fewer. Else the
margin is doubled; windows that meet become one.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.core.arrangement.cuts import Cut, Look, Weights, Window, cut_window
from service.core.arrangement.inside import Ints
from service.core.arrangement.task import LOOSE, Task

_NO_LIMIT = 1 << 36


class NoRoom(ValueError):
    """However trays are set, they do not all go in."""


@dataclass(frozen=True, slots=True)
class Effort:
    """A limit in steps and not in seconds: states that one window may take. Where the exact search would take more,
    only cuts near today's are looked at, in a ``band`` as wide as the states allow, within these bounds."""

    states: int = 16_000_000
    band: tuple[int, int] = (64, 400)

    def band_for(self, window: Window) -> int:
        narrowest, widest = self.band
        return min(max(narrowest, self.states // (4 * (window.end_slot - window.first_slot))), widest)


@dataclass(frozen=True, slots=True)
class Arranged:
    """Up to which tray each slot holds; ``cost`` in moves, what stands for moves included; no plan costs less than
    ``at_least``."""

    ends: Ints
    cost: int
    at_least: int


@dataclass(slots=True)
class _Part:
    """Blocks from ``first`` to ``end``, not included, with ``margin`` more on each side, and what is known of it."""

    first: int
    end: int
    margin: int
    at_least: int = 0
    cut: Cut | None = None
    near: Cut | None = None

    def reach(self, blocks: int) -> tuple[int, int]:
        """The blocks of the window, its margins included."""
        return max(0, self.first - self.margin), min(blocks, self.end + self.margin)

    def is_whole(self, blocks: int) -> bool:
        return self.reach(blocks) == (0, blocks)


@dataclass(frozen=True)
class _Blocks:
    """Block b holds the trays from ``trays[b]`` and the slots from ``first_slot[b]`` to ``last_slot[b]``, included;
    the last slot with a tray in it, up to there, is ``full_to[b]``."""

    trays: Ints
    first_slot: Ints
    last_slot: Ints
    full_to: Ints
    quiet: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.quiet)


def arrange(task: Task, weights: Weights, effort: Effort | None = None) -> Arranged:
    """The arrangement with the fewest moves that the effort finds, and how few there could be at best.

    :raises NoRoom: when there is none.
    """
    if not task.slots and len(task):
        raise NoRoom
    effort, blocks = effort or Effort(), _blocks(task)
    parts = [_Part(first, end, 1) for first, end in _runs(~blocks.quiet)]
    while any(part.cut is None for part in parts):
        parts = _merged(parts, len(blocks))
        for part in parts:
            if part.cut is None:
                _try(part, task, weights, effort, blocks)
    return _together(task, blocks, parts)


def _runs(wanted: NDArray[np.bool_]) -> Iterator[tuple[int, int]]:
    """Where it is so, from first to end, not included."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], wanted, [False]))))
    yield from ((int(first), int(end)) for first, end in edges.reshape(-1, 2))


def _merged(parts: Sequence[_Part], blocks: int) -> list[_Part]:
    """Parts whose windows share a block become one, to be arranged anew."""
    merged: list[_Part] = []
    for part in sorted(parts, key=lambda each: each.reach(blocks)):
        last = merged[-1] if merged else None
        if last is None or part.reach(blocks)[0] >= last.reach(blocks)[1]:
            merged.append(part)
            continue
        margin, at_least = max(part.margin, last.margin), part.at_least + last.at_least
        merged[-1] = _Part(min(part.first, last.first), max(part.end, last.end), margin, at_least)
    return merged if len(merged) == len(parts) else _merged(merged, blocks)


def _window(part: _Part, blocks: _Blocks) -> Window:
    first, end = part.reach(len(blocks))
    return Window(
        int(blocks.first_slot[first]),
        int(blocks.last_slot[end - 1]) + 1,
        int(blocks.trays[first]),
        int(blocks.trays[end]),
    )


def _try(part: _Part, task: Task, weights: Weights, effort: Effort, blocks: _Blocks) -> None:
    """Arrange the window of a part, or see that it has to be wider, or that it costs more."""
    whole, window = part.is_whole(len(blocks)), _window(part, blocks)
    if whole and part.near is None:
        part.near = _near(task, window, weights, effort)
        if part.near is None:
            raise NoRoom
    limit = part.margin if part.near is None else min(part.margin, part.near.moves)
    cut, complete = cut_window(task, window, weights, limit, Look(effort.states))
    if cut is not None:
        part.cut, part.at_least = cut, cut.moves
    elif complete:
        part.at_least = max(part.at_least, limit + 1 if whole else limit)
        part.margin *= 2
    else:
        part.cut = part.near or _near(task, window, weights, effort)
        part.at_least = max(part.at_least, _bound(task, window))
        part.margin *= 1 if part.cut is not None else 2


def _near(task: Task, window: Window, weights: Weights, effort: Effort) -> Cut | None:
    """The best arrangement among those that keep near what stands where; none, where there is no arrangement."""
    cut, _ = cut_window(task, window, weights, _NO_LIMIT, Look(_NO_LIMIT, effort.band_for(window)))
    return cut


def _bound(task: Task, window: Window) -> int:
    """Moves that no arrangement of the window does without: by order alone, or by what drawers hold alone."""
    old = task.old[window.first_tray : window.end_tray]
    tails: list[int] = []
    for slot in old[old != LOOSE].tolist():
        at = bisect_right(tails, slot)
        tails[at : at + 1] = [slot]
    by_order = int((old != LOOSE).sum()) - len(tails)
    by_area = sum(_too_many(task, slot) for slot in range(window.first_slot, window.end_slot))
    return max(by_order, by_area)


def _too_many(task: Task, slot: int) -> int:
    """How many trays have to leave a drawer, were all its room to be had."""
    stands = task.stands_in(slot)
    if not task.must_keep_reserve or len(stands) < 2:
        return 0
    inside = task.insides[int(task.inside[slot])]
    areas = np.sort(task.sizes.along[stands].astype(float) * task.sizes.across[stands])
    holds = int((np.cumsum(areas) <= float(inside.along) * inside.usable).sum())
    return len(stands) - max(holds, 1)


def _together(task: Task, blocks: _Blocks, parts: Sequence[_Part]) -> Arranged:
    """What the windows say, and everything else as it stands."""
    passed = np.searchsorted(blocks.full_to, np.arange(task.slots), side="right")
    ends = blocks.trays[passed]
    cost = 0
    for part in parts:
        window = _window(part, blocks)
        if part.cut is not None:
            ends[window.first_slot : window.end_slot] = part.cut.ends
            cost += part.cut.moves
    return Arranged(ends, cost, sum(part.at_least for part in parts))


def _blocks(task: Task) -> _Blocks:
    count = len(task)
    held = np.where(task.old == LOOSE, -1, task.old)
    latest = np.concatenate(([-1], np.maximum.accumulate(held))) if count else np.array([-1])
    later = np.where(task.old == LOOSE, task.slots, task.old)
    earliest = np.append(np.minimum.accumulate(later[::-1])[::-1], task.slots) if count else np.array([task.slots])
    inner = np.arange(1, count)
    clean = (latest[inner] < earliest[inner]) & (task.old[inner - 1] != LOOSE) & (task.old[inner] != LOOSE)
    cuts = np.concatenate(([0], inner[clean], [count])).astype(np.int64)
    first_slot = np.concatenate(([0], earliest[cuts[1:-1]])).astype(np.int64)
    last_slot = np.append(latest[cuts[1:-1]], task.slots - 1).astype(np.int64)
    return _Blocks(cuts, first_slot, last_slot, latest[cuts[1:]], _quiet(task, cuts))


def _quiet(task: Task, cuts: Ints) -> NDArray[np.bool_]:
    """Blocks of one drawer whose trays may all stay where they are."""
    starts, ends = cuts[:-1], cuts[1:]
    if not len(task):
        return np.ones(len(starts), dtype=bool)
    slot = task.old[starts]
    alike = np.minimum.reduceat(task.old, starts) == np.maximum.reduceat(task.old, starts)
    reach = np.stack(task.with_reserve)[task.inside[slot], starts]
    if not task.must_keep_reserve:
        reach = np.maximum(reach, task.as_they_stand[starts])
    quiet: NDArray[np.bool_] = (slot != LOOSE) & alike & (reach >= ends)
    return quiet
