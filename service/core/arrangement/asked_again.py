"""The same question once more, after part of a plan was carried out: what has been done is not asked for again."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import singledispatch

from service.core.arrangement.inventory import Inventory, Tray, plain_name
from service.core.arrangement.plan import InsertTaxa, Question, SplitPart, SplitTaxon, Spot, TakeIn


def asked_again(question: Question, inventory: Inventory, lifted: Mapping[str, Spot]) -> Question:
    """What is left to be asked, of what is there by now. ``lifted`` are trays that the plan picked up and that wait
    on the bench, each with the place that it came from."""
    return _again(question, _Known({tray.key: tray for tray in inventory.trays}, inventory), frozenset(lifted))


def on_paper(inventory: Inventory, lifted: Mapping[str, Spot]) -> Inventory:
    """The inventory as if the trays on the bench still stood where they came from, so that an order can be asked of
    them too."""
    back = tuple(
        replace(tray, drawer=lifted[tray.key].drawer, place=lifted[tray.key].place) if tray.key in lifted else tray
        for tray in inventory.trays
    )
    return replace(inventory, trays=back)


@dataclass(frozen=True, slots=True)
class _Known:
    trays: dict[str, Tray]
    inventory: Inventory

    def new(self, trays: tuple[Tray, ...]) -> tuple[Tray, ...]:
        return tuple(tray for tray in trays if tray.key not in self.trays)

    def has_taxon(self, name: str) -> bool:
        return plain_name(name) in self.inventory.sequence.ranks


@singledispatch
def _again(question: Question, known: _Known, waiting: frozenset[str]) -> Question:  # noqa: ARG001
    """Most questions ask for an order, and what stands in it already stays."""
    return question


@_again.register
def _(question: TakeIn, known: _Known, waiting: frozenset[str]) -> TakeIn:
    named = {*question.unplaced, *(tray.key for tray in question.trays)} - waiting
    unplaced = sorted(key for key in named if key in known.trays and known.trays[key].drawer is None)
    return replace(question, trays=known.new(question.trays), unplaced=tuple(unplaced))


@_again.register
def _(question: InsertTaxa, known: _Known, waiting: frozenset[str]) -> InsertTaxa:
    """Trays of the taxon that were written down, and have been put nowhere or taken out again, are still to go in."""
    taxa = tuple(taxon for taxon in question.taxa if not known.has_taxon(taxon.name))
    written = (known.trays[tray.key] for tray in question.trays if tray.key in known.trays)
    unplaced = tuple(tray.key for tray in written if tray.drawer is None and tray.key not in waiting)
    return InsertTaxa(taxa, known.new(question.trays), unplaced)


@_again.register
def _(question: SplitTaxon, known: _Known, waiting: frozenset[str]) -> SplitTaxon:  # noqa: ARG001
    def left(part: SplitPart) -> SplitPart:
        there = tuple(key for key in part.trays if key in known.trays and known.trays[key].taxon != part.taxon.name)
        return replace(part, trays=there, new_trays=known.new(part.new_trays))

    return replace(question, parts=tuple(map(left, question.parts)))
