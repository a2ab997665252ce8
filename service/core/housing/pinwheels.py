"""Pinwheels: four blocks around a fifth, the smallest layouts that no straight cut takes apart.

    +-----+-----------+
    |     |     3     |
    |  4  +-----+-----+
    |     |  5  |     |
    +-----+-----+  2  |
    |     1     |     |
    +-----------+-----+

Each block is laid by straight cuts, after the five-block heuristic of Bischoff & Dowsland 1982, "An application of
the micro to product design and distribution", Journal of the Operational Research Society 33. The mirror image of a
pinwheel holds the same trays, so one way round is enough.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from service.core.housing.columns import Worths
from service.core.housing.rooms import Filled, Room
from service.core.housing.straight_cuts import Block, Places, StraightCuts

#: Pairs of upright cuts that are looked into, those that could be worth most first.
_MOST_PAIRS = 2_000
_LEAST_GAIN = 1e-7
_NOTHING = -1e18


class CutPricing:
    """The best layouts by straight cuts and pinwheels, for every room of a task."""

    def __init__(self, rooms: Sequence[Room]) -> None:
        self._cuts = [(at, StraightCuts(room)) for at, room in enumerate(rooms) if room.pieces]

    def best(self, worths: Sequence[float]) -> list[tuple[float, Filled]]:
        """For each room the best layout by straight cuts, and pinwheels that are worth more, with their worths."""
        found = []
        for room, cuts in self._cuts:
            cuts.weigh(worths)
            whole = [Block(0, 0, cuts.across.whole, cuts.along.whole)]
            for worth, blocks in [(cuts.most, whole), *_Pinwheels(cuts).found()]:
                found.append((worth, Filled(room, cuts.laid(blocks))))
        return found


class _Pinwheels:
    """Of one room. ``x1`` and ``x2`` are the places of the upright cuts, left and right of the fifth block; ``y1``
    and ``y2`` those of the lying cuts, in front of and behind it."""

    def __init__(self, cuts: StraightCuts) -> None:
        self._cuts, self._table = cuts, cuts.table
        along = cuts.along
        self._y = np.arange(1, along.whole)
        self._behind: Places = along.left[self._y, along.whole]
        self._between = np.where(
            self._y[:, None] <= self._y[None, :], along.left[self._y[:, None], self._y[None, :]], -1
        )

    def found(self) -> Iterator[tuple[float, list[Block]]]:
        """Pinwheels that are worth more than any layout by straight cuts, each more than the one before."""
        best = self._cuts.most + _LEAST_GAIN
        fifth = np.append(self._table, np.full((len(self._table), 1), _NOTHING), axis=1)
        for at_most, x1, x2 in self._promising(best):
            if at_most <= best:
                break
            first_and_fourth, second_and_third = self._around(x1, np.array([x2]))
            worth = first_and_fourth[0][:, None] + second_and_third[0][None, :]
            worth += fifth[self._cuts.across.left[x1, x2]][self._between]
            y1, y2 = divmod(int(worth.argmax()), len(self._y))
            if worth[y1, y2] > best:
                best = float(worth[y1, y2]) + _LEAST_GAIN
                yield best - _LEAST_GAIN, self._blocks(x1, x2, int(self._y[y1]), int(self._y[y2]))

    def _around(self, x1: int, x2: Places) -> tuple[Worths, Worths]:
        """For each ``x2``: worth of blocks 1 and 4 by ``y1``, and of blocks 2 and 3 by ``y2``."""
        table, across = self._table, self._cuts.across
        first, fourth = table[x2][:, self._y], table[x1, self._behind]
        second = table[across.left[x2, across.whole]][:, self._y]
        third = table[across.left[x1, across.whole], self._behind]
        return first + fourth, second + third

    def _promising(self, least: float) -> list[tuple[float, int, int]]:
        """Pairs of upright cuts and what a pinwheel there is worth at most, those of most worth first.

        Turned half round a pinwheel is one as well: the left cut need be no further from the left than the other
        from the right.
        """
        found: list[tuple[float, int, int]] = []
        if not len(self._y):  # One tray reaches from front to back.
            return found
        across = self._cuts.across
        for x1 in range(1, across.whole):
            x2 = np.arange(x1, 1 + int(across.left[x1, across.whole]))
            if not len(x2):
                break
            first_and_fourth, second_and_third = self._around(x1, x2)
            fifth = self._table[across.left[x1, x2]]
            by_first = (first_and_fourth + fifth[:, self._behind]).max(axis=1) + second_and_third.max(axis=1)
            by_second = (second_and_third + fifth[:, self._y]).max(axis=1) + first_and_fourth.max(axis=1)
            at_most = np.minimum(by_first, by_second)
            found += [(float(at_most[at]), x1, int(x2[at])) for at in np.flatnonzero(at_most > least)]
        return sorted(found, key=lambda pair: (-pair[0], pair[1:]))[:_MOST_PAIRS]

    def _blocks(self, x1: int, x2: int, y1: int, y2: int) -> list[Block]:
        across, along = self._cuts.across, self._cuts.along
        left, right = int(across.ends[x1]), int(across.ends[x2])
        front, back = int(along.ends[y1]), int(along.ends[y2])
        return [
            Block(0, 0, x2, y1),
            Block(right, 0, int(across.left[x2, across.whole]), y2),
            Block(left, back, int(across.left[x1, across.whole]), int(along.left[y2, along.whole])),
            Block(0, front, x1, int(along.left[y1, along.whole])),
            Block(left, front, int(across.left[x1, x2]), int(along.left[y1, y2])),
        ]
