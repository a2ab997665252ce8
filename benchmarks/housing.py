"""Housing plans side by side: ours, the skyline and maxrects rules of rectpack, and a plain CP-SAT model.

    python -m benchmarks housing [--instances FOLDER] [--seconds 10] [--every 10]

rectpack and ortools are taken where they are installed and left out where they are not; neither is needed otherwise.
FOLDER holds the instances of Berkey & Wang 1987 and Martello & Vigo 1998 (*.2bp) with best_known_oriented.csv and
best_known_rotation.csv; without it the four made-up families alone are measured.
"""

import argparse
import csv
import re
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import numpy as np
from tabulate import tabulate

from service.core.housing.effort import QUICK, Watch
from service.core.housing.plan import DrawerType, HousingRequest, TraySize
from service.core.housing.planning import plan_housing

MM = 1_000_000
Sizes = list[tuple[int, int, int]]


@dataclass(frozen=True)
class Case:
    """Trays as (width, depth, count) for drawers of one size; ``best_known`` where anybody has published it."""

    name: str
    row: str
    drawer: tuple[int, int]
    trays: Sizes
    may_turn: bool
    best_known: int | None = None

    @property
    def pieces(self) -> list[tuple[int, int]]:
        return [(width, depth) for width, depth, count in self.trays for _ in range(count)]


@dataclass
class Sums:
    """What one method came to over the cases of one row."""

    drawers: int = 0
    at_least: int = 0
    proved: int = 0
    missing: int = 0
    seconds: list[float] = field(default_factory=list)

    def add(self, answer: "Answer | None", seconds: float) -> None:
        self.seconds.append(seconds)
        if answer is None:
            self.missing += 1
            return
        self.drawers += answer.drawers
        self.at_least += answer.at_least
        self.proved += answer.at_least == answer.drawers

    def cells(self) -> list[str]:
        found = f"{self.drawers:,}" + (f" (−{self.missing})" if self.missing else "")
        return [found, f"{self.at_least:,}", str(self.proved), f"{max(self.seconds, default=0):.2f}"]


@dataclass(frozen=True)
class Answer:
    drawers: int
    at_least: int


Method = Callable[[Case, float], "Answer | None"]


def ours(case: Case, seconds: float) -> Answer:
    """Our plan with the effort of a request, stopped where its time is up."""
    until = time.perf_counter() + seconds
    trays = tuple(
        TraySize(f"{at}", width * MM, depth * MM, count, may_turn=case.may_turn)
        for at, (width, depth, count) in enumerate(case.trays)
    )
    request = HousingRequest(trays, (DrawerType("drawer", case.drawer[0] * MM, case.drawer[1] * MM),))
    plan = plan_housing(request, QUICK, Watch(should_stop=lambda: time.perf_counter() > until))
    return Answer(plan.drawer_count, plan.at_least)


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
        until, found = time.perf_counter() + seconds, None
        for rule, bin_rule, order in product(rules, bins, orders):
            if found is not None and time.perf_counter() > until:
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
        solver.parameters.num_workers = 2
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return Answer(sum(solver.value(each) for each in used), int(np.ceil(solver.best_objective_bound - 1e-6)))

    return solve


def _cp_sat_drawers(model: Any, case: Case) -> list[Any]:
    """The model's trays and drawers; which drawers are used. Drawers stand side by side on one long strip."""
    width, depth = case.drawer
    most = ours(case, 1).drawers + 1
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


def _interval(model: Any, start: Any, size: Any, most: int, name: str) -> Any:
    end = model.new_int_var(0, most, f"end {name}")
    return model.new_interval_var(start, size, end, name)


# The cases


def families() -> Iterator[Case]:
    """Made-up trays as museums have them; see ``_tray``."""
    for name, (sizes, trays), may_turn in product(
        ("grid", "mod", "mix", "rand"), ((5, 2_000), (8, 10_000)), (False, True)
    ):
        for seed in (1, 2, 3):
            row = f"{name} {sizes} sizes, {trays:,} trays, {'turning' if may_turn else 'fixed'}"
            yield Case(f"{row} {seed}", row, *_family(name, sizes, trays, seed), may_turn)


def _family(name: str, sizes: int, trays: int, seed: int) -> tuple[tuple[int, int], Sizes]:
    chance = np.random.default_rng([seed, sizes, trays, *name.encode()])
    drawer = (432, 408) if name == "grid" else (430, 405)
    found: set[tuple[int, int]] = set()
    while len(found) < sizes:
        found.add(_tray(name, drawer, len(found), chance))
    cuts = np.sort(chance.choice(np.arange(1, trays), sizes - 1, replace=False))
    counts = np.diff(np.concatenate(([0], cuts, [trays])))
    return drawer, [(*size, int(count)) for size, count in zip(sorted(found), counts, strict=True)]


def _tray(name: str, drawer: tuple[int, int], number: int, chance: np.random.Generator) -> tuple[int, int]:
    """grid: whole modules of a drawer of 12 × 12, less 1 mm. mod: whole parts of the drawer, less up to 2 mm. mix:
    every other size was made for another drawer. rand: any size."""
    if name == "grid":
        across, along = (int(each) for each in chance.choice([2, 3, 4, 6], 2))
        return 36 * across - 1, 34 * along - 1
    if name == "rand":
        return int(chance.integers(60, 216)), int(chance.integers(60, 201))
    width, depth = (480, 450) if name == "mix" and number % 2 else drawer
    parts, less = chance.integers(2, 7, 2), chance.integers(0, 3, 2)
    return width // int(parts[0]) - int(less[0]), depth // int(parts[1]) - int(less[1])


def published(folder: Path, every: int) -> Iterator[Case]:
    """The published instances, both ways round: every so many of them."""
    for may_turn in (False, True):
        best = _best_known(folder, may_turn)
        for path in sorted(folder.glob("*.2bp")):
            for name, drawer, trays in list(_read(path))[::every]:
                row = f"{path.stem.replace('_', ' ').lower()}, {'turning' if may_turn else 'fixed'}"
                yield Case(name, row, drawer, trays, may_turn, best[name])


def _best_known(folder: Path, may_turn: bool) -> dict[str, int]:
    with (folder / f"best_known_{'rotation' if may_turn else 'oriented'}.csv").open() as rows:
        return {row["instance"]: int(row["best_known_bins"]) for row in csv.DictReader(rows)}


def _read(path: Path) -> Iterator[tuple[str, tuple[int, int], Sizes]]:
    lines = (re.sub(r"[A-Z].*", "", line) for line in path.read_text().splitlines())
    numbers = iter([int(found) for line in lines for found in re.findall(r"\d+", line)])
    for _ in numbers:
        count, relative, _, depth, width = (next(numbers) for _ in range(5))
        trays = [(next(numbers), next(numbers)) for _ in range(count)]
        yield f"{path.name}_{count}_{relative}", (width, depth), [(w, h, 1) for h, w in trays]


# The table


def measure(cases: Iterator[Case], methods: dict[str, Method], seconds: float) -> str:
    """A row for each group of cases: sums of drawers and bounds, how many are proved, the longest time in seconds."""
    rows: dict[str, dict[str, Sums]] = {}
    known: dict[str, int] = {}
    for case in cases:
        of_row = rows.setdefault(case.row, {name: Sums() for name in methods})
        known[case.row] = known.get(case.row, 0) + (case.best_known or 0)
        for name, method in methods.items():
            begun = time.perf_counter()
            answer = method(case, seconds)
            took = time.perf_counter() - begun
            of_row[name].add(answer, took)
            sys.stderr.write(f"{case.name}: {name} {answer.drawers if answer else '-'} in {took:.1f} s\n")
    headers = [
        "",
        "best known",
        *(f"{name} {what}" for name in methods for what in ("drawers", "bound", "proved", "s")),
    ]
    body = [
        [row, f"{known[row]:,}" if known[row] else "", *(cell for sums in of_row.values() for cell in sums.cells())]
        for row, of_row in rows.items()
    ]
    totals = [_total([of_row[name] for of_row in rows.values()]) for name in methods]
    body.append(["in all", f"{sum(known.values()):,}", *(cell for sums in totals for cell in sums.cells())])
    return tabulate(body, headers, disable_numparse=True, colalign=("left", *("right" for _ in headers[1:])))


def _total(sums: Sequence[Sums]) -> Sums:
    return Sums(
        sum(each.drawers for each in sums),
        sum(each.at_least for each in sums),
        sum(each.proved for each in sums),
        sum(each.missing for each in sums),
        [seconds for each in sums for seconds in each.seconds],
    )


def main(arguments: Sequence[str]) -> None:
    """Measure our plans against the peers that are installed, on the families and on published instances."""
    said = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    said.add_argument("--instances", type=Path, help="folder of the published instances")
    said.add_argument("--seconds", type=float, default=10, help="longest time of one method on one case")
    said.add_argument("--every", type=int, default=1, help="take every so many of the published instances")
    asked = said.parse_args(arguments)
    peers = {"rectpack": rectpack_rules(), "cp-sat": plain_cp_sat()}
    methods: dict[str, Method] = {"ours": ours}
    for name, peer in peers.items():
        if peer is None:
            sys.stdout.write(f"{name} is not installed and left out.\n")
        else:
            methods[name] = peer
    sys.stdout.write(f"\n{measure(families(), methods, asked.seconds)}\n")
    if asked.instances is not None:
        sys.stdout.write(f"\n{measure(published(asked.instances, asked.every), methods, asked.seconds)}\n")
