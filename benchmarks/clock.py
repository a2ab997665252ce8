"""Measuring: each thing in turn, many times over, and the middle of its times."""

import time
from collections.abc import Callable, Mapping
from statistics import median

from tabulate import tabulate

Work = Callable[[], object]


def in_turn(works: Mapping[str, Work], rounds: int) -> dict[str, float]:
    """The median seconds of each work. They take turns, so that a busy minute meets them all alike."""
    for work in works.values():
        work()
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            begun = time.perf_counter()
            work()
            times[name].append(time.perf_counter() - begun)
    return {name: median(each) for name, each in times.items()}


def growth_table(title: str, headers: tuple[str, str], seconds: Mapping[str, float]) -> str:
    """Times in milliseconds with the factor that each grew by over the first."""
    first = next(iter(seconds.values()))
    rows = [[name, f"{each * 1000:,.2f}", f"{each / first:.2f}"] for name, each in seconds.items()]
    table = tabulate(rows, [*headers, "growth"], colalign=("right", "right", "right"), disable_numparse=True)
    return f"{title}\n\n{table}\n"
