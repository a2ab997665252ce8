"""What housing plans are measured against. Neither peer is needed for anything else."""

import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any

import numpy as np

from benchmarks.housing_cases import Case
from service.core.housing.effort import QUICK, Watch
from service.core.housing.planning import plan_housing


@dataclass(frozen=True)
class Answer:
    """Drawers, and how many are needed at least; 0 is what a peer says that proves nothing."""

    drawers: int
    at_least: int


#: Answers a case within so many seconds of a processor; ``None`` when it does not.
Method = Callable[[Case, float], Answer | None]


def rectpack_rules() -> Method | None:
    """The best of every rule that rectpack has, as far as the time allows."""
    try:
        import rectpack
    except ImportError:
        return None
    rules = [getattr(rectpack, name) for name in dir(rectpack) if re.match(r"(MaxRects|Skyline|Guillotine)\w+", name)]
    bins = [rectpack.PackingBin.BFF, rectpack.PackingBin.BBF, rectpack.PackingBin.BNF]
    orders = [rectpack.SORT_AREA, rectpack.SORT_SSIDE, rectpack.SORT_LSIDE]

    def best(case: Case, seconds: float) -> Answer | None:
        until, found = time.process_time() + seconds, None
        for rule, bin_rule, order in product(rules, bins, orders):
            if found is not None and time.process_time() > until:
                break
            packer = rectpack.newPacker(pack_algo=rule, bin_algo=bin_rule, sort_algo=order, rotation=case.may_turn)
            for width, depth in case.pieces:
                packer.add_rect(width, depth)
            packer.add_bin(*case.drawer, count=len(case.pieces))
            packer.pack()
            if len(packer.rect_list()) == len(case.pieces):
                found = min(found or len(packer), len(packer))
        return None if found is None else Answer(found, 0)

    return best


#: A tray and a drawer are a variable each: beyond so many trays the plain model does not even get built in its time.
MOST_TRAYS_OF_CP_SAT = 200


def plain_cp_sat() -> Method | None:
    """One whole-instance model: each tray in one drawer, no two overlap, as few drawers as may be."""
    try:
        from ortools.sat.python import cp_model
    except ImportError:
        return None

    def solve(case: Case, seconds: float) -> Answer | None:
        if len(case.pieces) > MOST_TRAYS_OF_CP_SAT:
            return None
        model = cp_model.CpModel()
        used = _cp_sat_drawers(model, case)
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return Answer(sum(solver.value(each) for each in used), int(np.ceil(solver.best_objective_bound - 1e-6)))

    return solve


def _cp_sat_drawers(model: Any, case: Case) -> list[Any]:
    """The model's trays and drawers; which drawers are used. Drawers stand side by side on one long strip."""
    width, depth = case.drawer
    most = _enough(case)
    used = [model.new_bool_var(f"used {at}") for at in range(most)]
    across, along = [], []
    for number, (tray_width, tray_depth) in enumerate(case.pieces):
        turned = model.new_bool_var(f"turned {number}") if case.may_turn else 0
        wide = tray_width + (tray_depth - tray_width) * turned
        deep = tray_depth + (tray_width - tray_depth) * turned
        drawer = model.new_int_var(0, most - 1, f"drawer {number}")
        x = model.new_int_var(0, width * most, f"x {number}")
        y = model.new_int_var(0, depth, f"y {number}")
        model.add(x >= width * drawer)
        model.add(x + wide <= width * drawer + width)
        model.add(y + deep <= depth)
        across.append(_interval(model, x, wide, width * most, f"across {number}"))
        along.append(_interval(model, y, deep, depth, f"along {number}"))
        model.add_element(drawer, used, 1)
    model.add_no_overlap_2d(across, along)
    for one, following in pairwise(used):
        model.add_implication(following, one)
    model.minimize(sum(used))
    return used


def _enough(case: Case) -> int:
    """A number of drawers that suffices: the peer is spared the drawers that our quickest rule does without."""
    return plan_housing(case.request, QUICK, Watch(should_stop=lambda: True)).drawer_count


def _interval(model: Any, start: Any, size: Any, most: int, name: str) -> Any:
    end = model.new_int_var(0, most, f"end {name}")
    return model.new_interval_var(start, size, end, name)
