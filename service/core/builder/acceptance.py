"""Which sizes of drawer and of unit tray a storage system takes, as boxes.

These say the same as the rules of the fit check on a drawer in a cabinet and on trays in a drawer, for one drawer
of exactly known size; tests hold the two against each other. What a rule would leave unknown is not taken.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import isqrt

from service.core.builder.box import Box, apart
from service.core.fit.findings import Verdict
from service.core.fit.floors import height_above_lining
from service.core.fit.runners import SIDE_CLEARANCE
from service.core.fit.slot import Slot
from service.core.handbook import figure
from service.core.housing.tiling import MOST_TRAYS
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import LONGEST_NM
from service.core.standards import Cabinet, Doorway, DrawerStandard, StorageSystem, Support

#: Which reading of the rules the boxes follow: raised when a change to the rules changes the boxes.
EDITION = 1


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Sizes that one cabinet takes as they are, or one drawer by the tray.

    ``box`` is in the asker's own width, depth and height; ``turned`` says that the front goes to the side. ``into``
    is the code of the cabinet or drawer. ``pitch_nm`` and ``free_positions`` are the cabinet's, if known.
    """

    verdict: Verdict
    into: str
    turned: bool
    box: Box
    pitch_nm: int | None = None
    free_positions: int | None = None


def acceptances(system: StorageSystem) -> tuple[Acceptance, ...]:
    """Every size that the system takes, in pieces of which no two of one verdict meet.

    Where several cabinets take a size, the one with the most free positions is named.
    """
    cabinets = [found for cabinet in system.cabinets for found in _of_cabinet(cabinet, system)]
    cabinets.sort(key=lambda one: -1 if one.free_positions is None else one.free_positions, reverse=True)
    drawers = [found for drawer in system.drawers for found in _of_drawer(drawer, system)]
    return (*_apart(cabinets), *_apart(drawers))


def _apart(found: list[Acceptance]) -> Iterator[Acceptance]:
    for place, box in apart(one.box for one in found):
        one = found[place]
        yield Acceptance(one.verdict, one.into, one.turned, box, one.pitch_nm, one.free_positions)


def _of_cabinet(cabinet: Cabinet, system: StorageSystem) -> Iterator[Acceptance]:
    slot = Slot.of(cabinet, system)
    width, depth, height = (_known(length) for length in (slot.width(), slot.depth(), slot.height()))
    door = _through_the_door(cabinet)
    if width is None or depth is None or height is None or door is None or not height.smallest_nm:
        return
    least_nm = _least_carried_nm(cabinet, width)
    if least_nm is None:
        return
    widest_nm, highest_nm = min(width.smallest_nm, door[0]), min(_highest_nm(cabinet, height), door[1])
    pitch_nm = height.smallest_nm
    for turned in (False, True):
        least, most = (least_nm, 1), (widest_nm, depth.smallest_nm)
        box = _box(least[::-1], most[::-1], highest_nm) if turned else _box(least, most, highest_nm)
        yield Acceptance(Verdict.AS_IT_IS, cabinet.code, turned, box, pitch_nm, cabinet.free_positions)


def _box(least: tuple[int, int], most: tuple[int, int], highest_nm: int) -> Box:
    return Box((*least, 1), (*most, highest_nm))


def _known(length: Dimension | None) -> Dimension | None:
    """A length that may decide: one from memory may not."""
    return None if length is None or length.is_from_memory else length


def _least_carried_nm(cabinet: Cabinet, width: Dimension) -> int | None:
    """The narrowest drawer that does not drop off its runners; ``None`` where nobody can tell."""
    if cabinet.support is Support.SHELF:
        return 1
    if cabinet.runner_ledge is None:
        return max(1, width.largest_nm - figure(SIDE_CLEARANCE).nm)
    ledge = _known(cabinet.runner_ledge)
    return None if ledge is None else max(1, width.largest_nm - ledge.smallest_nm + 1)


def _highest_nm(cabinet: Cabinet, height: Dimension) -> int:
    """The highest drawer: one position, or as many as there are where the runner above comes out."""
    one_nm = height.smallest_nm
    by_itself = cabinet.support is Support.SHELF or cabinet.runners_removable is True
    if cabinet.pitch is None or not by_itself:
        return one_nm
    in_column = cabinet.positions_per_column
    column_nm = LONGEST_NM if in_column is None else in_column * one_nm
    if cabinet.opening.height is not None:
        column_nm = min(column_nm, cabinet.opening.height.smallest_nm)
    return max(one_nm, column_nm)


def _through_the_door(cabinet: Cabinet) -> tuple[int, int] | None:
    """The width and height that pass the door; ``None`` where nobody can tell."""
    if cabinet.doorway is None:
        return None
    if cabinet.doorway is not Doorway.NARROWER:
        return LONGEST_NM, LONGEST_NM
    width, height = _known(cabinet.door_width), _known(cabinet.door_height)
    return None if width is None or height is None else (width.smallest_nm, height.smallest_nm)


def _of_drawer(drawer: DrawerStandard, system: StorageSystem) -> Iterator[Acceptance]:
    """Trays lie in a drawer with the play of its series; of several series, the one that asks for most."""
    width, depth = _known(drawer.inner.width), _known(drawer.inner.depth)
    height = _known(height_above_lining(drawer).dimension)
    if width is None or depth is None or height is None or not (width.smallest_nm and depth.smallest_nm):
        return
    play_nm = max((series.play_nm or 0 for series in system.tray_series), default=0)
    plan = (width.smallest_nm - play_nm, depth.smallest_nm - play_nm)
    # Smaller ones would be more than anybody counts as trays: the fit check leaves them unknown.
    least_nm = max(1, isqrt(width.smallest_nm * depth.smallest_nm // MOST_TRAYS) + 1 - play_nm)
    for turned in (False, True) if all(series.may_turn for series in system.tray_series) else (False,):
        box = _box((least_nm, least_nm), plan[::-1] if turned else plan, height.smallest_nm)
        yield Acceptance(Verdict.BY_THE_TRAY, drawer.code, turned, box)
