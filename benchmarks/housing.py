"""Housing plans side by side in one run: ours, the best rule of rectpack, and a plain CP-SAT model.

    python -m benchmarks housing                  a small sample, in a few minutes
    python -m benchmarks housing --everything     all of it, in hours
    python -m benchmarks housing --every 10 --seeds 1 2 3 --seconds 5 --without cp-sat

Two tables: made-up families of thousands of trays, planned with the effort of a request, and published instances of
up to a hundred trays, no two alike, planned with the usual effort. Seconds are those of a processor, the longest of
any case in the row. ``over`` is how far the drawers are above the fewest that anybody has published, and ``apart``
how far plan and bound are from one another. A peer that does not answer every case of a row is compared with ours on
those that it answers. rectpack takes the best of its rules that the time allows: of 10,000 trays that is one or two.
"""

import argparse
import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import click
from tabulate import tabulate

from benchmarks.housing_cases import INSTANCES, Case, families, published
from benchmarks.housing_peers import Answer, Method, plain_cp_sat, rectpack_rules
from service.core.housing.effort import QUICK, Effort, Watch
from service.core.housing.planning import plan_housing

OURS = "ours"
SEEDS = (1, 2, 3)


@dataclass(frozen=True)
class Run:
    """What one method made of one case; ``answer`` is ``None`` where it came to none."""

    case: Case
    answer: Answer | None
    seconds: float


@dataclass
class Row:
    """The cases of one group, with every method's runs in the same order."""

    runs: dict[str, list[Run]] = field(default_factory=dict)

    def add(self, method: str, run: Run) -> None:
        self.runs.setdefault(method, []).append(run)


def ours(effort: Effort) -> Method:
    """Our plan, stopped where its time is up."""

    def plan(case: Case, seconds: float) -> Answer:
        until = time.process_time() + seconds
        found = plan_housing(case.request, effort, Watch(should_stop=lambda: time.process_time() > until))
        return Answer(found.drawer_count, found.at_least)

    return plan


def measure(cases: Iterable[Case], methods: dict[str, Method], seconds: float) -> dict[str, Row]:
    """Run every method on every case, one after the other."""
    rows: dict[str, Row] = {}
    for case in cases:
        row = rows.setdefault(case.row, Row())
        for name, method in methods.items():
            begun = time.process_time()
            answer = method(case, seconds)
            row.add(name, Run(case, answer, time.process_time() - begun))
            drawers = "none" if answer is None else answer.drawers
            click.echo(f"{case.name}: {name} {drawers} in {row.runs[name][-1].seconds:.1f} s", err=True)
    return rows


# The table


def table(rows: dict[str, Row]) -> str:
    """A row for each group of cases, and one for all."""
    every = Row()
    for row in rows.values():
        for name, runs in row.runs.items():
            for run in runs:
                every.add(name, run)
    named = {**rows, "in all": every}
    shown = [{"": name, **_cells(row)} for name, row in named.items()]
    return tabulate(shown, headers="keys", disable_numparse=True, colalign=("left", *["right"] * (len(shown[0]) - 1)))


def _cells(row: Row) -> dict[str, str]:
    own = row.runs[OURS]
    found = [run.answer for run in own if run.answer is not None]
    drawers, at_least = sum(each.drawers for each in found), sum(each.at_least for each in found)
    cells = {"cases": str(len(own))}
    if all(run.case.best_known for run in own):
        known = sum(run.case.best_known or 0 for run in own)
        cells |= {"best known": f"{known:,}", "over": f"{drawers / known - 1:.2%}"}
    cells |= {
        "drawers": f"{drawers:,}",
        "bound": f"{at_least:,}",
        "apart": f"{drawers / at_least - 1:.2%}",
        "most apart": f"{max(each.drawers / each.at_least - 1 for each in found):.2%}",
        "proved": str(sum(each.drawers == each.at_least for each in found)),
        "s": f"{max(run.seconds for run in own):.2f}",
    }
    for name, runs in row.runs.items():
        if name != OURS:
            cells |= _cells_of_peer(name, runs, own)
    return cells


def _cells_of_peer(name: str, runs: Sequence[Run], own: Sequence[Run]) -> dict[str, str]:
    """A peer's drawers beside ours on the cases that it answered."""
    both = [(run.answer, mine.answer) for run, mine in zip(runs, own, strict=True) if run.answer and mine.answer]
    drawers, of_ours = (sum(pair[at].drawers for pair in both) for at in (0, 1))
    more = f" ({len(both)} of {len(runs)})" if len(both) < len(runs) else ""
    proved = sum(answer.drawers == answer.at_least for answer, _ in both)
    return {
        name: f"{drawers:,}{more}" if both else "none",
        f"{name} / ours": f"{drawers / of_ours:.3f}" if both else "",
        f"{name} proved": str(proved) if any(answer.at_least for answer, _ in both) else "",
        f"{name} s": f"{max(run.seconds for run in runs):.1f}",
    }


def worse_than(rows: dict[str, Row]) -> list[str]:
    """Rows in which a peer has fewer drawers than we have, on the cases that it answered."""
    return [
        f"{name}: {peer}"
        for name, row in rows.items()
        for peer, runs in row.runs.items()
        if sum(
            run.answer.drawers - mine.answer.drawers
            for run, mine in zip(runs, row.runs[OURS], strict=True)
            if run.answer and mine.answer
        )
        < 0
    ]


# What to run


def main(arguments: Sequence[str]) -> None:
    """Measure our plans against the peers that are installed, on the families and on published instances."""
    asked = _asked(arguments)
    peers = _peers(asked.without)
    made_up = measure(families(asked.seeds), {OURS: ours(QUICK), **peers}, asked.seconds)
    _say("Made-up families, planned with the effort of a request", made_up)
    if not asked.instances.is_dir():
        click.echo(
            f"The published instances are not in {asked.instances} and were left out: --instances says where they "
            "are, and benchmarks/housing_cases.py where they come from."
        )
        return
    instances = measure(published(asked.instances, asked.every), {OURS: ours(Effort()), **peers}, asked.seconds)
    _say("Published instances, planned with the usual effort", instances)


def _asked(arguments: Sequence[str]) -> argparse.Namespace:
    said = argparse.ArgumentParser("python -m benchmarks housing", description=__doc__.partition("\n")[0])
    said.add_argument("--instances", type=Path, default=INSTANCES, help="folder of the published instances")
    said.add_argument("--every", type=int, default=25, help="take every so many of each file's instances")
    said.add_argument("--seeds", type=int, nargs="+", default=SEEDS[:1], help="which of the made-up families")
    said.add_argument("--seconds", type=float, default=3, help="longest time of one method on one case")
    said.add_argument("--without", nargs="*", default=[], help="peers to leave out: rectpack, cp-sat")
    said.add_argument("--everything", action="store_true", help="all instances and seeds, ten seconds each")
    asked = said.parse_args(arguments)
    if asked.everything:
        asked.every, asked.seeds, asked.seconds = 1, SEEDS, 10.0
    return asked


def _peers(without: Sequence[str]) -> dict[str, Method]:
    found: dict[str, Method] = {}
    for name, peer in {"rectpack": rectpack_rules, "cp-sat": plain_cp_sat}.items():
        method = None if name in without else peer()
        if method is not None:
            found[name] = method
        elif name not in without:
            click.echo(f"{name} is not installed and left out; `make bench` installs it.")
    return found


def _say(title: str, rows: dict[str, Row]) -> None:
    sys.stderr.flush()
    click.echo(f"\n{title}\n\n{table(rows)}\n")
    for row in worse_than(rows):
        click.echo(f"More drawers than a peer in {row}")
