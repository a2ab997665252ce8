"""Linear and whole-number programs, as much of them as housing needs, over HiGHS: one thread, no clock."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

INFINITY = highspy.kHighsInf
_WITHIN = 1e-6
_FEASIBLE = 2


@dataclass(frozen=True, slots=True)
class Solution:
    """``values`` of the columns and ``prices`` of the rows."""

    objective: float
    values: list[float]
    prices: list[float]


class _Quiet(highspy.Highs):
    """HiGHS prints its banner the moment that its callbacks are switched on; by then it has to be silent."""

    def __init__(self, **options: float | str) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        for option, value in {"threads": 1, "parallel": "off", "random_seed": 0, **options}.items():
            self.setOptionValue(option, value)

    def enableCallbacks(self) -> None:  # noqa: N802 - the library's own name
        self.silent()
        super().enableCallbacks()  # type: ignore[no-untyped-call]


class Program:
    """Columns and rows that grow while it is solved again and again; each time from where it stood."""

    def __init__(self, *, maximise: bool = False) -> None:
        self._highs: Any = _Quiet(presolve="off")
        self.columns = 0
        self.rows = 0
        if maximise:
            self._highs.changeObjectiveSense(highspy.ObjSense.kMaximize)

    def add_column(self, worth: float, entries: dict[int, float], *, at_most: float = INFINITY) -> int:
        rows = np.fromiter(entries.keys(), dtype=np.int32)
        values = np.fromiter(entries.values(), dtype=np.float64)
        self._highs.addCol(worth, 0.0, at_most, len(entries), rows, values)
        self.columns += 1
        return self.columns - 1

    def add_row(self, at_least: float, entries: dict[int, float], at_most: float) -> int:
        columns = np.fromiter(entries.keys(), dtype=np.int32)
        values = np.fromiter(entries.values(), dtype=np.float64)
        self._highs.addRow(at_least, at_most, len(entries), columns, values)
        self.rows += 1
        return self.rows - 1

    def worth(self, worths: Sequence[float]) -> None:
        """Another objective over the same columns."""
        columns = np.arange(self.columns, dtype=np.int32)
        self._highs.changeColsCost(self.columns, columns, np.asarray(worths, dtype=np.float64))

    def solve(self) -> Solution:
        self._highs.run()
        if self._highs.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            raise ArithmeticError(f"the linear program ended as {self._highs.getModelStatus()}")
        solution = self._highs.getSolution()
        return Solution(self._highs.getObjectiveValue(), list(solution.col_value), list(solution.row_dual))


@dataclass(frozen=True, slots=True)
class Chosen:
    """Whole numbers of columns, and their cost."""

    objective: float
    values: list[int]


def choose(
    costs: Sequence[float],
    columns: Sequence[dict[int, int]],
    at_least: Sequence[int],
    at_most: Sequence[int | None],
    *,
    target: float,
    nodes: int,
    should_stop: Callable[[], bool],
) -> Chosen | None:
    """Whole numbers of columns that reach every row at least cost; ``None`` when ``nodes`` did not suffice for any.

    ``columns`` say how much of which rows; ``at_least`` of ``at_most`` bound each row. Ends at a cost of ``target``,
    or with the best so far when ``should_stop`` says so.
    """
    highs: Any = _Quiet(mip_max_nodes=nodes, mip_abs_gap=0.999, mip_rel_gap=0.0, objective_target=target + _WITHIN)
    for low, high in zip(at_least, at_most, strict=True):
        highs.addRow(float(low), INFINITY if high is None else float(high), 0, [], [])
    for cost, column in zip(costs, columns, strict=True):
        rows = np.fromiter(column.keys(), dtype=np.int32)
        entries = np.fromiter(column.values(), dtype=np.float64)
        highs.addCol(cost, 0.0, INFINITY, len(column), rows, entries)
    numbers = np.arange(len(costs), dtype=np.int32)
    highs.changeColsIntegrality(len(costs), numbers, np.full(len(costs), highspy.HighsVarType.kInteger))
    highs.cbMipInterrupt.subscribe(lambda event: event.interrupt(should_stop()))
    highs.run()
    if highs.getInfo().primal_solution_status != _FEASIBLE:
        return None
    values = [round(value) for value in highs.getSolution().col_value]
    return Chosen(sum(cost * value for cost, value in zip(costs, values, strict=True)), values)


@dataclass(frozen=True, slots=True)
class Heaviest:
    """Whole numbers of great worth, and a worth that none can pass."""

    at_most: float
    numbers: list[int]
    nodes: int


def heaviest(
    worths: Sequence[float],
    most: Sequence[int],
    limits: Sequence[tuple[Sequence[float], float]],
    never: Sequence[Sequence[int]],
    *,
    gap: float,
    nodes: int,
) -> Heaviest:
    """Whole numbers of most worth within linear limits.

    Each of ``never`` is a set of numbers that may not all be reached at once. Ends when the two are ``gap`` apart,
    as a share of the worth, or after ``nodes``.
    """
    highs: Any = _Quiet(mip_rel_gap=gap, mip_max_nodes=nodes)
    highs.changeObjectiveSense(highspy.ObjSense.kMaximize)
    for worth, number in zip(worths, most, strict=True):
        highs.addCol(float(worth), 0.0, float(number), 0, [], [])
    everything = np.arange(len(worths), dtype=np.int32)
    for weights, limit in limits:
        highs.addRow(-INFINITY, limit, len(worths), everything, np.asarray(weights, dtype=np.float64))
    columns = len(worths)
    for numbers in never:
        columns = _forbid(highs, numbers, most, columns)
    whole = np.full(columns, highspy.HighsVarType.kInteger)
    highs.changeColsIntegrality(columns, np.arange(columns, dtype=np.int32), whole)
    highs.run()
    values = highs.getSolution().col_value
    info = highs.getInfo()
    return Heaviest(
        float(info.mip_dual_bound), [round(value) for value in values[: len(worths)]], info.mip_node_count
    )


def _forbid(highs: Any, numbers: Sequence[int], most: Sequence[int], columns: int) -> int:
    """One of the numbers is not reached: a switch says which."""
    switches: list[int] = []
    for column, number in enumerate(numbers):
        if number:
            highs.addCol(0.0, 0.0, 1.0, 0, [], [])
            pair = np.array([column, columns + len(switches)], dtype=np.int32)
            highs.addRow(-INFINITY, float(most[column]), 2, pair, np.array([1.0, most[column] - number + 1.0]))
            switches.append(columns + len(switches))
    ones = np.ones(len(switches))
    highs.addRow(1.0, INFINITY, len(switches), np.array(switches, dtype=np.int32), ones)
    return columns + len(switches)
