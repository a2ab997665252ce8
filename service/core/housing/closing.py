"""Close the gap between plan and bound from both sides, drawer load by drawer load.

The linear program over everything that might lie in a drawer is as good a bound as patterns can give. Its prices name
the heaviest load not yet ruled out; ``DrawerLimits`` rules it out or lays it; and so on, until nothing is worth more
than its drawer costs. Prices are taken between those of the program and the best so far, which keeps them steady
(Wentges 1997, "Weighted Dantzig-Wolfe decomposition for linear mixed-integer programming", International
Transactions in Operational Research 4).
"""

from collections.abc import Sequence
from math import ceil

from service.core.housing.patterns import Patterns, Relaxed
from service.core.housing.prices import Prices
from service.core.housing.rooms import Task
from service.core.housing.whole_trays import DrawerLimits, Load

_FIRST_GAP, _LAST_GAP = 0.005, 1e-6
_NODES_A_LOAD = 300
_WORK_A_STEP = 10
_STEADIEST = 0.9
_LEAST_GAIN = 1e-6


class Closing:
    """``patterns`` gains what can be laid; ``best`` are the prices that prove most."""

    def __init__(self, task: Task, patterns: Patterns, limits: Sequence[DrawerLimits], first: Prices) -> None:
        self._task, self._patterns, self._limits = task, patterns, limits
        self.best = first
        self.laid = 0
        self._steps = 0
        self._ideal = Patterns(task)
        for filled in patterns.filled:
            self._ideal.add(filled)
        self._steadiness, self._gap = _STEADIEST, _FIRST_GAP

    @property
    def at_least(self) -> int:
        """What the best prices prove, in units of cost."""
        return max(0, ceil(self.best.value - _LEAST_GAIN))

    @property
    def work(self) -> int:
        """Work done so far, in steps that take about as long as each other."""
        return _WORK_A_STEP * self._steps + sum(limits.work for limits in self._limits)

    def step(self) -> bool:
        """Look into one load a room; False when there is nothing more to be gained."""
        self._steps += 1
        ideal = self._ideal.solve()
        if ceil(ideal.value - _LEAST_GAIN) <= self.at_least:
            return False
        prices = self._between(ideal)
        loads = [limits.heaviest(prices.kinds, self._gap, _NODES_A_LOAD) for limits in self._limits]
        self._keep(prices, [worth for worth, _ in loads])
        found = [
            self._look_into(limits, load)
            for limits, (_, load) in zip(self._limits, loads, strict=True)
            if self._is_worth_more(ideal, limits, load)
        ]
        return self._steadier(found=any(found))

    def _between(self, ideal: Relaxed) -> Prices:
        def between(best: Sequence[float], now: Sequence[float]) -> tuple[float, ...]:
            share = self._steadiness
            return tuple(share * one + (1 - share) * other for one, other in zip(best, now, strict=True))

        return Prices(between(self.best.kinds, ideal.prices), between(self.best.limits, ideal.limit_prices), 0.0)

    def _keep(self, prices: Prices, worths: Sequence[float]) -> None:
        """Scale prices down until no load is worth more than its cost, and keep them if they prove more."""
        over = max(
            worth / (self._task.rooms[limits.at].cost + prices.limits[self._task.rooms[limits.at].drawer])
            for worth, limits in zip(worths, self._limits, strict=True)
        )
        if over <= 0:
            return
        kinds = tuple(price / over for price in prices.kinds)
        value = sum(price * count for price, count in zip(kinds, self._task.counts, strict=True))
        value -= sum(price * (limit or 0) for price, limit in zip(prices.limits, self._task.limits, strict=True))
        if value > self.best.value:
            self.best = Prices(kinds, prices.limits, value)

    def _is_worth_more(self, ideal: Relaxed, limits: DrawerLimits, load: Sequence[int]) -> bool:
        room = self._task.rooms[limits.at]
        pieces = zip(room.pieces, load, strict=True)
        worth = sum(ideal.prices[piece.kind] * count for piece, count in pieces)
        return worth > room.cost + ideal.limit_prices[room.drawer] + _LEAST_GAIN

    def _look_into(self, limits: DrawerLimits, load: Sequence[int]) -> bool:
        answer = limits.look_into(load)
        if answer.load is Load.RULED_OUT:
            return True
        if answer.filled is not None and self._patterns.add(answer.filled):
            self.laid += 1
        return self._ideal.add(answer.filled or limits.unlaid(load))

    def _steadier(self, *, found: bool) -> bool:
        """Nearer to the best prices after a find, nearer to the program's after none; then look more closely."""
        if found:
            self._steadiness = min(_STEADIEST, self._steadiness + 0.1)
            return True
        if self._steadiness > 0:
            self._steadiness = self._steadiness / 2 if self._steadiness > 0.1 else 0.0
            return True
        self._gap /= 10
        return self._gap >= _LAST_GAP
