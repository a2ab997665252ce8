"""The drawers that trays may go into, in reading order: those that stand, and those that could be had."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from service.core.arrangement.inside import inside_of, sizes_of
from service.core.arrangement.inventory import Cabinet, Drawer, DrawerStyle, Inventory, Tray
from service.core.arrangement.lines import furthest
from service.core.arrangement.plan import ArrangementWishes


@dataclass(frozen=True, slots=True)
class Slot:
    """A drawer that stands, by its key, or ``None`` for one that could be had. ``cabinet`` and ``position`` of
    ``None``: there is no position for it yet, and whole drawers have to be moved up."""

    drawer: str | None
    style: DrawerStyle
    reserve_percent: Decimal
    cabinet: str | None
    position: int | None

    @property
    def has_position(self) -> bool:
        return self.position is not None


def standing_slot(drawer: Drawer, inventory: Inventory) -> Slot:
    reserve = inventory.reserve_percent if drawer.reserve_percent is None else drawer.reserve_percent
    place = {each.drawer: (each.cabinet, each.position) for each in inventory.waiting}.get(drawer.key)
    return Slot(drawer.key, drawer.style, reserve, *(place or (drawer.cabinet, drawer.position)))


def free_positions(cabinet: Cabinet, drawers: Iterable[Drawer], style: DrawerStyle) -> Iterator[int]:
    """Where drawers of this style could still go, from the top, none across two columns."""
    taken = {
        position
        for drawer in drawers
        for position in range(drawer.position or 0, (drawer.position or 0) + drawer.style.positions)
    }
    position, column = 1, cabinet.positions_per_column
    while position + style.positions - 1 <= cabinet.positions:
        needed = range(position, position + style.positions)
        if (position - 1) // column != (needed[-1] - 1) // column or taken.intersection(needed):
            position += 1
            continue
        yield position
        position += style.positions


def takes(cabinet: Cabinet, drawers: Iterable[Drawer], style: DrawerStyle) -> bool:
    """Whether the cabinet takes drawers of this style: it says so, or one of them stands in it. Unknown is no."""
    return style.code in cabinet.takes or any(drawer.style.code == style.code for drawer in drawers)


def slots_to_be_had(inventory: Inventory, wishes: ArrangementWishes, without: frozenset[str]) -> Iterator[Slot]:
    """Drawers of the wished style in free positions of cabinets, but not in the cabinets ``without``."""
    style = wishes.new_drawers
    if style is None:
        return
    by_cabinet = drawers_by_cabinet(inventory)
    for cabinet in inventory.cabinets:
        standing = by_cabinet.get(cabinet.key, ())
        if cabinet.key not in without and takes(cabinet, standing, style):
            for position in free_positions(cabinet, standing, style):
                yield Slot(None, style, inventory.reserve_percent, cabinet.key, position)


def drawers_by_cabinet(inventory: Inventory) -> Mapping[str, list[Drawer]]:
    by_cabinet: dict[str, list[Drawer]] = {}
    for drawer in inventory.drawers_read:
        by_cabinet.setdefault(drawer.cabinet or "", []).append(drawer)
    return by_cabinet


def in_reading_order(slots: Iterable[Slot], inventory: Inventory) -> list[Slot]:
    """Slots of drawers that wait outside stay behind the slot that they follow."""
    cabinets = {cabinet.key: at for at, cabinet in enumerate(inventory.cabinets)}
    outside = {each.drawer for each in inventory.waiting}
    keyed, at = [], (-1, 0)
    for slot in slots:
        if slot.drawer not in outside:
            at = (cabinets[slot.cabinet or ""], slot.position or 0)
        keyed.append((at, slot))
    return [slot for _, slot in sorted(keyed, key=lambda each: each[0])]


def drawers_needed(trays: Sequence[Tray], style: DrawerStyle, inventory: Inventory) -> int:
    """How many drawers of this style these trays fill by themselves, with the reserve kept; each has one at most."""
    inside = inside_of(style, inventory.reserve_percent, inventory.reading_order)
    sizes = sizes_of(trays, inventory.play_nm, inventory.reading_order)
    reach = furthest(sizes, inside, inside.usable)
    drawers = at = 0
    while at < len(trays):
        drawers, at = drawers + 1, max(at + 1, int(reach[at]))
    return drawers


def without_position(style: DrawerStyle, inventory: Inventory) -> Slot:
    return Slot(None, style, inventory.reserve_percent, None, None)
