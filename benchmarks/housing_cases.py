"""What housing plans are measured on: made-up trays as museums have them, and published instances.

The instances are those of Berkey & Wang 1987 and Martello & Vigo 1998, numbers 1 to 5 of each class and size, as the
public repository fontanf/packingsolver has them under data/rectangle (commit f1ec896, MIT licence): ``Class_NN.2bp``,
each instance a class, a number of trays, two numbers of its own, depth and width of the drawer, and depth and width
of each tray. Beside them lie ``best_known_oriented.csv`` and ``best_known_rotation.csv`` with the columns
``instance`` and ``best_known_bins``. They are no part of this repository.
"""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np

from service.core.housing.plan import DrawerType, HousingRequest, TraySize

MM = 1_000_000
Sizes = list[tuple[int, int, int]]
#: Where the instances are looked for: beside the repository.
INSTANCES = Path(__file__).resolve().parents[2] / "shared" / "data" / "packing"


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
    def request(self) -> HousingRequest:
        trays = tuple(
            TraySize(f"{at}", width * MM, depth * MM, count, may_turn=self.may_turn)
            for at, (width, depth, count) in enumerate(self.trays)
        )
        return HousingRequest(trays, (DrawerType("drawer", self.drawer[0] * MM, self.drawer[1] * MM),))

    @property
    def pieces(self) -> list[tuple[int, int]]:
        return [(width, depth) for width, depth, count in self.trays for _ in range(count)]


def families(seeds: Sequence[int]) -> Iterator[Case]:
    """Made-up trays as museums have them, once for each seed; see ``_tray``."""
    for name, (sizes, trays), may_turn in product(
        ("grid", "mod", "mix", "rand"), ((5, 2_000), (8, 10_000)), (False, True)
    ):
        for seed in seeds:
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
