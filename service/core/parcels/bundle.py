"""Boxes stood on each other and side by side, right side up: what is bound together and padded all round.

Each box stands wholly on the one below it or on the floor, because a box that hangs over tips the ones above it when
the parcel is dropped. So the bundle is made of towers, which are laid out on the floor like trays in a drawer.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.parcels.floor import Flat, lay
from service.core.parcels.stock import Room


@dataclass(frozen=True, slots=True)
class Stood:
    """One box of the bundle: which one, and where it stands in the room."""

    which: int
    x: int
    y: int
    z: int
    size: Room


@dataclass(slots=True)
class _Tower:
    """Boxes on each other, the lowest first, each with its size as it stands on the one below."""

    levels: list[tuple[int, Room]]
    height: int

    @property
    def base(self) -> Flat:
        return (self.levels[0][1].width_nm, self.levels[0][1].depth_nm)


def bundle(room: Room, boxes: Sequence[Room]) -> list[Stood]:
    """As many of the boxes as this heuristic brings into the room; ``which`` are places in ``boxes``."""
    towers = _towers(room, boxes)
    laid = lay(room.width_nm, room.depth_nm, [tower.base for tower in towers])
    return [stood for each in laid for stood in _standing(towers[each.which], each.x, each.y, each.width)]


def _towers(room: Room, boxes: Sequence[Room]) -> list[_Tower]:
    """Towers from the widest box up; the next one goes on the highest tower that still takes it."""
    towers: list[_Tower] = []
    order = sorted(range(len(boxes)), key=lambda at: (-boxes[at].width_nm * boxes[at].depth_nm, boxes[at], at))
    for at in order:
        if boxes[at].height_nm > room.height_nm:
            continue
        for tower in sorted(towers, key=lambda tower: -tower.height):
            size = _on(tower.levels[-1][1], boxes[at])
            if size is not None and tower.height + size.height_nm <= room.height_nm:
                tower.levels.append((at, size))
                tower.height += size.height_nm
                break
        else:
            towers.append(_Tower([(at, boxes[at])], boxes[at].height_nm))
    return towers


def _on(below: Room, box: Room) -> Room | None:
    """The box as it stands wholly on the one below; None when it would hang over."""
    for size in (box, Room(box.depth_nm, box.width_nm, box.height_nm)):
        if size.width_nm <= below.width_nm and size.depth_nm <= below.depth_nm:
            return size
    return None


def _standing(tower: _Tower, x: int, y: int, width: int) -> list[Stood]:
    is_turned = width != tower.levels[0][1].width_nm
    stood, z = [], 0
    for which, size in tower.levels:
        turned = Room(size.depth_nm, size.width_nm, size.height_nm) if is_turned else size
        stood.append(Stood(which, x, y, z, turned))
        z += size.height_nm
    return stood


def extent(stood: Sequence[Stood]) -> Room:
    """The smallest room around a bundle that stands in the corner."""
    return Room(
        max(each.x + each.size.width_nm for each in stood),
        max(each.y + each.size.depth_nm for each in stood),
        max(each.z + each.size.height_nm for each in stood),
    )
