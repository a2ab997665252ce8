"""Trays and drawers to plan with: small ones in whole millimetres, museum-like families, and published instances."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from service.core.housing.plan import DrawerType, HousingRequest, TraySize

MM = 1_000_000

#: Instances of Berkey & Wang 1987 and Martello & Vigo 1998 beside the repository, where somebody has put them.
INSTANCES = Path(__file__).resolve().parents[4] / "shared" / "data" / "packing"

Trays = list[tuple[int, int, int]]


def request_for(drawer: tuple[int, int], trays: Trays, *, may_turn: bool = False) -> HousingRequest:
    """Trays as (width, depth, count) for as many drawers of one size as needed; all in mm."""
    sizes = tuple(
        TraySize(f"tray {at}", width * MM, depth * MM, count, may_turn=may_turn)
        for at, (width, depth, count) in enumerate(trays)
    )
    return HousingRequest(sizes, (DrawerType("drawer", drawer[0] * MM, drawer[1] * MM),))


def family(name: str, sizes: int, trays: int, seed: int, *, may_turn: bool = False) -> HousingRequest:
    """Made-up trays as museums have them.

    grid: whole modules of a drawer of 12 x 12, less 1 mm. mod: whole parts of the drawer, less up to 2 mm. mix: every
    other size was made for another drawer. rand: any size.
    """
    chance = np.random.default_rng([seed, sizes, trays, *name.encode()])
    drawer = (432, 408) if name == "grid" else (430, 405)
    found: set[tuple[int, int]] = set()
    while len(found) < sizes:
        found.add(_size(name, drawer, len(found), chance))
    cuts = np.sort(chance.choice(np.arange(1, trays), sizes - 1, replace=False))
    counts = np.diff(np.concatenate(([0], cuts, [trays])))
    listed = [(*size, int(count)) for size, count in zip(sorted(found), counts, strict=True)]
    return request_for(drawer, listed, may_turn=may_turn)


def _size(name: str, drawer: tuple[int, int], number: int, chance: np.random.Generator) -> tuple[int, int]:
    if name == "grid":
        across, along = (int(each) for each in chance.choice([2, 3, 4, 6], 2))
        return 36 * across - 1, 34 * along - 1
    if name == "rand":
        return int(chance.integers(60, 216)), int(chance.integers(60, 201))
    width, depth = (480, 450) if name == "mix" and number % 2 else drawer
    parts, less = chance.integers(2, 7, 2), chance.integers(0, 3, 2)
    return width // int(parts[0]) - int(less[0]), depth // int(parts[1]) - int(less[1])


@dataclass(frozen=True)
class Instance:
    """A published instance: its drawer and trays in any unit, and the fewest drawers that anybody has found."""

    name: str
    drawer: tuple[int, int]
    trays: Trays
    fewest_known: dict[bool, int]

    def request(self, *, may_turn: bool) -> HousingRequest:
        return request_for(self.drawer, self.trays, may_turn=may_turn)


needs_instances = pytest.mark.skipif(
    not INSTANCES.is_dir(), reason="the published instances are not beside the repository"
)


def instance(name: str) -> Instance:
    return _instances()[name]


@cache
def _instances() -> dict[str, Instance]:
    best = {may_turn: _best_known(may_turn=may_turn) for may_turn in (False, True)}
    found = {}
    for path in sorted(INSTANCES.glob("*.2bp")):
        for name, drawer, trays in _read(path):
            found[name] = Instance(name, drawer, trays, {turn: best[turn][name] for turn in best})
    return found


def _best_known(*, may_turn: bool) -> dict[str, int]:
    path = INSTANCES / f"best_known_{'rotation' if may_turn else 'oriented'}.csv"
    with path.open() as rows:
        return {row["instance"]: int(row["best_known_bins"]) for row in csv.DictReader(rows)}


def _read(path: Path) -> Iterator[tuple[str, tuple[int, int], Trays]]:
    lines = path.read_text().splitlines()
    numbers = iter([int(found) for line in lines for found in re.findall(r"\d+", re.sub(r"[A-Z].*", "", line))])
    for _ in numbers:
        count, relative, _, depth, width = (next(numbers) for _ in range(5))
        trays = [(next(numbers), next(numbers)) for _ in range(count)]
        yield f"{path.name}_{count}_{relative}", (width, depth), [(w, h, 1) for h, w in trays]
