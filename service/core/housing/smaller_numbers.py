"""The same problem in smaller whole numbers.

How many equal trays fit depends on one thing only: which numbers of long and short sides add up to no more than
the drawer's width, and which to no more than its depth. Two problems that agree on this have the same layouts, so
508 x 762 mm in nanometres is worked out with numbers that rarely pass 200 (Martins & Dell 2008, "Solving the pallet
loading problem", European Journal of Operational Research 184, on equivalence classes of pallet-loading problems).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import floor


@dataclass(frozen=True, slots=True)
class Problem:
    """A drawer of ``width`` x ``depth`` and trays of ``long`` x ``short``, all in one unit of no importance."""

    width: int
    depth: int
    long: int
    short: int

    @property
    def tray_area(self) -> int:
        return self.long * self.short


@dataclass(frozen=True, slots=True)
class Laid:
    """One tray in a drawer; it lies when its long side runs along the drawer's width, else it stands."""

    x: int
    y: int
    lies: bool

    def along_width(self, problem: Problem) -> int:
        return problem.long if self.lies else problem.short

    def along_depth(self, problem: Problem) -> int:
        return problem.short if self.lies else problem.long


def shorts_beside(length: int, long: int, short: int) -> list[int]:
    """For 0, 1, 2 ... long sides along ``length``: how many short sides still fit beside them."""
    return [(length - longs * long) // short for longs in range(length // long + 1)]


def alike(problem: Problem, most: int) -> Iterator[Problem]:
    """Problems with the same layouts in smaller numbers, the smallest first; none with a short side over ``most``."""
    low, high = _ratios_alike(problem)
    for short in range(1, most + 1):
        long = floor(low * short) + 1
        while high is None or long < high * short:
            yield _with_sides(problem, long, short)
            if high is None:
                return
            long += 1


def back_to(problem: Problem, small: Problem, trays: list[Laid]) -> list[Laid]:
    """The layout of the smaller problem in the numbers of the true one: every tray pushed to the front and left.

    A tray stays right of all trays it was right of, so a chain of trays is a sum of sides that fits both drawers.
    """
    xs = _pushed([(t.x, t.along_width(small), t.along_width(problem)) for t in trays])
    ys = _pushed([(t.y, t.along_depth(small), t.along_depth(problem)) for t in trays])
    return [Laid(x, y, tray.lies) for x, y, tray in zip(xs, ys, trays, strict=True)]


def _pushed(spans: list[tuple[int, int, int]]) -> list[int]:
    """True starts for (start, size, true size): each after the true end of all that ended before its start."""
    starts = [0] * len(spans)
    ended: dict[int, int] = {}
    for start in sorted({start for start, _, _ in spans}):
        true_start = max((true_end for end, true_end in ended.items() if end <= start), default=0)
        for number, (own_start, size, true_size) in enumerate(spans):
            if own_start == start:
                starts[number] = true_start
                ended[start + size] = max(ended.get(start + size, 0), true_start + true_size)
    return starts


def _ratios_alike(problem: Problem) -> tuple[Fraction, Fraction | None]:
    """Between which two values (both excluded) long / short may lie without changing what fits along either side."""
    low, high = Fraction(0), None
    for length in (problem.width, problem.depth):
        fits = [*shorts_beside(length, problem.long, problem.short), -1]
        for longs, shorts in enumerate(fits[:-1]):
            for others, too_few in enumerate(fits):
                # longs * long + shorts * short fits and others * long + (too_few + 1) * short does not
                if longs > others:
                    bound = Fraction(too_few + 1 - shorts, longs - others)
                    high = bound if high is None else min(high, bound)
                elif longs < others:
                    low = max(low, Fraction(shorts - too_few - 1, others - longs))
    return low, high


def _with_sides(problem: Problem, long: int, short: int) -> Problem:
    """The tightest drawer that takes, with these sides, the sums that fit the problem's drawer."""

    def tightest(length: int) -> int:
        fits = shorts_beside(length, problem.long, problem.short)
        return max(longs * long + shorts * short for longs, shorts in enumerate(fits))

    return Problem(tightest(problem.width), tightest(problem.depth), long, short)
