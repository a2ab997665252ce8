"""A container and the room that it is to stand in: what the views of a cabinet are drawn from."""

import math
from dataclasses import dataclass

from service.core.consignment import Container, Line
from service.core.fit.answer import LineAnswer
from service.core.fit.slot import Slot
from service.core.measure.dimension import Dimension, Size
from service.core.measure.lengths import NM_PER_MM
from service.core.standards import Cabinet, StorageSystem, Support
from service.paper.panel import largest_mm, smallest_mm
from service.paper.wording import margin_words

_MOST_POSITIONS_DRAWN = 8


@dataclass(frozen=True, slots=True)
class Standing:
    """A container and the room it is to stand in, already the way round it is drawn. Millimetres; None is unknown.

    The container is the largest and the room the least that anybody has reason to expect, as the rules compare
    them.
    """

    name: str
    room_name: str
    thing: Size
    room: Size
    pitch: Dimension | None = None
    cabinet: Cabinet | None = None
    turned: bool = False
    note: str = ""

    @property
    def width(self) -> float | None:
        return largest_mm(self.thing.width)

    @property
    def depth(self) -> float | None:
        return largest_mm(self.thing.depth)

    @property
    def height(self) -> float | None:
        return largest_mm(self.thing.height)

    @property
    def room_width(self) -> float | None:
        return smallest_mm(self.room.width)

    @property
    def room_depth(self) -> float | None:
        return smallest_mm(self.room.depth)

    @property
    def step(self) -> float | None:
        """The height of one position: the pitch, or for a shelf its clear height."""
        return smallest_mm(self.pitch)

    @property
    def ledge(self) -> float | None:
        """How far a runner stands out; a shelf has none, and what nobody measured is unknown."""
        if self.cabinet is None or self.on_shelf:
            return None
        return smallest_mm(self.cabinet.runner_ledge)

    @property
    def on_shelf(self) -> bool:
        return self.cabinet is None or self.cabinet.support is Support.SHELF

    @property
    def takes_several(self) -> bool:
        """Whether a drawer higher than the pitch may take several positions: what is above must be known to go."""
        return self.cabinet is not None and (self.on_shelf or self.cabinet.runners_removable is True)

    @property
    def step_name(self) -> str:
        """What the height of one position is called; the drawer it was made for shows only the least it can be."""
        if self.cabinet is None:
            return "clear height"
        return "pitch" if self.cabinet.pitch or not self.pitch else "position at least"

    @property
    def loosest_mm(self) -> float | None:
        """The play that the smallest drawer has in the widest opening, which is the worst for being carried."""
        if self.thing.width is None or self.room.width is None:
            return None
        return max(0, self.room.width.largest_nm - self.thing.width.smallest_nm) / NM_PER_MM

    @property
    def positions(self) -> int:
        """How many pitches the container's height reaches into, to draw as many."""
        if not self.height or not self.step:
            return 1
        return min(max(1, math.ceil(round(self.height / self.step, 9))), _MOST_POSITIONS_DRAWN)

    def turned_round(self) -> "Standing":
        turned = Size(self.thing.depth, self.thing.width, self.thing.height)
        return Standing(
            self.name, self.room_name, turned, self.room, self.pitch, self.cabinet, not self.turned, self.note
        )


def standing(line: Line, answer: LineAnswer, system: StorageSystem) -> Standing | None:
    """The container as offered, in the cabinet or on the shelf that served best; None where there is none."""
    if line.container is Container.STORAGE_BOX:
        return _on_shelf(line, answer, system)
    cabinet = _cabinet(answer, system)
    if line.container is not Container.DRAWER or cabinet is None:
        return None
    slot = Slot.of(cabinet, system)
    room = Size(slot.width(), slot.depth(), cabinet.opening.height)
    note = slot.assumption() or ""
    return Standing(
        "drawer", f"in cabinet {cabinet.code}, {cabinet.name}", line.outer, room, slot.height(), cabinet, note=note
    )


def _on_shelf(line: Line, answer: LineAnswer, system: StorageSystem) -> Standing | None:
    tried = {finding.subject for finding in answer.findings}
    named = [shelf for shelf in system.box_shelves if f"shelf {shelf.code}" in tried]
    shelf = next(iter(named or system.box_shelves), None)
    if shelf is None:
        return None
    return Standing("box", f"on shelf {shelf.code}, {shelf.name}", line.outer, shelf.clear, shelf.clear.height)


def _cabinet(answer: LineAnswer, system: StorageSystem) -> Cabinet | None:
    wanted = {f"cabinet {answer.cabinet}"} if answer.cabinet else {finding.subject for finding in answer.findings}
    named = [cabinet for cabinet in system.cabinets if f"cabinet {cabinet.code}" in wanted]
    return next(iter(named or system.cabinets), None)


def way_round(stand: Standing) -> str:
    """For a heading: nothing, or that the container is turned."""
    return ", turned a quarter" if stand.turned else ""


def margin_label(room: float, thing: float) -> str:
    """The label between a thing and its room: ``3.2 mm too much``."""
    return margin_words(round((room - thing) * NM_PER_MM))
