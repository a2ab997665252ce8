"""The pattern model: how many drawers are to be filled in which way, so that all trays are housed at least cost.

Gilmore & Gomory 1961, "A linear programming approach to the cutting-stock problem", Operations Research 9: the linear
program over ways to fill a drawer is solved without listing them, since its prices say what the next should hold.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from service.core.housing.columns import homogeneous
from service.core.housing.linear import INFINITY, Program, Solution
from service.core.housing.rooms import Filled, Task

_LEAST_GAIN = 1e-7
#: Dearer than any drawer: only trays for which the drawers do not suffice are left over at this price.
_LEFT_OVER = 1e6


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The linear program solved: how many of each pattern, a price for each kind of tray, and the value."""

    value: float
    shares: tuple[float, ...]
    prices: tuple[float, ...]
    limit_prices: tuple[float, ...]


class Patterns:
    """All ways to fill a room that were found so far, and the linear program over them."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.filled: list[Filled] = []
        self._known: set[tuple[int, tuple[tuple[int, int], ...]]] = set()
        self._program = Program()
        self._kinds = [self._program.add_row(count, {}, INFINITY) for count in task.counts]
        self._limits = [
            self._program.add_row(-INFINITY, {}, INFINITY if limit is None else limit) for limit in task.limits
        ]
        for row in self._kinds:
            self._program.add_column(_LEFT_OVER, {row: 1.0})

    def add(self, filled: Filled) -> bool:
        """Keep a way to fill a room; False when one with the same trays is known."""
        key = (filled.room, tuple(sorted(filled.counts.items())))
        if key in self._known or not filled.puts:
            return False
        self._known.add(key)
        room = self.task.rooms[filled.room]
        entries = {self._kinds[kind]: float(count) for kind, count in filled.counts.items()}
        self._program.add_column(float(room.cost), {**entries, self._limits[room.drawer]: 1.0})
        self.filled.append(filled)
        return True

    def solve(self) -> Relaxed:
        solution: Solution = self._program.solve()
        kinds = len(self._kinds)
        prices = tuple(max(0.0, price) for price in solution.prices[:kinds])
        limit_prices = tuple(max(0.0, -price) for price in solution.prices[kinds:])
        return Relaxed(solution.objective, tuple(solution.values[kinds:]), prices, limit_prices)

    def costs_now(self, relaxed: Relaxed, filled: Filled) -> float:
        """What a drawer costs together with the price of its type's limit."""
        room = self.task.rooms[filled.room]
        return room.cost + relaxed.limit_prices[room.drawer]


class Pricing(Protocol):
    """Looks for layouts of great worth, a tray of each kind being worth so much, in every room."""

    def best(self, worths: Sequence[float]) -> list[tuple[float, Filled]]:
        """Such layouts and their worths."""


def generate(patterns: Patterns, pricing: Pricing, rounds: int, should_stop: Callable[[], bool]) -> bool:
    """Add the layouts of most worth until none is worth its drawer; whether that point was reached."""
    for _ in range(rounds):
        relaxed = patterns.solve()
        added = [
            patterns.add(filled)
            for worth, filled in pricing.best(relaxed.prices)
            if worth > patterns.costs_now(relaxed, filled) + _LEAST_GAIN
        ]
        if not any(added):
            return True
        if should_stop():
            break
    return False


def first_patterns(patterns: Patterns) -> None:
    """One kind of tray to a drawer, in every room and both ways round."""
    for at, room in enumerate(patterns.task.rooms):
        for piece in room.pieces:
            patterns.add(homogeneous(at, piece, room))
