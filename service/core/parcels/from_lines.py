"""The pieces of a transfer that follow from its lines: what each lot travels in, by the sender's own tray series."""

from collections.abc import Iterable

from service.core.consignment import Container
from service.core.measure.dimension import Size
from service.core.parcels.answer import NotPacked
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.stock import Room
from service.core.standards import StorageSystem
from service.core.transfers.lines import Counted, Line, Preparation

HOLDS = {
    Preparation.PINNED: Holds.PINNED,
    Preparation.POINTED: Holds.PINNED,
    Preparation.CARDED: Holds.PINNED,
    Preparation.SPREAD: Holds.PINNED,
    Preparation.PAPERED: Holds.DRY,
    Preparation.SLIDE: Holds.SLIDES,
    Preparation.IN_FLUID: Holds.FLUID,
}
_COUNTED = {
    Counted.UNIT_TRAY: Container.UNIT_TRAY,
    Counted.DRAWER: Container.DRAWER,
    Counted.STORAGE_BOX: Container.STORAGE_BOX,
}


def pieces_of(lines: Iterable[Line], senders: StorageSystem | None) -> tuple[list[Piece], list[NotPacked]]:
    """A piece for each line that says what it travels in and how many of those, and why the others have none."""
    pieces: list[Piece] = []
    missing: list[NotPacked] = []
    for line in lines:
        container = line.storage or _COUNTED.get(line.counted)
        count = line.storage_count if line.storage else line.count
        if container is None:
            missing.append(NotPacked(line.key, "Nobody stated what it travels in."))
        elif count is None:
            missing.append(NotPacked(line.key, f"Nobody stated how many containers ({container}) it travels in."))
        else:
            holds = HOLDS.get(line.preparation) if line.preparation else _empty(line)
            pieces.append(
                Piece(line.key, container, count, (line.key,), _size(line, container, senders), holds=holds)
            )
    return pieces, missing


def _empty(line: Line) -> Holds | None:
    """Empty trays and boxes are dry goods; of specimens without a preparation nobody knows."""
    return None if line.counted is Counted.SPECIMEN else Holds.DRY


def _size(line: Line, container: Container, senders: StorageSystem | None) -> Room | None:
    """The outer size of the sender's tray, the largest that anybody has reason to expect; None where unknown."""
    if senders is None or line.tray is None or container is not Container.UNIT_TRAY:
        return None
    trays = (tray for series in senders.tray_series for tray in series.trays if tray.code == line.tray)
    found = next(trays, None)
    return None if found is None else _room(found.outer)


def _room(size: Size) -> Room | None:
    if size.width is None or size.depth is None or size.height is None:
        return None
    return Room(size.width.largest_nm, size.depth.largest_nm, size.height.largest_nm)
