"""What `traybridge arrangement plan` does, step by step."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

import click
import marshmallow

from service.core.arrangement import plan as core
from service.core.arrangement.inventory import Inventory, ReadingOrder, SystematicSequence, Taxon
from service.core.arrangement.plan import (
    Alternative,
    ArrangementWishes,
    CannotBeArranged,
    CannotBeWalked,
    WalkingList,
)
from service.core.arrangement.rules import ArrangementRules
from service.core.arrangement.walked_plan import WalkedPlan, plan_and_walk
from service.core.arrangement.written_inventory import inventory_of
from service.core.measure.lengths import length_from_mm
from service.formats.inventory_csv import INVENTORY, SEQUENCE
from service.formats.sheet import Sheet
from service.formats.sheets import written
from service.web.kit.problems import Refusal
from service.web.schemas.inventory import InventoryRowSchema, NewSequenceRowSchema
from service.web.sheets import loaded, rows_of, told_by_cell

_COLUMNS = (
    "done", "number", "trip", "tray", "taxon", "from_drawer", "to_drawer", "place", "after", "errand",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked for at the terminal."""

    sheet: Path
    sequence: Path | None
    alphabet: bool
    cabinets: tuple[str, ...]
    restore_reserve: bool
    reserve_percent: Decimal
    play_mm: float
    by_rows: bool
    bench: int
    out: Path


def run(question: Question) -> None:
    """Read, plan, write a walking list for each way, and print what each costs.

    :raises click.ClickException: for what cannot be read, arranged or walked.
    """
    if question.sequence is None and not question.alphabet:
        raise click.UsageError("Say in which order you keep your taxa: --sequence FILE, or --alphabet.")
    inventory = _inventory(question)
    try:
        plan = plan_and_walk(
            inventory, _asked(question, inventory), ArrangementWishes(bench_places=question.bench), "new"
        )
    except (CannotBeArranged, CannotBeWalked) as error:
        raise click.ClickException(str(error)) from error
    question.out.mkdir(parents=True, exist_ok=True)
    for number, (way, walk) in enumerate(zip(plan.plan.alternatives, plan.walks, strict=True), start=1):
        file = question.out / f"walking-list-{number}.csv"
        file.write_text(_list(plan, walk, inventory), "utf-8-sig", newline="")
        click.echo(f"{number}. {_in_words(way, walk)}\n   {file}")
    for note in plan.plan.notes:
        click.echo(f"Note: {note}")


def _asked(question: Question, inventory: Inventory) -> core.Question:
    if question.cabinets:
        return core.EmptyCabinets(question.cabinets)
    if question.restore_reserve:
        return core.RestoreReserve()
    if not inventory.unplaced:
        raise click.ClickException("Every tray of the sheet stands in a drawer; there is nothing to take in.")
    return core.TakeIn(unplaced=tuple(tray.key for tray in inventory.unplaced))


def _inventory(question: Question) -> Inventory:
    order = ReadingOrder.ROWS if question.by_rows else ReadingOrder.COLUMNS
    play_nm = length_from_mm(question.play_mm)
    rules = ArrangementRules(order, question.reserve_percent, play_nm, alphabetical=question.alphabet)
    sequence = _sequence(question.sequence)
    try:
        rows = rows_of(INVENTORY.read, question.sheet.read_bytes())
        said = loaded(rows, InventoryRowSchema())
        inventory: Inventory = told_by_cell(rows, lambda: inventory_of(said, rules, sequence))
    except Refusal as refusal:
        raise _unreadable(question.sheet, refusal) from refusal
    return inventory


def _sequence(file: Path | None) -> SystematicSequence:
    if file is None:
        return SystematicSequence()
    taxa = _loaded(file, SEQUENCE, NewSequenceRowSchema())
    return SystematicSequence(tuple(_taxon(**said) for said in taxa))


def _taxon(family: str, genus: str, species: str) -> Taxon:
    binomial = species if not genus or " " in species else f"{genus} {species}"
    return Taxon(binomial if species else genus or family, family, genus)


def _loaded(file: Path, sheet: Sheet, schema: marshmallow.Schema) -> Sequence[dict[str, str]]:
    try:
        return loaded(rows_of(sheet.read, file.read_bytes()), schema)
    except Refusal as refusal:
        raise _unreadable(file, refusal) from refusal


def _unreadable(file: Path, refusal: Refusal) -> click.ClickException:
    faults = [f"  {fault.at}: {fault.detail}" for fault in refusal.faults[:20]]
    return click.ClickException("\n".join([f"{file} cannot be read:", *faults]))


def _in_words(way: Alternative, walk: WalkingList) -> str:
    proof = "proved the fewest" if way.is_proved else f"at most {way.gap} above the fewest"
    return (
        f"{way.moved:,} trays change their drawer, {way.put_in:,} are put in, {way.reset:,} lifted within theirs"
        f" ({proof}); {way.drawers_opened:,} drawers put to use; {walk.lifts:,} steps."
    )


def _list(plan: WalkedPlan, walk: WalkingList, inventory: Inventory) -> str:
    taxa = {tray.key: tray.taxon for tray in (*inventory.trays, *plan.plan.new_trays)}
    rows = [
        ("", step.number, trip.number, step.tray, taxa[step.tray], step.from_drawer, step.to_drawer, step.place,
         step.after, step.errand.value)
        for trip in walk.trips
        for step in trip.steps
    ]  # fmt: skip
    return written(_COLUMNS, rows)
