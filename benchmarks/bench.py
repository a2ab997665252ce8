"""Three tables: one fit check, a consignment of 500 lines, and the builder's question over ever more systems.

    python -m benchmarks.bench

Times are medians on whatever machine this is; what counts is how they grow, side by side in one run.
"""

import logging
import random
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from sqlalchemy import Engine

from benchmarks.clock import growth_table, in_turn
from benchmarks.filled import REVISIONS, databases
from benchmarks.invented import STYLES, a_line, a_style, a_system
from service.app import build
from service.core.fit.check import check
from service.web.kit import logs

SIZES = (100, 1_000, 10_000)
TRAY = "tray_width=99.5&tray_depth=96.5&tray_height=41"


def main() -> None:
    logs.configure(as_json=False, level=logging.WARNING)
    say(_fit_checks())
    with tempfile.TemporaryDirectory(prefix="traybridge-bench-") as folder:
        sizes = ", ".join(f"{size:,}" for size in SIZES)
        say(f"Filling databases with {sizes} published systems of {REVISIONS} revisions each; this takes a while.\n")
        with databases(Path(folder), SIZES) as engines:
            say(_builders(engines, "The builder's question about a drawer, over HTTP", ""))
            say(_builders(engines, "The builder's question about a drawer and its trays, over HTTP", TRAY))


def say(text: str) -> None:
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


def _fit_checks() -> str:
    """The arithmetic alone: no HTTP and no database."""
    chance = random.Random(4)  # noqa: S311 - the same lines in every run
    system, lines = a_system(chance), tuple(a_line(chance) for _ in range(500))

    def checking(count: int) -> Callable[[], object]:
        return lambda: check(lines[:count], system)

    works = {f"{count:,}": checking(count) for count in (1, 10, 100, 500)}
    return growth_table("Fit check without HTTP", ("lines", "ms"), in_turn(works, rounds=3))


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


if __name__ == "__main__":
    main()
