"""Conservative scales: the pair for one room that gives given trays the most weight.

For given numbers along the depth the best numbers along the width are a linear program, and the other way round; so
the two take turns until neither gains. That ends in a summit, not always the highest, hence several starts.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from service.core.housing.knapsack import Side, largest_sum
from service.core.housing.linear import Program
from service.core.housing.rooms import Room

_MOST_TURNS = 20
_LEAST_GAIN = 1e-7
#: So many lengths take about as long as one more step of any kind.
_LENGTHS_A_STEP = 8

Numbers = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Numbers for each length of a room's width and depth, in the order of its axes."""

    along_width: Numbers
    along_depth: Numbers


class Axis:
    """The lengths along one side of a room; finds the numbers that are worth most while no fitting lengths pass 1."""

    def __init__(self, whole: int, counts: dict[int, int]) -> None:
        self.lengths = tuple(sorted(counts))
        self.at = {length: at for at, length in enumerate(self.lengths)}
        self.side = Side.of(whole, self.lengths, [counts[length] for length in self.lengths])
        self._program = Program(maximise=True)
        for most in self.side.most:
            self._program.add_column(0.0, {}, at_most=1.0 / max(1, most))

    def best(self, worths: Sequence[float]) -> Numbers:
        """The numbers of most worth. Rows are added as sums of lengths that fit turn out to pass 1."""
        self._program.worth(worths)
        while True:
            numbers = self._program.solve().values
            total, counts = largest_sum(self.side, numbers)
            if total <= 1 + _LEAST_GAIN:
                return tuple(max(0.0, number) / max(1.0, total) for number in numbers)
            entries = {at: float(count) for at, count in enumerate(counts) if count}
            self._program.add_row(-np.inf, entries, 1.0)


class RoomScales:
    """Pairs of scales for one room. ``work`` counts the steps taken, larger ones as several."""

    def __init__(self, room: Room, counts: Sequence[int]) -> None:
        self.room = room
        across: dict[int, int] = defaultdict(int)
        along: dict[int, int] = defaultdict(int)
        for piece in room.pieces:
            across[piece.width] += counts[piece.kind]
            along[piece.depth] += counts[piece.kind]
        self.width, self.depth = Axis(room.width, across), Axis(room.depth, along)
        self.work = 0
        self._work_each = 1 + (len(across) + len(along)) // _LENGTHS_A_STEP
        self._columns = np.array([self.width.at[piece.width] for piece in room.pieces], dtype=np.intp)
        self._rows = np.array([self.depth.at[piece.depth] for piece in room.pieces], dtype=np.intp)

    def weights(self, pair: Pair) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """What each piece of the room weighs."""
        weights: np.ndarray[tuple[int], np.dtype[np.float64]] = (
            np.array(pair.along_width)[self._columns] * np.array(pair.along_depth)[self._rows]
        )
        return weights

    def worth(self, pair: Pair, counts: Sequence[float]) -> float:
        return float(self.weights(pair) @ np.asarray(counts))

    def summit(self, counts: Sequence[float], along_depth: Sequence[float]) -> tuple[float, Pair]:
        """Take turns from numbers along the depth; ``counts`` are those of the room's pieces."""
        self.work += self._work_each
        many, numbers, best = np.asarray(counts), np.asarray(along_depth), (-1.0, Pair((), ()))
        for _ in range(_MOST_TURNS):
            worths = np.bincount(self._columns, many * numbers[self._rows], len(self.width.lengths))
            along_width = self.width.best(worths.tolist())
            worths = np.bincount(self._rows, many * np.array(along_width)[self._columns], len(self.depth.lengths))
            pair = Pair(along_width, self.depth.best(worths.tolist()))
            worth, numbers = self.worth(pair, counts), np.array(pair.along_depth)
            if worth <= best[0] * (1 + _LEAST_GAIN):
                break
            best = (worth, pair)
        return best

    @property
    def by_area(self) -> Pair:
        """A tray weighs its share of the room's area."""
        return Pair(
            tuple(length / self.room.width for length in self.width.lengths),
            tuple(length / self.room.depth for length in self.depth.lengths),
        )

    def starts(self) -> Iterable[list[float]]:
        """Numbers along the depth to start from: by length, by how many lie behind one another, and by halves."""
        whole = self.room.depth
        yield [length / whole for length in self.depth.lengths]
        yield [1.0 / (whole // length) for length in self.depth.lengths]
        for parts in (2, 3, 4, 5):
            yield [((parts * length) // whole) / parts for length in self.depth.lengths]
            yield [min(1.0, -(-parts * length // whole) / parts) for length in self.depth.lengths]
