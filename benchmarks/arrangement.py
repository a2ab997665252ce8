"""Trays moved for new ones in systematic order: ours, first-fit, and re-shelving everything behind the place.

    python -m benchmarks arrangement [1000 10000 100000]

The collections are made up: seven sizes of tray in runs, in drawers of 430 × 405 mm filled in order to a growth
reserve of 15 %. Each question is planned from a whole inventory, in a process of its own for each size.
"""

import argparse
import resource
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from decimal import Decimal
from multiprocessing import get_context

import numpy as np
from tabulate import tabulate

from service.core.arrangement.asking import Asked, ask
from service.core.arrangement.inside import Ints, inside_of, sizes_of
from service.core.arrangement.inventory import (
    Cabinet,
    Drawer,
    DrawerStyle,
    Inventory,
    SystematicSequence,
    Taxon,
    Tray,
)
from service.core.arrangement.lines import furthest
from service.core.arrangement.plan import ArrangementWishes, EmptyCabinets, Question, ReorderTaxa, TakeIn
from service.core.arrangement.planning import plan_arrangement
from service.core.arrangement.task import LOOSE
from service.core.arrangement.walking import walk

MM = 1_000_000
SIZES = (1_000, 10_000, 100_000)
#: What planning may take, the collection itself included.
MOST_MEMORY_MB = 1_024
DRAWER = DrawerStyle("drawer", 430 * MM, 405 * MM)
#: Width, depth, and how often: from small trays to such as are as long as the drawer.
TRAYS = ((107, 67, 6), (107, 100, 6), (107, 133, 6), (107, 200, 4), (107, 402, 2), (214, 133, 2), (214, 200, 1))
DRAWERS_PER_CABINET = 24
TRAYS_PER_TAXON = 3


@dataclass(frozen=True)
class Row:
    """One question: trays moved in each way, what is proved, and what it cost to know."""

    trays: int
    question: str
    moved: int
    at_least: int
    touched: int
    first_fit: int | None
    behind: int | None
    plan_s: float
    walk_s: float
    lifts: int


def main(arguments: Sequence[str] = ()) -> None:
    said = argparse.ArgumentParser(prog="benchmarks arrangement", description=__doc__.partition("\n")[0])
    said.add_argument("sizes", type=int, nargs="*", default=SIZES, help="numbers of trays")
    measured: list[tuple[list[Row], int]] = []
    for trays in said.parse_args(arguments).sizes or SIZES:
        with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as child:
            measured.append(child.submit(_measure, trays).result())
    sys.stdout.write(f"{_table([row for rows, _ in measured for row in rows])}\n\n")
    for rows, memory_mb in measured:
        held = "within" if memory_mb <= MOST_MEMORY_MB else "OVER"
        sys.stdout.write(f"{rows[0].trays:,} trays: {memory_mb:,} MB at most, {held} {MOST_MEMORY_MB:,} MB\n")


def _table(rows: Sequence[Row]) -> str:
    first = {row.question: row for row in reversed(rows)}
    headers = ["trays", "question", "moved", "bound", "drawers", "first-fit", "all behind"]
    headers += ["plan s", "growth", "walk s", "lifts"]
    body = [
        [
            f"{row.trays:,}",
            row.question,
            f"{row.moved:,}",
            "proved" if row.moved == row.at_least else f"{row.at_least:,}",
            f"{row.touched:,}",
            "" if row.first_fit is None else f"{row.first_fit:,}",
            "" if row.behind is None else f"{row.behind:,}",
            f"{row.plan_s:.2f}",
            f"{row.plan_s / first[row.question].plan_s:.1f}",
            f"{row.walk_s:.2f}",
            f"{row.lifts:,}",
        ]
        for row in rows
    ]
    align = ("right", "left", *("right" for _ in headers[2:]))
    return tabulate(body, headers, disable_numparse=True, colalign=align)


def _measure(trays: int) -> tuple[list[Row], int]:
    """All questions of one collection, and the most memory that the process took, in MB."""
    inventory = a_collection(trays)
    rows = [_row(inventory, name, question) for name, question in _questions(inventory)]
    return rows, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


def _row(inventory: Inventory, name: str, question: Question) -> Row:
    begun = time.perf_counter()
    plan = plan_arrangement(inventory, question)
    planned = time.perf_counter()
    way = plan.alternatives[0]
    walking = walk(inventory, plan, way, bench_places=10)
    walked = time.perf_counter()
    asked = ask(inventory, question, ArrangementWishes())
    compared = isinstance(question, TakeIn)
    return Row(
        len(inventory.trays),
        name,
        way.moved,
        way.at_least,
        way.drawers_touched,
        _moved(asked, _first_fit(asked)) if compared else None,
        _moved(asked, _all_behind(asked)) if compared else None,
        planned - begun,
        walked - planned,
        walking.lifts,
    )


# The collections and the questions


def a_collection(trays: int) -> Inventory:
    """So many trays in order, drawer by drawer up to the reserve; one drawer in twelve is empty."""
    chance = np.random.default_rng([7, trays])
    kinds = [size for *size, weight in TRAYS for _ in range(weight)]
    standing: list[Tray] = []
    while len(standing) < trays:
        width, depth = kinds[int(chance.integers(len(kinds)))]
        for _ in range(min(int(chance.geometric(0.15)), trays - len(standing))):
            number = len(standing)
            taxon = f"taxon {number // TRAYS_PER_TAXON:06}"
            standing.append(Tray(f"t{number}", taxon, width * MM, depth * MM, specimens=int(chance.integers(1, 40))))
    return _shelved(standing)


def _shelved(trays: list[Tray]) -> Inventory:
    names = dict.fromkeys(tray.taxon for tray in trays)
    sequence = SystematicSequence(tuple(Taxon(name) for name in names))
    bare = Inventory((), (), tuple(trays), sequence, reserve_percent=Decimal(15), play_nm=MM // 2)
    reach = _reach(bare, trays)
    ends, at = list[int](), 0
    while at < len(trays):
        at = int(reach[at])
        ends.append(at)
        if len(ends) % 12 == 0:
            ends.append(at)
    starts = [0, *ends[:-1]]
    cabinets = tuple(
        Cabinet(f"c{at}", f"Cabinet {at + 1}", "room", DRAWERS_PER_CABINET)
        for at in range(-(-len(ends) // DRAWERS_PER_CABINET))
    )
    drawers = tuple(
        Drawer(f"d{at}", f"{at + 1}", DRAWER, f"c{at // DRAWERS_PER_CABINET}", at % DRAWERS_PER_CABINET + 1)
        for at in range(len(ends))
    )
    placed = tuple(
        _in_drawer(tray, f"d{at}", place)
        for at, (start, end) in enumerate(zip(starts, ends, strict=True))
        for place, tray in enumerate(trays[start:end], start=1)
    )
    return Inventory(cabinets, drawers, placed, sequence, reserve_percent=Decimal(15), play_nm=MM // 2)


def _in_drawer(tray: Tray, drawer: str, place: int) -> Tray:
    return Tray(tray.key, tray.taxon, tray.width_nm, tray.depth_nm, tray.specimens, drawer=drawer, place=place)


def _reach(inventory: Inventory, trays: Sequence[Tray]) -> Ints:
    inside = inside_of(DRAWER, inventory.reserve_percent, inventory.reading_order)
    return furthest(sizes_of(trays, inventory.play_nm, inventory.reading_order), inside, inside.usable)


def _questions(inventory: Inventory) -> Iterator[tuple[str, Question]]:
    taxa = [taxon.name for taxon in inventory.sequence.taxa]
    middle = taxa[len(taxa) // 2]
    for count in (1, 5, 20, 100):
        yield f"take in {count} at one place", TakeIn(tuple(_new(at, middle) for at in range(count)))
    chance = np.random.default_rng(11)
    places = [taxa[int(at)] for at in chance.integers(len(taxa), size=len(inventory.trays) // 100)]
    yield "take in 1 % here and there", TakeIn(tuple(_new(at, taxon) for at, taxon in enumerate(places)))
    quarter = len(taxa) // 4
    moved = [*taxa[:quarter], *taxa[quarter + 10 : -quarter], *taxa[quarter : quarter + 10], *taxa[-quarter:]]
    yield "move 10 taxa past half of all", ReorderTaxa(SystematicSequence(tuple(Taxon(name) for name in moved)))
    yield "empty a cabinet", EmptyCabinets((inventory.cabinets[len(inventory.cabinets) // 2].key,))


def _new(number: int, taxon: str) -> Tray:
    width, depth, _ = TRAYS[2 + 2 * (number % 2)]
    return Tray(f"new{number}", taxon, width * MM, depth * MM, specimens=10)


# The other ways


def _moved(asked: Asked, ends: Sequence[int] | None) -> int | None:
    """How many trays change their drawer."""
    if ends is None:
        return None
    now = np.searchsorted(np.array(ends), np.arange(len(asked.trays)), side="right")
    return int(((asked.task.old != LOOSE) & (asked.task.old != now)).sum())


def _all_behind(asked: Asked) -> list[int] | None:
    """Everything behind the first new tray is shelved anew, drawer by drawer."""
    first = int(np.flatnonzero(asked.task.old == LOOSE)[0])
    return _shelve(asked, [stood if stood <= first else len(asked.trays) for stood in _ends_today(asked)])


def _first_fit(asked: Asked) -> list[int] | None:
    """Each tray goes where it belongs; what then no longer fits goes on to the next drawer, until one has room."""
    return _shelve(asked, _ends_today(asked))


def _shelve(asked: Asked, wished: Sequence[int]) -> list[int] | None:
    """Each drawer holds the trays up to the wished one, as far as it reaches; ``None`` where not all go in."""
    task = asked.task
    ends, at = list[int](), 0
    for slot, wish in enumerate(wished):
        at = max(at, min(int(task.with_reserve[task.inside[slot]][at]), wish))
        ends.append(at)
    return ends if at == len(asked.trays) else None


def _ends_today(asked: Asked) -> list[int]:
    """Where each drawer ends in the order to be, new trays counted to the drawer of the one before them."""
    ends, slot = [0] * asked.task.slots, 0
    for at, old in enumerate(asked.task.old.tolist(), start=1):
        slot = slot if old == LOOSE else old
        ends[slot] = at
    return np.maximum.accumulate(ends).tolist()


if __name__ == "__main__":
    main(sys.argv[1:])
