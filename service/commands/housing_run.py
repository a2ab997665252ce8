"""What `traybridge housing plan` does, step by step."""

import json
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from types import FrameType
from typing import Any

import click
from marshmallow import Schema, ValidationError

from service.core.care.cautions import handling_cautions
from service.core.errors import TraybridgeError
from service.core.housing.asking import ask
from service.core.housing.effort import Watch
from service.core.housing.how_hard import HowHard
from service.core.housing.money import cost_of_plan
from service.core.housing.plan import CannotBeHoused, HousingPlan, Progress
from service.core.housing.planning import plan_housing
from service.core.housing.wishes import Asked, Contents, TrayOffer, Wishes
from service.core.operations import STAGES
from service.core.standards import StorageSystem
from service.formats.sheet import BadSheet, Row, Sheet
from service.formats.wanted_trays_csv import WANTED_TAXA, WANTED_TRAYS
from service.paper.cabinet_drawing import cabinet_drawings
from service.paper.contact_sheet import contact_sheets
from service.paper.drawer_drawing import drawer_drawing
from service.paper.housing_table import housing_table
from service.paper.plan_cabinets import cabinets_for
from service.web.kit.measures import read_length
from service.web.kit.problems import faults_in
from service.web.schemas.housing_asked import TaxonCountSchema, WantedTraysSchema
from service.web.schemas.standards import StorageSystemContentSchema

_MOST_FAULTS = 20


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked for at the terminal."""

    sheet: Path
    system: Path
    offers: tuple[tuple[str, int], ...]
    together: bool
    reserve_percent: Decimal | None
    play: str | None
    thorough: bool
    out: Path


def run(question: Question) -> None:
    """Read, plan with a bar that shows how far it is, write, and print.

    :raises click.ClickException: for what cannot be read, or cannot be housed.
    """
    asked = _asked(question)
    how_hard = HowHard.THOROUGH if question.thorough else HowHard.USUAL
    try:
        with _bar() as bar, _ctrl_c() as told_to_stop:
            watch = Watch(told_to_stop.is_set, bar.show)
            found = plan_housing(asked.request, how_hard.effort, watch)
    except CannotBeHoused as error:
        raise click.ClickException(str(error)) from error
    text = _table(asked, found, question.sheet.stem)
    written = _write(question.out, asked, found, text, question.sheet.stem)
    click.echo(text)
    for note in asked.notes:
        click.echo(f"Note: {note}")
    click.echo(f"Wrote plan.txt and {written} drawings into {question.out}.", err=True)


# Reading


def _asked(question: Question) -> Asked:
    system = _system(question.system)
    wishes = Wishes(growth_reserve_percent=question.reserve_percent, play_nm=_play(question.play))
    try:
        return ask(_contents(question), wishes, system)
    except TraybridgeError as error:
        raise click.ClickException(error.message) from error


def _system(file: Path) -> StorageSystem:
    """The content of a revision, alone or inside what the service or the demo wraps it in."""
    try:
        said = json.loads(file.read_text("utf-8"))
    except ValueError as error:
        raise click.ClickException(f"{file} is not JSON: {error}.") from error
    while isinstance(said, dict) and (inner := said.get("revision", said.get("content"))) is not None:
        said = inner
    try:
        system: StorageSystem = StorageSystemContentSchema().load(said)
    except ValidationError as error:
        faults = [f"  {fault.at}: {fault.detail}" for fault in faults_in(error.messages, "pointer")]
        raise click.ClickException("\n".join([f"{file} is no storage system:", *faults[:_MOST_FAULTS]])) from error
    return system


def _play(written: str | None) -> int | None:
    if written is None:
        return None
    try:
        return read_length(float(written) if written.replace(".", "", 1).isdigit() else written)
    except ValidationError as error:
        raise click.BadParameter(str(error.messages[0]), param_hint="--play") from error


def _contents(question: Question) -> Contents:
    if question.offers:
        taxa = _rows(question.sheet, WANTED_TAXA, TaxonCountSchema())
        offers = tuple(TrayOffer(code, holds) for code, holds in question.offers)
        return Contents(taxa=taxa, offers=offers, taxa_together=question.together)
    if b"taxon" in question.sheet.read_bytes().lower().partition(b"\n")[0]:
        raise click.UsageError("For taxa, say what your trays hold, such as --tray half=30 --tray quarter=13.")
    return Contents(trays=_rows(question.sheet, WANTED_TRAYS, WantedTraysSchema()))


def _rows(file: Path, sheet: Sheet, schema: Schema) -> tuple[Any, ...]:
    """Every row as the interface would take it.

    :raises click.ClickException: naming the row and the heading of each fault.
    """
    try:
        rows = sheet.read(file.read_bytes())
    except BadSheet as error:
        raise click.ClickException(f"{file}: {error}") from error
    found, faults = [], []
    for row in rows:
        faults += [f"row {fault.row}, {fault.column}: {fault.detail}" for fault in row.faults]
        try:
            found.append(schema.load(row.request))
        except ValidationError as error:
            faults += _faults_in(row, error)
    if faults:
        raise click.ClickException("\n".join([f"{file} cannot be read:", *(f"  {each}" for each in faults)]))
    return tuple(found)


def _faults_in(row: Row, error: ValidationError) -> Iterator[str]:
    for fault in faults_in(error.messages, "pointer"):
        number, heading = row.cell(tuple(fault.at.strip("/").split("/")))
        yield f"row {number}, {heading}: {fault.detail}"


# Planning


class _Bar:
    """A bar over the parts of the work, with the best plan and the bound beside it."""

    def __init__(self, bar: Any) -> None:
        self._bar = bar

    def show(self, progress: Progress) -> None:
        """Move on to this part, if it is further."""
        done = STAGES.index(progress.stage) + 1 if progress.stage in STAGES else 0
        best = "" if progress.best is None else f", best {progress.best:,}"
        at_least = f", at least {progress.at_least:,}" if progress.at_least else ""
        self._bar.update(max(0, done - self._bar.pos), f"{progress.stage}{best}{at_least}")


@contextmanager
def _bar() -> Iterator[_Bar]:
    with click.progressbar(
        length=len(STAGES), label="Planning", item_show_func=lambda said: said, file=sys.stderr
    ) as bar:
        yield _Bar(bar)
        bar.update(len(STAGES) - bar.pos)


@contextmanager
def _ctrl_c() -> Iterator[threading.Event]:
    """The first Ctrl-C asks for the best so far; a second one ends everything."""
    told = threading.Event()

    def stop(_number: int, _frame: FrameType | None) -> None:
        if told.is_set():
            raise KeyboardInterrupt
        told.set()

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield told
    finally:
        signal.signal(signal.SIGINT, before)


# Writing


def _table(asked: Asked, found: HousingPlan, title: str) -> str:
    cabinets = cabinets_for(asked, found) if asked.cabinets else None
    return housing_table(
        asked.request, found, consignment=title, cabinets=cabinets, cost=cost_of_plan(asked, found),
        handling=handling_cautions(asked.treatments_used),
    )  # fmt: skip


def _write(folder: Path, asked: Asked, found: HousingPlan, text: str, title: str) -> int:
    """Write the table and every drawing; how many drawings."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plan.txt").write_text(text, "utf-8")
    layouts = [
        drawer_drawing(asked.request, found, number, title=title) for number in range(1, len(found.layouts) + 1)
    ]
    cabinets = cabinets_for(asked, found)
    faces = cabinet_drawings(found, cabinets, title=title) if cabinets.cabinets else ()
    return (
        _write_sheets(folder, "layout", layouts)
        + _write_sheets(folder, "contact-sheet", contact_sheets(asked.request, found, title=title))
        + _write_sheets(folder, "cabinets", faces)
    )


def _write_sheets(folder: Path, name: str, sheets: Sequence[str]) -> int:
    for number, sheet in enumerate(sheets, start=1):
        (folder / f"{name}-{number}.svg").write_text(sheet, "utf-8")
    return len(sheets)
