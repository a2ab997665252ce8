"""Fit checks as arithmetic alone, without HTTP and without a database: one line, and a consignment of five hundred.

python -m benchmarks fit_checks [lines ...]
"""

import random
from collections.abc import Callable, Sequence

import click

from benchmarks.clock import growth_table, in_turn
from benchmarks.invented import a_line, a_system
from service.core.fit.check import check

SIZES = (1, 10, 100, 500)


def main(arguments: Sequence[str]) -> None:
    """Measure at the numbers of lines given, or at one to five hundred."""
    sizes = tuple(int(size) for size in arguments) or SIZES
    chance = random.Random(4)  # noqa: S311 - the same lines in every run
    system, lines = a_system(chance), tuple(a_line(chance) for _ in range(max(sizes)))

    def checking(count: int) -> Callable[[], object]:
        return lambda: check(lines[:count], system)

    works = {f"{count:,}": checking(count) for count in sizes}
    click.echo(growth_table("Fit check without HTTP", ("lines", "ms"), in_turn(works, rounds=3)))
