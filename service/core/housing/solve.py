"""Look for the cheapest plan: by quick rules, by column layouts, and by other layouts learnt on the way."""

from collections.abc import Sequence
from dataclasses import replace
from math import ceil

import numpy as np

from service.core.housing.bound import Bound
from service.core.housing.certificate import ColumnCertificate
from service.core.housing.closing import Closing
from service.core.housing.column_proof import prove_columns
from service.core.housing.columns import ColumnPricing
from service.core.housing.effort import Effort, Watch
from service.core.housing.greedy import (
    Plan,
    Rule,
    Used,
    cost_of,
    fill_all,
    fill_room,
    ranks_by_size,
    renumbered,
    trimmed,
)
from service.core.housing.linear import choose
from service.core.housing.patterns import Patterns, Relaxed, first_patterns, generate
from service.core.housing.pinwheels import CutPricing
from service.core.housing.plan import Progress
from service.core.housing.prices import Prices
from service.core.housing.rooms import Filled, Task, part_of
from service.core.housing.skyline import PICKS
from service.core.housing.whole_trays import DrawerLimits

#: Fewer trays of a kind than this on average, and column layouts, which repeat kinds freely, are no model for them.
_FEW_OF_A_KIND = 3
#: More kinds than this make the search for column layouts slow.
_MANY_KINDS = 40
_LEAST_GAIN = 1e-6
_NEXT_TO_NOTHING = 1e-3
#: Of each kind of whole drawer, to be filled anew with the rest.
_MOST_DRAWERS_GIVEN_BACK = 3
_PRICINGS_A_ROUND = 8


class PlanSearch:
    """One search over one task. ``best`` is the cheapest plan so far; ``at_least`` ends the search when reached.

    ``started_with`` is the cost of drawers that are filled already, for whoever watches. ``whole_trays`` is what was
    found out about whole trays, in raising ``at_least``.
    """

    def __init__(self, task: Task, effort: Effort, watch: Watch, started_with: int = 0) -> None:
        self.task, self.at_least, self._effort, self._watch = task, 0, effort, watch
        self.best: Plan | None = None
        self.patterns = Patterns(task)
        self.column_proof: ColumnCertificate | None = None
        self.whole_trays: tuple[Prices, tuple[DrawerLimits, ...]] | None = None
        self._started_with = started_with
        self._chance = np.random.default_rng(0)
        self._stage = ""

    @property
    def best_cost(self) -> int | None:
        """What the whole plan costs so far, drawers already filled and trays alone included."""
        return None if self.best is None else self._whole_cost(cost_of(self.task, self.best))

    def _whole_cost(self, units: int) -> int:
        return self._started_with + self.task.cost_alone + self.task.at_cost * units

    def start(self) -> None:
        """A first plan, by rules: there is always one, unless drawers are few."""
        self._stage = "rules"
        first_patterns(self.patterns)
        for ranks in ranks_by_size(self.task):
            for pick in PICKS:
                for mirrored in (False, True):
                    if self._is_done():
                        return
                    self._fill(Rule(ranks, pick, mirrored))

    def go_on(self, at_least: int, bound: Bound | None) -> None:
        """Make the plan cheaper until it meets ``at_least`` or the effort is spent.

        With the ``bound`` of this very task, ``at_least`` is raised where that can be.
        """
        self.at_least = at_least
        if self._repeats():
            self._by_columns()
            self._by_closing(bound)
        for _ in range(self._effort.rounds):
            if self._is_done():
                break
            self._by_learning()
            self._choose()
            self._by_prices()
            self._choose()

    def _cost(self) -> float:
        return cost_of(self.task, self.best) if self.best is not None else float("inf")

    def _is_done(self) -> bool:
        return self.best is not None and (self._cost() <= self.at_least or self._watch.should_stop())

    def offer(self, plan: Plan | None) -> None:
        """Keep a plan if it is cheaper, and every way to fill a drawer in it in any case."""
        if plan is None:
            return
        for used in plan:
            self.patterns.add(used.filled)
        if cost_of(self.task, plan) < self._cost():
            self.best = plan
            self._report()

    def _fill(self, rule: Rule) -> Plan | None:
        plan = fill_all(self.task, self.task.counts, self.task.limits, rule)
        self.offer(plan)
        return plan

    def _repeats(self) -> bool:
        kinds = len(self.task.kinds)
        return kinds <= _MANY_KINDS and sum(self.task.counts) >= _FEW_OF_A_KIND * kinds

    def _by_columns(self) -> None:
        """Runs even where the rules have reached the bound: its own bound is part of the answer."""
        self._stage = "columns"
        pricing = ColumnPricing(self.task.rooms)
        if generate(self.patterns, pricing, self._effort.pricing_rounds, self._watch.should_stop):
            self.column_proof = prove_columns(self.patterns, pricing)
        if not self._is_done() and self._lowest() > self.at_least:
            generate(self.patterns, CutPricing(self.task.rooms), self._effort.cutting_rounds, self._watch.should_stop)
        for _ in range(self._effort.rounds * _PRICINGS_A_ROUND):
            if self._is_done() or not self._by_prices():
                break
        self._choose()
        self._round_down_and_fill()

    def _by_closing(self, bound: Bound | None) -> None:
        """Where the bound allows fewer drawers than column layouts need: ask what one drawer can hold at all."""
        if bound is None or self._is_done():
            return
        self._stage = "closing"
        limits = [
            DrawerLimits(at, scales, self.task.counts, self._effort.search_nodes, self._watch.should_stop)
            for at, scales in enumerate(bound.scales)
            if self.task.rooms[at].pieces
        ]
        for each in limits:
            for pair in bound.pairs[each.at]:
                each.learn(pair)
        closing = Closing(self.task, self.patterns, limits, bound.prices)
        while closing.work < self._effort.closing_work and not self._is_done() and closing.step():
            self._raise_bound(closing.at_least)
        self.whole_trays = (closing.best, tuple(limits))
        if closing.laid:
            self._choose()
            self._round_down_and_fill()

    def _raise_bound(self, at_least: int) -> None:
        if at_least > self.at_least:
            self.at_least = at_least
            self._report()

    def _report(self) -> None:
        self._watch.on_progress(Progress(self._stage, self.best_cost, self._whole_cost(self.at_least)))

    def _round_down_and_fill(self) -> None:
        """Whole drawers of the linear program as they are, and the rest by rules; then the rest as a small search."""
        whole = self._whole_drawers(0)
        left, limits = self._what_is_left(whole)
        for ranks in ranks_by_size(self.task):
            for pick in PICKS:
                if self._is_done():
                    return
                rest = fill_all(self.task, left, limits, Rule(ranks, pick, mirrored=False))
                self.offer(trimmed((*whole, *rest), self.task.counts) if rest is not None else None)

        for fewer in range(_MOST_DRAWERS_GIVEN_BACK):
            if not self._could_be_cheaper() or not self._search_for_rest(self._whole_drawers(fewer)):
                return

    def _whole_drawers(self, fewer: int) -> Plan:
        """As many drawers as the linear program has whole, and of each kind some ``fewer``."""
        shares = zip(self.patterns.filled, self.patterns.solve().shares, strict=True)
        numbers = [(filled, int(share + _LEAST_GAIN) - fewer) for filled, share in shares]
        return tuple(Used(filled, number) for filled, number in numbers if number > 0)

    def _could_be_cheaper(self) -> bool:
        """Whether the ways to fill a drawer that are known leave room below the plan."""
        return not self._is_done() and self._lowest() < self._cost()

    def _lowest(self) -> int:
        """The cost that no plan of the known ways to fill a drawer goes below."""
        return ceil(self.patterns.solve().value - _LEAST_GAIN)

    def _search_for_rest(self, whole: Plan) -> bool:
        """The few trays beside whole drawers as a task of their own; False when they are all there is."""
        left, limits = self._what_is_left(whole)
        if not whole or not any(left):
            return False
        part, numbers = part_of(replace(self.task, limits=tuple(limits)), left)
        effort = replace(self._effort, rounds=min(1, self._effort.rounds), cutting_rounds=0)
        search = PlanSearch(part, effort, Watch(self._watch.should_stop))
        search.start()
        search.go_on(max(0, max(self.at_least, self._lowest()) - cost_of(self.task, whole)), None)
        if search.best is not None:
            self.offer(trimmed((*whole, *renumbered(search.best, numbers)), self.task.counts))
        return True

    def _what_is_left(self, plan: Plan) -> tuple[list[int], list[int | None]]:
        left, limits = list(self.task.counts), list(self.task.limits)
        for used in plan:
            for kind, count in used.filled.counts.items():
                left[kind] = max(0, left[kind] - count * used.drawers)
            drawer = self.task.rooms[used.filled.room].drawer
            limit = limits[drawer]
            limits[drawer] = None if limit is None else max(0, limit - used.drawers)
        return left, limits

    def _choose(self) -> None:
        """The best whole numbers of the ways to fill a drawer that look most useful."""
        if not self._could_be_cheaper():
            return
        relaxed = self.patterns.solve()
        self._stage = "choosing"
        useful = self._most_useful(relaxed)
        rooms, kinds = self.task.rooms, len(self.task.kinds)
        chosen = choose(
            [float(rooms[filled.room].cost) for filled in useful],
            [{**filled.counts, kinds + rooms[filled.room].drawer: 1} for filled in useful],
            [*self.task.counts, *(0 for _ in self.task.limits)],
            [*(None for _ in self.task.counts), *self.task.limits],
            target=max(self.at_least, self._lowest()),
            nodes=self._effort.choosing_nodes,
            should_stop=self._watch.should_stop,
        )
        if chosen is not None:
            plan = tuple(Used(filled, times) for filled, times in zip(useful, chosen.values, strict=True) if times)
            self.offer(trimmed(plan, self.task.counts))

    def _most_useful(self, relaxed: Relaxed) -> list[Filled]:
        def short_of_its_cost(filled: Filled) -> float:
            worth = sum(relaxed.prices[kind] * count for kind, count in filled.counts.items())
            return self.patterns.costs_now(relaxed, filled) - worth

        return sorted(self.patterns.filled, key=short_of_its_cost)[: self._effort.choices]

    def _by_learning(self) -> None:
        """Trays that stood in badly filled drawers come earlier next time.

        Belov & Scheithauer 2007, "Setup and open-stacks minimization in one-dimensional stock cutting", INFORMS
        Journal on Computing 19, on correcting values after each plan.
        """
        self._stage = "learning"
        areas = np.array(self.task.areas, dtype=np.float64)
        values = areas.copy()
        for _ in range(self._effort.passes):
            if self._is_done():
                return
            plan = self._fill(self._chance_rule(values, 0.9, 1.1))
            for used in plan or ():
                room = self.task.rooms[used.filled.room]
                share = sum(put.piece.area for put in used.filled.puts) / room.area
                for kind in used.filled.counts:
                    values[kind] = 0.6 * values[kind] + 0.4 * areas[kind] ** 1.02 / max(share, 0.05)

    def _by_prices(self) -> int:
        """Single drawers filled by rules with what the linear program finds dear; how many are worth their cost."""
        self._stage = "pricing"
        relaxed = self.patterns.solve()
        prices = np.array(relaxed.prices) + _NEXT_TO_NOTHING
        areas = np.array(self.task.areas, dtype=np.float64)
        worth_it = 0
        for number in range(self._effort.passes // 2):
            if self._watch.should_stop():
                break
            values = prices / areas ** self._chance.uniform(0, 1) if self._chance.integers(2) else prices
            at = number % len(self.task.rooms)
            rule = self._chance_rule(values, 0.6, 1.4)
            filled = fill_room(self.task.rooms[at], at, list(self.task.counts), rule)
            worth = sum(relaxed.prices[kind] * count for kind, count in filled.counts.items())
            worth_it += self.patterns.add(filled) and worth > self.patterns.costs_now(relaxed, filled) + _LEAST_GAIN
        return worth_it

    def _chance_rule(self, values: "np.ndarray[tuple[int], np.dtype[np.float64]]", low: float, high: float) -> Rule:
        ranks: Sequence[float] = (values * self._chance.uniform(low, high, len(values))).tolist()
        return Rule(tuple(ranks), PICKS[int(self._chance.integers(len(PICKS)))], bool(self._chance.integers(2)))
