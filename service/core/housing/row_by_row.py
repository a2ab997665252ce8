"""Fill the drawer from the front, and never come back to a front line that was already refused.

The state is the front line: how deep the drawer is filled along its width. The next move is always at its frontmost,
leftmost step. Empty area is rationed by the count that is asked for, so with a good upper bound the search is short.
Two kinds of move:

- tray by tray: a tray lies there, or stands there, or a patch is left empty. Nothing is overlooked, so when no move
  is left, that count is impossible.
- run by run: the step is filled across with one run of lying and one run of standing trays. Most good layouts can be
  built so, and they are found in a fraction of the moves; finding none proves nothing.
"""

from bisect import bisect_left
from collections.abc import Iterator
from itertools import pairwise

from service.core.housing.smaller_numbers import Laid, Problem
from service.core.housing.sums import Sums

#: (x where it begins, depth filled) of each step, from left to right
FrontLine = tuple[tuple[int, int], ...]
#: the trays laid so far, the last one first
_Trail = tuple["_Trail", tuple[Laid, ...]] | None
#: front line after the move, area left empty by it, trays laid
_Move = tuple[FrontLine, int, tuple[Laid, ...]]


class OutOfWorkError(Exception):
    """The search was neither won nor lost within its number of states."""


class RowSearch:
    """A layout of ``count`` trays, looked for in at most ``states`` front lines."""

    def __init__(self, problem: Problem, count: int, states: int, in_runs: bool) -> None:
        self.states = states
        self._in_runs = in_runs
        self._problem = problem
        self._spare = problem.width * problem.depth - count * problem.tray_area
        sums = Sums(problem, max(problem.width, problem.depth))
        self._next_x = _next_starts(sums.starts(problem.width), problem.width)
        self._next_y = _next_starts(sums.starts(problem.depth), problem.depth)
        self._lost_behind = [left - sums.below[left] for left in range(problem.depth, -1, -1)]
        self._lost_beside = [gap - sums.below[gap] for gap in range(problem.width + 1)]

    def layout(self) -> list[Laid] | None:
        """The layout, or None when these moves build none; OutOfWorkError when that is not decided in time."""
        least_empty: dict[FrontLine, int] = {}
        start: FrontLine = ((0, 0),)
        waiting: list[tuple[FrontLine, int, _Trail]] = [(start, 0, None)]
        while waiting:
            line, empty, trail = waiting.pop()
            if line == ((0, self._problem.depth),):
                return _along(trail)
            if least_empty.get(line, self._spare + 1) <= empty:
                continue
            least_empty[line] = empty
            self.states -= 1
            if self.states < 0:
                raise OutOfWorkError
            for after, lost, trays in self._moves(line):
                if empty + lost + self._must_lose(after) <= self._spare:
                    waiting.append((after, empty + lost, (trail, trays)))
        return None

    def _moves(self, line: FrontLine) -> Iterator[_Move]:
        """What can be done at the frontmost, leftmost step, the least promising first."""
        step = min(range(len(line)), key=lambda at: line[at][1])
        x, y = line[step]
        end = line[step + 1][0] if step + 1 < len(line) else self._problem.width
        if self._next_y[y] != y or end - x < self._problem.short:
            yield self._left_empty(line, step, end)
        elif self._in_runs:
            yield from sorted(
                self._runs(line, step, end), key=lambda move: (move[1], len(move[0]), move), reverse=True
            )
        else:
            yield self._left_empty(line, step, end)
            yield from self._one_tray(line, step, end)

    def _one_tray(self, line: FrontLine, step: int, end: int) -> Iterator[_Move]:
        x, y = line[step]
        for lies in (False, True):
            tray = Laid(x, y, lies)
            right, back = x + tray.along_width(self._problem), y + tray.along_depth(self._problem)
            if self._next_x[x] == x and right <= end and back <= self._problem.depth:
                yield _filled(line, step, end, [(right, back)]), 0, (tray,)

    def _runs(self, line: FrontLine, step: int, end: int) -> Iterator[_Move]:
        """A run of lying and a run of standing trays, either first, as many as the step takes."""
        (x, y), problem = line[step], self._problem
        stand_here = y + problem.long <= problem.depth
        for lying in range((end - x) // problem.long + 1):
            standing = (end - x - lying * problem.long) // problem.short if stand_here else 0
            for lies_first in (True, False) if lying and standing else (bool(lying),):
                trays = _run(problem, x, y, lying if lies_first else standing, lies_first)
                middle = trays[-1].x + trays[-1].along_width(problem) if trays else x
                trays += _run(problem, middle, y, standing if lies_first else lying, not lies_first)
                if trays:
                    fills = [(t.x + t.along_width(problem), y + t.along_depth(problem)) for t in trays]
                    yield _filled(line, step, end, fills), 0, tuple(trays)

    def _left_empty(self, line: FrontLine, step: int, end: int) -> _Move:
        """The smallest patch at the step's left that is empty when no tray starts there."""
        x, y = line[step]
        if end - x < self._problem.short:
            right, back = end, self._lowest_wall(line, step)
        elif self._next_y[y] != y:
            right, back = end, self._next_y[y]
        else:
            right, back = min(end, self._next_x[x + 1]), self._next_y[y + 1]
        if end - right < self._problem.short:
            right = end
        return _filled(line, step, end, [(right, back)]), (right - x) * (back - y), ()

    def _lowest_wall(self, line: FrontLine, step: int) -> int:
        walls = [line[at][1] for at in (step - 1, step + 1) if 0 <= at < len(line)]
        return min(walls, default=self._problem.depth)

    def _must_lose(self, line: FrontLine) -> int:
        """Area lost behind the front line whatever follows: only sums of sides fill a column, or a gap in a row."""
        ends = [*(x for x, _ in line[1:]), self._problem.width]
        in_columns = sum((end - x) * self._lost_behind[y] for (x, y), end in zip(line, ends, strict=True))
        return in_columns if in_columns > self._spare else max(in_columns, self._lost_in_rows(line, ends))

    def _lost_in_rows(self, line: FrontLine, ends: list[int]) -> int:
        lost = 0
        levels = sorted({y for _, y in line} | {self._problem.depth})
        for level, next_level in pairwise(levels):
            gap = 0
            for (x, y), end in zip(line, ends, strict=True):
                if y <= level:
                    gap += end - x
                else:
                    lost += self._lost_beside[gap] * (next_level - level)
                    gap = 0
            lost += self._lost_beside[gap] * (next_level - level)
        return lost


def _run(problem: Problem, x: int, y: int, count: int, lies: bool) -> list[Laid]:
    width = problem.long if lies else problem.short
    return [Laid(x + number * width, y, lies) for number in range(count)]


def _along(trail: _Trail) -> list[Laid]:
    trays: list[Laid] = []
    while trail:
        trail, laid = trail
        trays.extend(laid)
    return trays


def _filled(line: FrontLine, step: int, end: int, fills: list[tuple[int, int]]) -> FrontLine:
    """The front line after the step is filled, from its left, up to each (right, back) in turn."""
    x, y = line[step]
    filled = []
    for right, back in fills:
        filled.append((x, back))
        x = right
    steps = [*line[:step], *filled, *([(x, y)] if x < end else []), *line[step + 1 :]]
    return (steps[0], *(here for before, here in pairwise(steps) if before[1] != here[1]))


def _next_starts(starts: list[int], length: int) -> list[int]:
    """For each place along a length: itself when a tray can start there, else the next where one can."""
    ends = [*starts, length]
    return [ends[bisect_left(starts, here)] for here in range(length + 1)]
