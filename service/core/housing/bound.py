"""The least that any plan can cost, by weights that no drawer can carry more of than it costs.

Weights are mixed from several pairs of scales for each room, since what is a good pair for trays as they stand may be
poor for the same trays turned: the mixture that is worth most is a linear program, whose prices say which trays, the
one way round or the other and in which room, the next pair should weigh more.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from service.core.housing.certificate import Certificate
from service.core.housing.certify import Mixture, certify
from service.core.housing.effort import Watch
from service.core.housing.linear import INFINITY, Program
from service.core.housing.plan import Progress
from service.core.housing.prices import Prices
from service.core.housing.rooms import Task
from service.core.housing.scales import Pair, RoomScales

_LEAST_GAIN = 1e-6
_NEXT_TO_NOTHING = 1e-9
_ROUNDED_OFF = 0.01
#: Drawers' worth at most that one drawer more may be: where the drawers do not suffice there is no end to it.
_DEAREST_LIMIT = 100.0

#: For each room, trays of each of its pieces
Shares = list[list[float]]


@dataclass(frozen=True, slots=True)
class Bound:
    """The certificate, all pairs of scales found for each room, and the prices of the mix."""

    certificate: Certificate
    scales: tuple[RoomScales, ...]
    pairs: tuple[tuple[Pair, ...], ...]
    prices: Prices


class Mixing:
    """The linear program over all pairs found so far."""

    def __init__(self, task: Task, scales: tuple[RoomScales, ...]) -> None:
        self._task, self._scales = task, scales
        self._program = Program(maximise=True)
        self._weight = [self._program.add_column(float(count), {}) for count in task.counts]
        dearest = _DEAREST_LIMIT * max(room.cost for room in task.rooms)
        self._limit = [
            self._program.add_column(-float(limit or 0), {}, at_most=0.0 if limit is None else dearest)
            for limit in task.limits
        ]
        self._rows = [
            [self._program.add_row(-INFINITY, {self._weight[piece.kind]: 1.0}, 0.0) for piece in room.pieces]
            for room in task.rooms
        ]
        self._budgets = [
            self._program.add_row(-INFINITY, {self._limit[room.drawer]: -1.0}, float(room.cost))
            for room in task.rooms
        ]
        self._pairs: list[tuple[int, Pair, int]] = []

    def add(self, room: int, pair: Pair) -> None:
        weights = self._scales[room].weights(pair)
        entries = {row: -float(weight) for row, weight in zip(self._rows[room], weights, strict=True) if weight}
        column = self._program.add_column(0.0, {self._budgets[room]: 1.0, **entries})
        self._pairs.append((room, pair, column))

    def solve(self) -> None:
        self._solution = self._program.solve()

    @property
    def value(self) -> float:
        return self._solution.objective

    def shares(self, room: int) -> list[float]:
        """How many trays of each piece of a room the next pair for it should weigh."""
        return [max(0.0, self._solution.prices[row]) for row in self._rows[room]]

    def all_shares(self) -> Shares:
        return [self.shares(room) for room in range(len(self._scales))]

    def price(self, room: int) -> float:
        """What a pair for the room has to be worth to be of use."""
        return max(0.0, self._solution.prices[self._budgets[room]])

    def pairs(self) -> tuple[tuple[Pair, ...], ...]:
        return tuple(tuple(pair for at, pair, _ in self._pairs if at == room) for room in range(len(self._scales)))

    def prices(self) -> Prices:
        values = self._solution.values
        kinds = tuple(max(0.0, values[column]) for column in self._weight)
        return Prices(kinds, tuple(max(0.0, values[column]) for column in self._limit), self.value)

    def mixture(self) -> Mixture:
        pairs: list[list[tuple[float, Pair]]] = [[] for _ in self._scales]
        for room, pair, column in self._pairs:
            share = self._solution.values[column]
            if share > 0:
                pairs[room].append((share, pair))
        return Mixture(tuple(tuple(each) for each in pairs), self.prices().limits)


def lower_bound(task: Task, work: int, restarts: int, watch: Watch, best: int | None = None) -> Bound:
    """The best bound found within ``work``, looking at each room from ``restarts`` disturbed starts a round.

    ``best`` is the cost of the cheapest plan so far, for whoever watches.
    """
    scales = tuple(RoomScales(room, task.counts) for room in task.rooms)
    mixing, chance = Mixing(task, scales), np.random.default_rng(0)
    for at, room in enumerate(task.rooms):
        if room.pieces:
            _first_pairs(mixing, scales[at], at, task.counts)
    mixing.solve()
    steady = mixing.all_shares()
    while sum(each.work for each in scales) < work and not watch.should_stop():
        watch.on_progress(Progress("bound", best, _so_far(task, mixing.value)))
        now = mixing.all_shares()
        steady = _halfway(steady, now)
        gained = [_improve(mixing, scales, shares, restarts, chance) for shares in (steady, now)]
        mixing.solve()
        if not any(gained):
            break
    certificate = certify(task, scales, mixing.mixture())
    watch.on_progress(Progress("bound", best, certificate.at_least))
    return Bound(certificate, scales, mixing.pairs(), mixing.prices())


def _so_far(task: Task, value: float) -> int:
    """A cost that the bound will not fall below, whatever is lost when it is rounded."""
    return task.cost_alone + task.at_cost * max(0, ceil(value - _ROUNDED_OFF))


def _first_pairs(mixing: Mixing, scales: RoomScales, at: int, counts: tuple[int, ...]) -> None:
    """By area, and the summits above the usual starts when half of the trays that may turn are turned."""
    mixing.add(at, scales.by_area)
    ways = Counter(piece.kind for piece in scales.room.pieces)
    shares = [counts[piece.kind] / ways[piece.kind] for piece in scales.room.pieces]
    for start in scales.starts():
        mixing.add(at, scales.summit(shares, start)[1])


def _halfway(one: Shares, other: Shares) -> Shares:
    """Prices leap from one solution to the next; halfway between, the next pairs serve both."""
    return [
        [(first + second) / 2 for first, second in zip(left, right, strict=True)]
        for left, right in zip(one, other, strict=True)
    ]


def _improve(
    mixing: Mixing, scales: Sequence[RoomScales], shares: Shares, restarts: int, chance: np.random.Generator
) -> bool:
    """Look for pairs that weigh more of what the mixture lacks; whether there was one."""
    gained = False
    for at, room in enumerate(scales):
        if room.room.pieces:
            now, price = mixing.shares(at), mixing.price(at)
            for pair in _climbing(room, shares[at], restarts, chance):
                if room.worth(pair, now) > price * (1 + _LEAST_GAIN) + _NEXT_TO_NOTHING:
                    mixing.add(at, pair)
                    gained = True
    return gained


def _climbing(
    scales: RoomScales, shares: Sequence[float], restarts: int, chance: np.random.Generator
) -> Iterator[Pair]:
    """Summits, each higher than the one before: from the usual starts, then from disturbed ones near the highest."""
    highest, near = 0.0, np.ones(len(scales.depth.lengths))
    usual = list(scales.starts())
    for number in range(len(usual) + restarts):
        start = usual[number] if number < len(usual) else (near * chance.uniform(0.3, 1.7, len(near))).tolist()
        worth, pair = scales.summit(shares, start)
        if worth > highest * (1 + _LEAST_GAIN):
            highest, near = worth, np.array(pair.along_depth)
            yield pair
