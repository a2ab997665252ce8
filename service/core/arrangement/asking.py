"""From an inventory and a question to what the search works on."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import singledispatch

import numpy as np

from service.core.arrangement.inside import Inside, inside_of, sizes_of
from service.core.arrangement.inventory import Drawer, Inventory, SystematicSequence, Tray, plain_name
from service.core.arrangement.order import completed, set_in, sorted_by, with_taxa, without_taxa
from service.core.arrangement.plan import (
    ArrangementWishes,
    CannotBeArranged,
    ChangeDrawerStyle,
    EmptyCabinets,
    InsertTaxa,
    MergeTaxa,
    Question,
    ReorderTaxa,
    RestoreReserve,
    SplitTaxon,
    TakeIn,
)
from service.core.arrangement.slots import (
    Slot,
    drawers_by_cabinet,
    drawers_needed,
    in_reading_order,
    slots_to_be_had,
    standing_slot,
    takes,
    without_position,
)
from service.core.arrangement.task import LOOSE, Task


@dataclass
class Wanted:
    """What a question comes to: trays in the order to be, the sequence, and which drawers are to be left.

    ``renamed`` are trays with the taxon that they bear from now on. ``replaced`` is the style of the drawers in
    ``leave`` that give their positions to new ones.
    """

    trays: list[Tray]
    sequence: SystematicSequence
    leave: frozenset[str] = frozenset()
    leave_cabinets: frozenset[str] = frozenset()
    renamed: tuple[tuple[str, str], ...] = ()
    new_trays: tuple[Tray, ...] = ()
    picked_out: int = 0
    must_keep_reserve: bool = False
    replace_with: ChangeDrawerStyle | None = None
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Asked:
    """A question ready to be searched: ``slots`` are what the task numbers, ``trays`` in the order to be."""

    inventory: Inventory
    wanted: Wanted
    slots: tuple[Slot, ...]
    task: Task

    @property
    def trays(self) -> list[Tray]:
        return self.wanted.trays


def ask(inventory: Inventory, question: Question, wishes: ArrangementWishes) -> Asked:
    """The question in the search's own numbers.

    :raises CannotBeArranged: where it names what is not there, or a figure makes no sense.
    """
    _check(inventory)
    if isinstance(question, RestoreReserve) and question.reserve_percent is not None:
        inventory = _with_reserve(inventory, question)
    wanted = _wanted(question, inventory)
    slots = _slots(inventory, wanted, wishes)
    return Asked(inventory, wanted, tuple(slots), _task(inventory, wanted, slots))


def _check(inventory: Inventory) -> None:
    for tray in inventory.trays:
        if min(tray.width_nm, tray.depth_nm) <= 0:
            raise CannotBeArranged(f"Tray {tray.label or tray.key} has no size.")
    if not 0 <= inventory.reserve_percent < 100:
        raise CannotBeArranged("A growth reserve is 0 % or more, and less than 100 %.")


def _with_reserve(inventory: Inventory, question: RestoreReserve) -> Inventory:
    reserve = question.reserve_percent
    if reserve is None or not 0 <= reserve < 100:
        raise CannotBeArranged("A growth reserve is 0 % or more, and less than 100 %.")
    drawers = tuple(replace(drawer, reserve_percent=None) for drawer in inventory.drawers)
    return replace(inventory, reserve_percent=reserve, drawers=drawers)


# What each question comes to


@singledispatch
def _wanted(question: object, inventory: Inventory) -> Wanted:  # noqa: ARG001 - each kind has its own below
    raise CannotBeArranged(f"Nobody can ask for {type(question).__name__}.")


@_wanted.register
def _(question: TakeIn, inventory: Inventory) -> Wanted:
    return _taking_in(inventory, inventory.sequence, question)


@_wanted.register
def _(question: InsertTaxa, inventory: Inventory) -> Wanted:
    return _taking_in(inventory, with_taxa(inventory.sequence, question.taxa), question)


@_wanted.register
def _(question: MergeTaxa, inventory: Inventory) -> Wanted:
    merged = {plain_name(name) for name in question.taxa} - {plain_name(question.into)}
    if inventory.sequence.ranks.get(plain_name(question.into)) is None:
        raise CannotBeArranged(f"The sequence has no {question.into}.")
    sequence = without_taxa(inventory.sequence, tuple(merged))
    changed = [tray for tray in inventory.trays_read() if plain_name(tray.taxon) in merged]
    return _moved_in_sequence(inventory, sequence, {tray.key: question.into for tray in changed})


@_wanted.register
def _(question: SplitTaxon, inventory: Inventory) -> Wanted:
    sequence = with_taxa(inventory.sequence, [part.taxon for part in question.parts])
    known = {tray.key: tray for tray in inventory.trays_read()}
    names: dict[str, str] = {}
    for part in question.parts:
        for key in part.trays:
            if plain_name(_named(known, key).taxon) != plain_name(question.taxon):
                raise CannotBeArranged(f"Tray {known[key].label or key} is none of {question.taxon}.")
            names[key] = part.taxon.name
    new = tuple(replace(tray, taxon=part.taxon.name) for part in question.parts for tray in part.new_trays)
    wanted = _moved_in_sequence(inventory, sequence, names, _new(inventory, new))
    wanted.picked_out = sum(part.specimens_picked_out for part in question.parts)
    return wanted


@_wanted.register
def _(question: ReorderTaxa, inventory: Inventory) -> Wanted:
    sequence = completed(question.sequence, inventory.sequence)
    trays, strangers = sorted_by(sequence, inventory.trays_in_order())
    wanted = Wanted(trays, sequence)
    if strangers:
        wanted.notes.append(
            f"The sequence has no place for {len(strangers)} taxa ({', '.join(strangers[:5])}); their trays stay"
            " behind the tray that they stand behind."
        )
    return wanted


@_wanted.register
def _(question: EmptyCabinets, inventory: Inventory) -> Wanted:
    cabinets = frozenset(question.cabinets)
    if strangers := cabinets - {cabinet.key for cabinet in inventory.cabinets}:
        raise CannotBeArranged(f"There is no cabinet {', '.join(sorted(strangers))}.")
    leave = frozenset(drawer.key for drawer in inventory.drawers_read if drawer.cabinet in cabinets)
    return Wanted(inventory.trays_in_order(), inventory.sequence, leave, cabinets)


@_wanted.register
def _(question: RestoreReserve, inventory: Inventory) -> Wanted:  # noqa: ARG001 - the reserve is the inventory's by now
    return Wanted(inventory.trays_in_order(), inventory.sequence, must_keep_reserve=True)


@_wanted.register
def _(question: ChangeDrawerStyle, inventory: Inventory) -> Wanted:
    leave = frozenset(drawer.key for drawer in inventory.drawers_read if drawer.style.code == question.leave)
    if not leave:
        raise CannotBeArranged(f"No drawer of style {question.leave} stands in a cabinet.")
    if question.leave == question.style.code:
        raise CannotBeArranged("The style to leave and the style to move to are the same.")
    wanted = Wanted(inventory.trays_in_order(), inventory.sequence, leave, replace_with=question)
    holding = {drawer.cabinet for drawer in inventory.drawers if drawer.key in leave}
    unknown = [cabinet.name for cabinet in inventory.cabinets if cabinet.key in holding and not cabinet.takes]
    if unknown:
        wanted.notes.append(
            f"Nobody has stated which drawers {', '.join(unknown)} take: see that new ones go in before you begin."
        )
    return wanted


def _taking_in(inventory: Inventory, sequence: SystematicSequence, question: TakeIn | InsertTaxa) -> Wanted:
    known = {tray.key: tray for tray in inventory.trays}
    waiting = [_named(known, key) for key in question.unplaced]
    for tray in waiting:
        if tray.drawer is not None:
            raise CannotBeArranged(f"Tray {tray.label or tray.key} stands in a drawer already.")
    new = _new(inventory, question.trays)
    return Wanted(set_in(sequence, inventory.trays_in_order(), (*waiting, *new)), sequence, new_trays=new)


def _moved_in_sequence(
    inventory: Inventory, sequence: SystematicSequence, names: dict[str, str], new: Sequence[Tray] = ()
) -> Wanted:
    """Trays that bear another taxon from now on stand with it; those of the taxon itself stay before them."""
    standing = inventory.trays_in_order()
    changed = [replace(tray, taxon=names[tray.key]) for tray in standing if tray.key in names]
    staying = [tray for tray in standing if tray.key not in names]
    trays = set_in(sequence, staying, (*changed, *new))
    return Wanted(trays, sequence, renamed=tuple(names.items()), new_trays=tuple(new))


def _named(known: dict[str, Tray], key: str) -> Tray:
    if key not in known:
        raise CannotBeArranged(f"There is no tray {key} to be moved.")
    return known[key]


def _new(inventory: Inventory, trays: Sequence[Tray]) -> tuple[Tray, ...]:
    known = {tray.key for tray in inventory.trays}
    for tray in trays:
        if tray.key in known:
            raise CannotBeArranged(f"There is a tray {tray.key} already.")
        if min(tray.width_nm, tray.depth_nm) <= 0:
            raise CannotBeArranged(f"Tray {tray.label or tray.key} has no size.")
        known.add(tray.key)
    return tuple(trays)


# Drawers, and those that could be had


def _slots(inventory: Inventory, wanted: Wanted, wishes: ArrangementWishes) -> list[Slot]:
    if wanted.replace_with is not None:
        return list(_replaced(inventory, wanted, wanted.replace_with))
    standing = [
        standing_slot(drawer, inventory) for drawer in inventory.drawers_read if drawer.key not in wanted.leave
    ]
    to_be_had = slots_to_be_had(inventory, wishes, wanted.leave_cabinets)
    slots = in_reading_order([*standing, *to_be_had], inventory)
    return slots if wishes.new_drawers is None else list(_with_more(slots, inventory, wanted, wishes))


def _replaced(inventory: Inventory, wanted: Wanted, change: ChangeDrawerStyle) -> Iterator[Slot]:
    """Each drawer that is left gives its position to a new one, where its cabinet takes it; and behind each row of
    them come as many more, without a position yet, as their trays may need."""
    by_cabinet, cabinets = drawers_by_cabinet(inventory), {cabinet.key: cabinet for cabinet in inventory.cabinets}
    # New drawers of an earlier plan have their slots by themselves, where they are read.
    given = {(each.cabinet, each.position) for each in inventory.waiting}
    row: list[Drawer] = []
    places = 0
    for drawer in (*inventory.drawers_read, None):
        if drawer is not None and drawer.key in wanted.leave:
            row.append(drawer)
            if (drawer.cabinet, drawer.position) in given:
                continue
            places += 1
            cabinet = cabinets[drawer.cabinet or ""]
            goes_in = (not cabinet.takes or takes(cabinet, by_cabinet[cabinet.key], change.style)) and (
                change.style.positions <= drawer.style.positions
            )
            place = (drawer.cabinet, drawer.position) if goes_in else (None, None)
            yield Slot(None, change.style, inventory.reserve_percent, *place)
            continue
        trays = [tray for left in row for tray in inventory.trays_by_drawer[left.key]]
        needed = drawers_needed(trays, change.style, inventory)
        yield from (without_position(change.style, inventory) for _ in range(max(0, needed - places)))
        row, places = [], 0
        if drawer is not None:
            yield standing_slot(drawer, inventory)


def _with_more(
    slots: Sequence[Slot], inventory: Inventory, wanted: Wanted, wishes: ArrangementWishes
) -> Iterator[Slot]:
    """The slots with new drawers that could be slipped in: behind the drawer that trays to be set somewhere follow,
    as many as these fill; and where reserve is to be restored, behind each drawer."""
    if wishes.new_drawers is None:
        return
    more = _rows_behind(slots, inventory, wanted, wishes)
    for at in range(-1, len(slots)):
        if at >= 0:
            yield slots[at]
        for _ in range(more.get(at, 0)):
            yield without_position(wishes.new_drawers, inventory)


def _rows_behind(
    slots: Sequence[Slot], inventory: Inventory, wanted: Wanted, wishes: ArrangementWishes
) -> dict[int, int]:
    """How many new drawers may be slipped in behind each slot."""
    slot_of = {slot.drawer: at for at, slot in enumerate(slots) if slot.drawer is not None}
    more: dict[int, int] = {}
    if wishes.new_drawers is None:
        return more
    behind, row = -1, list[Tray]()
    for tray in (*wanted.trays, None):
        at = None if tray is None or tray.drawer is None else slot_of.get(tray.drawer)
        if tray is not None and at is None:
            row.append(tray)
            continue
        if row:
            more[behind] = more.get(behind, 0) + drawers_needed(row, wishes.new_drawers, inventory)
            row = []
        if at is not None:
            behind = at
    if wanted.must_keep_reserve:
        more.update({at: more.get(at, 0) + 1 for at in slot_of.values()})
    return more


def _task(inventory: Inventory, wanted: Wanted, slots: Sequence[Slot]) -> Task:
    slot_of = {slot.drawer: at for at, slot in enumerate(slots) if slot.drawer is not None}
    old = [LOOSE if tray.drawer is None else slot_of.get(tray.drawer, LOOSE) for tray in wanted.trays]
    insides: dict[Inside, int] = {}
    inside = [
        insides.setdefault(inside_of(slot.style, slot.reserve_percent, inventory.reading_order), len(insides))
        for slot in slots
    ]
    return Task(
        sizes_of(wanted.trays, inventory.play_nm, inventory.reading_order),
        np.array(old, dtype=np.int64),
        np.array([tray.place or 0 for tray in wanted.trays], dtype=np.int64),
        tuple(insides),
        np.array(inside, dtype=np.int64),
        np.array([not slot.has_position for slot in slots], dtype=bool),
        wanted.must_keep_reserve,
    )
