"""The builder's question over ever more systems, about a drawer alone and about a drawer with its trays.

    python -m benchmarks builder [systems ...]

Times are medians on whatever machine this is; what counts is how they grow, side by side in one run.
"""

import logging
import random
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import click
from sqlalchemy import Engine

from benchmarks.clock import growth_table, in_turn
from benchmarks.filled import REVISIONS, databases
from benchmarks.invented import STYLES, a_style
from service.app import build
from service.web.kit import logs

SIZES = (100, 1_000, 10_000)
TRAY = "tray_width=99.5&tray_depth=96.5&tray_height=41"


def main(arguments: Sequence[str]) -> None:
    """Measure at the numbers of systems given, or at a hundred, a thousand and ten thousand."""
    logs.configure(as_json=False, level=logging.WARNING)
    asked = tuple(int(size) for size in arguments) or SIZES
    with tempfile.TemporaryDirectory(prefix="traybridge-bench-") as folder:
        sizes = ", ".join(f"{size:,}" for size in asked)
        click.echo(f"Filling databases of {sizes} systems of {REVISIONS} published revisions each takes a while.")
        with databases(Path(folder), asked) as engines:
            click.echo(_builders(engines, "The builder's question about a drawer, over HTTP", ""))
            click.echo(_builders(engines, "The builder's question about a drawer and its trays, over HTTP", TRAY))


def _builders(engines: dict[int, Engine], title: str, trays: str) -> str:
    """A builder who asks about ten different drawers, each answered from the database."""
    chance = random.Random(9)  # noqa: S311 - the same questions in every run
    asked = [*STYLES, *(a_style(chance) for _ in range(5))]
    cuts = ("sixteenth_inch", "millimetre")
    questions = [
        f"/v1/drawer-takers?width={width:.1f}&depth={depth:.1f}&height={height:.1f}&cut={cuts[number % 2]}&{trays}"
        for number, (width, depth, height) in enumerate(asked)
    ]
    seconds = in_turn({f"{size:,}": _asking(engine, questions) for size, engine in engines.items()}, rounds=15)
    each = {size: all_ten / len(questions) for size, all_ten in seconds.items()}
    return growth_table(title, ("published systems", "ms"), each)


def _asking(engine: Engine, questions: list[str]) -> Callable[[], None]:
    client = build(engine, questions_per_minute=10**9).test_client()

    def ask_all() -> None:
        for question in questions:
            answer = client.get(question.rstrip("&"))
            if answer.status_code != 200:
                raise RuntimeError(answer.text)

    return ask_all
