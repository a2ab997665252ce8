"""Which lots go into the freezer when: as few loads as possible with every promised date kept.

A load stays in for a whole number of days, and takes so many drawers; drawers of one lot may be parted over several
loads. An integer program over the days is solved exactly; where it is given up first, the answer says what no
calendar can go below. Promises that no calendar keeps are broken as seldom as possible and named.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from service.core.errors import Fault
from service.core.materials import Treatment

#: Steps of the search before it is given up, in nodes of its tree.
_MOST_NODES = 20_000
#: What a machine may be off when it adds up whole numbers.
_SLIP = 1e-6


@dataclass(frozen=True, slots=True)
class Waiting:
    """A lot that waits: from when on it is there, and the day on which its quarantine is promised to be over.

    ``used`` is what was used before on each thing in it, ``None`` where nobody said.
    """

    code: str
    drawers: int
    ready_on: date
    promised_on: date | None = None
    used: tuple[tuple[Treatment, ...] | None, ...] = (None,)


@dataclass(frozen=True, slots=True)
class CalendarQuestion:
    """``days_in`` is how long a load occupies a freezer, ``days_after`` how long it then stays shut outside."""

    waiting: tuple[Waiting, ...]
    first_day: date
    days: int
    capacity_drawers: int
    days_in: int
    days_after: int = 1
    freezers: int = 1
    closed_on: tuple[date, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """``drawers`` of a lot go into one load."""

    code: str
    drawers: int


@dataclass(frozen=True, slots=True)
class FreezerLoad:
    """In on the one day, out on the other, over when it has warmed up."""

    in_on: date
    out_on: date
    over_on: date
    shares: tuple[Share, ...]

    @property
    def drawers(self) -> int:
        return _drawers(self.shares)


@dataclass(frozen=True, slots=True)
class BrokenPromise:
    """``over_on`` of None: it does not go in within the days asked for."""

    code: str
    promised_on: date
    over_on: date | None


@dataclass(frozen=True, slots=True)
class FreezerCalendar:
    """``at_least`` is what no calendar goes below that breaks as few promises; proved where it is met.

    ``left_over`` are lots that do not go in within the days asked for.
    """

    loads: tuple[FreezerLoad, ...]
    at_least: int
    broken: tuple[BrokenPromise, ...] = ()
    left_over: tuple[Share, ...] = ()

    @property
    def is_proved(self) -> bool:
        return self.at_least == len(self.loads)


def faults_in(question: CalendarQuestion) -> tuple[Fault, ...]:
    """What does not hang together in a question; empty when it can be answered."""
    faults, seen = [], set()
    for place, lot in enumerate(question.waiting):
        if lot.code in seen:
            faults.append(Fault(f"/lots/{place}/code", f"“{lot.code}” stands twice; each lot may stand once."))
        seen.add(lot.code)
        if lot.promised_on is not None and lot.promised_on < lot.ready_on:
            faults.append(Fault(f"/lots/{place}/promised_on", "It is promised before it is there."))
    return tuple(faults)


def calendar(question: CalendarQuestion) -> FreezerCalendar:
    """The calendar with the fewest broken promises, then the fewest drawers left over, then the fewest loads."""
    if not question.waiting:
        return FreezerCalendar((), 0)
    starts, given_up, at_least = _Program(question).solve()
    kept = frozenset(lot.code for lot in question.waiting if lot.promised_on) - given_up
    return _written(question, _earlier(question, starts, kept), kept, at_least)


class _Program:
    """The integer program. Columns: loads begun on each day, drawers of each lot on each day, and for each lot
    whether its promise is broken and how many of its drawers are left over.
    """

    def __init__(self, question: CalendarQuestion) -> None:
        self.question = question
        closed = set(question.closed_on)
        self.days = [day for day in range(question.days) if question.first_day + timedelta(days=day) not in closed]
        self.lots = question.waiting
        self.drawers = sum(lot.drawers for lot in self.lots)
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def solve(self) -> tuple[list[int], frozenset[str], int]:
        """The days on which loads begin, the lots whose promises are given up, and how few loads there can be."""
        days, lots = len(self.days), len(self.lots)
        many = self.question.freezers * self.question.days + 1
        costs = np.concatenate(
            [
                np.ones(days),
                np.zeros(days * lots),
                np.full(lots, float(many * (self.drawers + 1))),
                np.full(lots, many),
            ]
        )
        whole = np.concatenate([np.ones(days), np.zeros(days * lots), np.ones(lots), np.ones(lots)])
        result = milp(
            costs, integrality=whole, bounds=self._bounds(), constraints=self._constraints(),
            options={"node_limit": _MOST_NODES, "mip_rel_gap": 0},
        )  # fmt: skip
        if result.x is None:
            return [], frozenset(), 0
        begun = [day for day, count in zip(self.days, result.x[:days], strict=True) for _ in range(round(count))]
        given_up = result.x[days + days * lots : days + days * lots + lots]
        broken_and_left = float(costs[days:] @ result.x[days:])
        return (
            begun,
            frozenset(lot.code for lot, broken in zip(self.lots, given_up, strict=True) if round(broken)),
            max(0, ceil(result.mip_dual_bound - round(broken_and_left) - _SLIP)),
        )

    def _bounds(self) -> Bounds:
        days, lots = len(self.days), len(self.lots)
        upper = np.concatenate([
            np.full(days, self.question.freezers),
            *[
                [lot.drawers if self._is_there(lot, day) else 0 for day in self.days] for lot in self.lots
            ],
            [0 if lot.promised_on is None else 1 for lot in self.lots],
            [lot.drawers for lot in self.lots],
        ])  # fmt: skip
        return Bounds(np.zeros(days + days * lots + 2 * lots), upper)

    def _constraints(self) -> LinearConstraint:
        days, lots = len(self.days), len(self.lots)
        for place, day in enumerate(self.days):
            held = {days + number * days + place: 1.0 for number in range(lots)}
            self._row({**held, place: -float(self.question.capacity_drawers)}, -np.inf, 0)
            within = [at for at, begun in enumerate(self.days) if day - self.question.days_in < begun <= day]
            self._row(dict.fromkeys(within, 1.0), -np.inf, self.question.freezers)
        for number, lot in enumerate(self.lots):
            own, broken, left = days + number * days, days + days * lots + number, days + days * lots + lots + number
            placed = {own + place: 1.0 for place in range(days)}
            self._row({**placed, left: 1.0}, lot.drawers, lot.drawers)
            late = {own + place: 1.0 for place, day in enumerate(self.days) if not self._in_time(lot, day)}
            self._row({**late, left: 1.0, broken: -float(lot.drawers)}, -np.inf, 0 if lot.promised_on else np.inf)
        return self._matrix(days + days * lots + 2 * lots)

    def _row(self, entries: dict[int, float], low: float, high: float) -> None:
        self.rows.append((entries, low, high))

    def _matrix(self, columns: int) -> LinearConstraint:
        at = [
            (row, column, value) for row, (entries, _, _) in enumerate(self.rows) for column, value in entries.items()
        ]
        rows, columns_at, values = zip(*at, strict=True)
        matrix = coo_array((values, (rows, columns_at)), shape=(len(self.rows), columns))
        return LinearConstraint(matrix.tocsr(), [row[1] for row in self.rows], [row[2] for row in self.rows])

    def _is_there(self, lot: Waiting, day: int) -> bool:
        return self.question.first_day + timedelta(days=day) >= lot.ready_on

    def _in_time(self, lot: Waiting, day: int) -> bool:
        return lot.promised_on is None or _over_on(self.question, day) <= lot.promised_on


def _over_on(question: CalendarQuestion, day: int) -> date:
    return question.first_day + timedelta(days=day + question.days_in + question.days_after)


def _filled(
    question: CalendarQuestion, starts: Sequence[int], kept: frozenset[str]
) -> tuple[list[list[Share]], dict[str, int]]:
    """The loads filled one after the other with what is there and is promised first, and what is left of each lot.

    For drawers that all take the same time this keeps every promise of ``kept`` that these loads can keep at all.
    """
    left = {lot.code: lot.drawers for lot in question.waiting}
    urgent = sorted(question.waiting, key=lambda lot: (_urgency(lot, kept), lot.ready_on, lot.code))
    loads = []
    for day in starts:
        room, shares = question.capacity_drawers, []
        for lot in urgent:
            taken = min(room, left[lot.code])
            if taken and question.first_day + timedelta(days=day) >= lot.ready_on:
                shares.append(Share(lot.code, taken))
                left[lot.code] -= taken
                room -= taken
        loads.append(shares)
    return loads, left


def _urgency(lot: Waiting, kept: frozenset[str]) -> tuple[int, date]:
    """Promises that are kept come first, then those that are broken, and then what nobody promised."""
    if lot.promised_on is None:
        return 2, date.max
    return (0 if lot.code in kept else 1), lot.promised_on


def _earlier(question: CalendarQuestion, starts: Sequence[int], kept: frozenset[str]) -> list[int]:
    """The same number of loads, each on the earliest day on which nothing gets worse."""
    moved = sorted(starts)
    closed = set(question.closed_on)
    for place in range(len(moved)):
        for day in range(moved[place]):
            candidate = sorted([*moved[:place], day, *moved[place + 1 :]])
            is_open = question.first_day + timedelta(days=day) not in closed
            if is_open and _fits(question, candidate) and _no_worse(question, candidate, moved, kept):
                moved = candidate
                break
    return moved


def _fits(question: CalendarQuestion, starts: Sequence[int]) -> bool:
    return all(sum(day - question.days_in < other <= day for other in starts) <= question.freezers for day in starts)


def _no_worse(
    question: CalendarQuestion, candidate: Sequence[int], before: Sequence[int], kept: frozenset[str]
) -> bool:
    """Whether as few promises are broken and as few drawers left over."""
    new, old = (_written(question, starts, kept, 0) for starts in (candidate, before))
    return len(new.broken) <= len(old.broken) and _drawers(new.left_over) <= _drawers(old.left_over)


def _drawers(shares: Iterable[Share]) -> int:
    return sum(share.drawers for share in shares)


def _written(
    question: CalendarQuestion, starts: Sequence[int], kept: frozenset[str], at_least: int
) -> FreezerCalendar:
    filled, left = _filled(question, starts, kept)
    loads = tuple(
        FreezerLoad(begun, begun + timedelta(days=question.days_in), _over_on(question, day), tuple(shares))
        for day, shares in zip(starts, filled, strict=True)
        for begun in (question.first_day + timedelta(days=day),)
        if shares
    )
    last = {share.code: load.over_on for load in loads for share in load.shares}
    broken = tuple(
        BrokenPromise(lot.code, lot.promised_on, None if left[lot.code] else last[lot.code])
        for lot in question.waiting
        if lot.promised_on and (left[lot.code] or last[lot.code] > lot.promised_on)
    )
    left_over = tuple(Share(code, drawers) for code, drawers in left.items() if drawers)
    return FreezerCalendar(loads, min(at_least, len(loads)), broken, left_over)
