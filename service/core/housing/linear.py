"""Linear and whole-number programs, as much of them as housing needs, over HiGHS: one thread, no clock."""

from collections.abc import Sequence
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
) -> Chosen | None:
    """Whole numbers of columns that reach every row at least cost; ``None`` when ``nodes`` did not suffice for any.

    ``columns`` say how much of which rows; ``at_least`` of ``at_most`` bound each row. Ends at a cost of ``target``.
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
    highs.run()
    if highs.getInfo().primal_solution_status != _FEASIBLE:
        return None
    values = [round(value) for value in highs.getSolution().col_value]
    return Chosen(sum(cost * value for cost, value in zip(costs, values, strict=True)), values)
