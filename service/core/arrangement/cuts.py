"""Which trays each slot holds, with the fewest moved: exact, slot by slot, over the places where the order is cut.

Slot k holds the trays between two cuts. A state is a cut with the least cost of everything before it. Three things
keep states few and the answer exact:

- of two cuts the one further on is at least as good, if what it has cost is no more, since every drawer holds part
  of what it holds (``_undominated``);
- trays that a state has passed without setting them where they stand, or has left behind, are moved for certain; a
  state whose cost with these is over the limit cannot end within it (``_within``);
- slots between which nothing changes are not looked at at all (``windows.py``).
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from service.core.arrangement.inside import Ints
from service.core.arrangement.task import LOOSE, Task

#: Cost is moves (and what stands for moves) times this, plus drawers touched: fewest moves first, then drawers.
PER_MOVE = 1 << 24
#: No plan costs so much.
ENDLESS = 1 << 61
#: What a drawer with too little reserve stands for, where reserve is given up for want of room.
RESERVE_GIVEN_UP = 1 << 20


@dataclass(frozen=True, slots=True)
class Weights:
    """``opened`` is what an empty drawer that is put to use stands for, in moves. ``reserve_may_be_less``: where
    room is short, drawers may be filled into their reserve, the fewest of them."""

    opened: int = 0
    reserve_may_be_less: bool = False


@dataclass(frozen=True, slots=True)
class Window:
    """Slots and trays, end not included, that are arranged by themselves."""

    first_slot: int
    end_slot: int
    first_tray: int
    end_tray: int


@dataclass(frozen=True, slots=True)
class Cut:
    """An arrangement of a window: ``ends`` is for each slot up to which tray it holds."""

    cost: int
    ends: Ints

    @property
    def moves(self) -> int:
        return self.cost // PER_MOVE


@dataclass(frozen=True, slots=True)
class Look:
    """How much to look at: at most so many ``states``, past which nothing is found. ``band``: only cuts with so many
    trays more on the wrong side than need be, and the one furthest on; ``None`` for every cut."""

    states: int
    band: int | None = None


@dataclass(slots=True)
class _States:
    """Cuts in order, the least cost of each, and trays that are left behind for certain, from the first cut on."""

    cuts: Ints
    cost: Ints
    left_behind: Ints


@dataclass(slots=True)
class _Trace:
    cuts: list[Ints] = field(default_factory=list)
    parents: list[Ints] = field(default_factory=list)


def cut_window(task: Task, window: Window, weights: Weights, at_most: int, look: Look) -> tuple[Cut | None, bool]:
    """The arrangement of least cost, if one costs at most ``at_most`` moves; and whether nothing was left out of the
    search. Where something was, there may be one of less cost, or one at all."""
    search = _Search(task, window, weights, at_most, look)
    return search.run(), search.complete


class _Search:
    def __init__(self, task: Task, window: Window, weights: Weights, at_most: int, look: Look) -> None:
        self._task, self._window, self._weights, self._look = task, window, weights, look
        self._limit = min(at_most, ENDLESS // PER_MOVE - 1) * PER_MOVE + PER_MOVE - 1
        self._trace = _Trace()
        self._states_left = look.states
        self.complete = True

    def run(self) -> Cut | None:
        window = self._window
        zero = np.zeros(1, dtype=np.int64)
        states = _States(np.array([window.first_tray], dtype=np.int64), zero, zero)
        for slot in range(window.first_slot, window.end_slot):
            states = self._next(states, slot)
            if not len(states.cuts):
                return None
            if self._states_left < 0:
                self.complete = False
                return None
        if states.cuts[-1] != window.end_tray:
            return None
        return Cut(int(states.cost[-1]), self._ends())

    def _next(self, states: _States, slot: int) -> _States:
        """The states after one more slot."""
        stands = self._task.stands_in(slot)
        kept = self._reach(states.cuts, slot, filled=False)
        ways = [(kept, 0)]
        if self._weights.reserve_may_be_less:
            ways.append((self._reach(states.cuts, slot, filled=True), RESERVE_GIVEN_UP * PER_MOVE))
        cuts = np.arange(states.cuts[0], ways[-1][0][-1] + 1, dtype=np.int64)
        self._states_left -= len(cuts)
        cost = np.full(len(cuts), ENDLESS, dtype=np.int64)
        parents = np.zeros(len(cuts), dtype=np.int64)
        at_all = 1 + int(self._task.out_of_place[slot]) + (0 if len(stands) else self._weights.opened * PER_MOVE)
        for reach, extra in ways:
            self._filled(states, reach, at_all + extra, cuts, cost, parents, stands)
            if len(stands):
                self._untouched(states, reach, extra, cuts, cost, parents, stands)
        self._left_empty(states, cuts, cost, parents, len(stands))
        return self._kept(slot, cuts, cost, parents, self._left_behind(states, slot, cuts, stands))

    def _reach(self, cuts: Ints, slot: int, *, filled: bool) -> Ints:
        """How far the slot reaches from each cut; ``filled``: into its reserve."""
        task, inside = self._task, self._task.inside[slot]
        reach = (task.without_reserve if filled else task.with_reserve)[inside][cuts]
        if filled or not task.must_keep_reserve:
            here = (cuts < len(task)) & (np.append(task.old, LOOSE)[cuts] == slot)
            reach = np.where(here, np.maximum(reach, task.as_they_stand[cuts]), reach)
        reach = np.maximum(np.maximum.accumulate(reach), cuts)
        return np.minimum(reach, self._window.end_tray)

    def _filled(
        self, states: _States, reach: Ints, extra: int, cuts: Ints, cost: Ints, parents: Ints, stands: Ints
    ) -> None:
        """Lower the cost of each cut to what it is when the slot holds at least one tray and reaches so far."""
        held = self._task.held_before
        from_cost = states.cost + (np.searchsorted(stands, states.cuts) - held[states.cuts]) * PER_MOVE
        firsts, lasts = np.searchsorted(reach, cuts), np.searchsorted(states.cuts, cuts)
        least, before = _least_between(from_cost, firsts, lasts)
        here = least + (held[cuts] - np.searchsorted(stands, cuts)) * PER_MOVE + extra
        better = (firsts < lasts) & (here < cost)
        cost[better], parents[better] = here[better], before[better]

    def _untouched(
        self, states: _States, reach: Ints, extra: int, cuts: Ints, cost: Ints, parents: Ints, stands: Ints
    ) -> None:
        """A slot that keeps all its trays and gets no other is not touched."""
        first, end = int(stands[0]), int(stands[-1]) + 1
        at = int(np.searchsorted(states.cuts, first))
        if end - first == len(stands) and at < len(states.cuts) and states.cuts[at] == first and reach[at] >= end:
            to = end - int(cuts[0])
            if states.cost[at] + extra <= cost[to]:
                cost[to], parents[to] = states.cost[at] + extra, at

    def _left_empty(self, states: _States, cuts: Ints, cost: Ints, parents: Ints, standing: int) -> None:
        at = states.cuts - cuts[0]
        empty = states.cost + (1 if standing else 0)
        better = empty <= cost[at]
        cost[at[better]] = empty[better]
        parents[at[better]] = np.flatnonzero(better)

    def _left_behind(self, states: _States, slot: int, cuts: Ints, stands: Ints) -> Ints:
        """How many trays that stand in this slot or before it come after each cut: they are moved for certain."""
        first = int(states.left_behind[0]) + len(stands) - int(np.searchsorted(stands, cuts[0]))
        old = self._task.old[cuts[0] : cuts[-1]]
        passed = np.cumsum((old != LOOSE) & (old <= slot))
        return first - np.concatenate(([0], passed))

    def _kept(self, slot: int, cuts: Ints, cost: Ints, parents: Ints, left_behind: Ints) -> _States:
        """The states that are worth going on from."""
        certain = cost + left_behind * PER_MOVE
        keep = np.flatnonzero((certain <= self._limit) & _undominated(cost, self._task.held_before[cuts]))
        if self._look.band is not None and len(keep):
            keep = self._in_band(slot, cuts, left_behind, keep, self._look.band)
        self._trace.cuts.append(cuts[keep])
        self._trace.parents.append(parents[keep].astype(np.int32))
        return _States(cuts[keep], cost[keep], left_behind[keep])

    def _in_band(self, slot: int, cuts: Ints, left_behind: Ints, keep: Ints, band: int) -> Ints:
        """The cuts near today's, and the one furthest on: if any way goes to the end, one goes from there."""
        held, (_, begins) = self._task.held_before, self._task.trays_of_slot
        before = held[cuts[keep]] - held[self._window.first_tray]
        ahead = before - (begins[slot + 1] - begins[self._window.first_slot] - left_behind[keep])
        astray = np.maximum(ahead, left_behind[keep])
        near = astray <= astray.min() + band
        self.complete = self.complete and bool(near.all())
        near[-1] = True
        kept: Ints = keep[near]
        return kept

    def _ends(self) -> Ints:
        """The cuts of the best arrangement, traced back from its end."""
        ends = np.empty(len(self._trace.cuts), dtype=np.int64)
        at = len(self._trace.cuts[-1]) - 1
        for slot in reversed(range(len(ends))):
            ends[slot] = self._trace.cuts[slot][at]
            at = int(self._trace.parents[slot][at])
        return ends


def _undominated(cost: Ints, held: Ints) -> NDArray[np.bool_]:
    """Cuts that no cut further on makes needless. One further on may leave more drawers touched, as many at most as
    it has passed trays."""
    weighed = cost + held
    best_after = np.minimum.accumulate(weighed[::-1])[::-1]
    needed: NDArray[np.bool_] = (cost < ENDLESS) & np.append(weighed[:-1] < best_after[1:], True)
    return needed


def _least_between(values: Ints, firsts: Ints, lasts: Ints) -> tuple[Ints, Ints]:
    """The least value, and its index, from each first to each last (not included); anything where there is none. Of
    equals the last, so that a tray follows the one before it rather than precede the one behind it.

    By a table of the least over 1, 2, 4, … neighbours.
    """
    length = np.maximum(lasts - firsts, 0)
    tables, step = [np.arange(len(values), dtype=np.int64)], 1
    while 2 * step <= int(length.max(initial=0)):
        last = tables[-1]
        left, right = last[: len(last) - step], last[step:]
        tables.append(np.where(values[left] < values[right], left, right))
        step *= 2
    level = np.frexp(length.astype(np.float64))[1] - 1
    best = np.zeros(len(firsts), dtype=np.int64)
    for height, table in enumerate(tables):
        here = np.flatnonzero(level == height)
        left, right = table[firsts[here]], table[lasts[here] - (1 << height)]
        best[here] = np.where(values[left] < values[right], left, right)
    return values[best], best
