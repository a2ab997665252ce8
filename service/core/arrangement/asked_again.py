"""The same question once more, after part of a plan was carried out: what has been done is not asked for again."""

from collections.abc import Mapping
from dataclasses import replace
from functools import singledispatch

from service.core.arrangement.inventory import Inventory, Tray
from service.core.arrangement.plan import InsertTaxa, Question, SplitTaxon, Spot, TakeIn


def asked_again(question: Question, inventory: Inventory, lifted: Mapping[str, Spot]) -> Question:
    """What is left to be asked. ``lifted`` are trays that the plan picked up and that wait on the bench by now, each
    with the place that it came from: where trays are taken in, these are among them.
    """
    known = {tray.key: tray for tray in inventory.trays}
    return _again(question, known, frozenset(lifted))


def on_paper(inventory: Inventory, lifted: Mapping[str, Spot]) -> Inventory:
    """The inventory as if the trays on the bench still stood where they came from, so that an order can be asked of
    them too."""
    back = tuple(
        replace(tray, drawer=lifted[tray.key].drawer, place=lifted[tray.key].place) if tray.key in lifted else tray
        for tray in inventory.trays
    )
    return replace(inventory, trays=back)


@singledispatch
def _again(question: Question, known: dict[str, Tray], waiting: frozenset[str]) -> Question:  # noqa: ARG001
    """Most questions ask for an order, and what stands in it already stays."""
    return question


@_again.register
def _(question: TakeIn, known: dict[str, Tray], waiting: frozenset[str]) -> TakeIn:
    named = {*question.unplaced, *(tray.key for tray in question.trays), *waiting}
    unplaced = sorted(key for key in named if key in known and known[key].drawer is None)
    return replace(question, trays=_new(question.trays, known), unplaced=tuple(unplaced))


@_again.register
def _(question: InsertTaxa, known: dict[str, Tray], waiting: frozenset[str]) -> InsertTaxa:  # noqa: ARG001
    return replace(question, trays=_new(question.trays, known))


@_again.register
def _(question: SplitTaxon, known: dict[str, Tray], waiting: frozenset[str]) -> SplitTaxon:  # noqa: ARG001
    parts = tuple(replace(part, new_trays=_new(part.new_trays, known)) for part in question.parts)
    return replace(question, parts=parts)


def _new(trays: tuple[Tray, ...], known: Mapping[str, Tray]) -> tuple[Tray, ...]:
    return tuple(tray for tray in trays if tray.key not in known)
