"""How many equal trays lie in one drawer, by exact search in two dimensions."""

from dataclasses import dataclass
from functools import lru_cache
from math import gcd

from service.core.housing.equal_trays import most_equal_trays
from service.core.housing.smaller_numbers import Laid, Problem

#: More trays than this in one drawer is a slip of a unit, not a drawer.
MOST_TRAYS = 10_000

_NM2_PER_MM2 = 10**12


@dataclass(frozen=True, slots=True)
class Place:
    """Where one tray lies: the corner nearest the front left, and the room it takes there, play not included."""

    x_nm: int
    y_nm: int
    width_nm: int
    depth_nm: int
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Tiling:
    """``count`` trays, each in its place; no layout can hold more than ``at_most``."""

    count: int
    at_most: int
    places: tuple[Place, ...]
    left_over_mm2: int

    @property
    def is_proved(self) -> bool:
        return self.count == self.at_most


@lru_cache(maxsize=4096)
def tile(
    inner_width_nm: int, inner_depth_nm: int, tray_width_nm: int, tray_depth_nm: int, play_nm: int, may_turn: bool
) -> Tiling:
    """The most trays of one size that lie side by side in a drawer.

    Each tray takes its own size and ``play_nm`` more on both axes. Unless ``may_turn``, every label faces front;
    else each tray may be turned a quarter, also beside trays that are not. ``left_over_mm2`` is the drawer's area
    without the trays' own, so play is left over; rounded down. Places run from the front left, row by row. The same
    sizes always give the same places: work is limited by steps, not by the clock, and where that limit ends a search
    before it is decided, ``count`` stays below ``at_most``.

    ValueError when a drawer or tray has no size, play is negative, or the trays are too small to be trays.
    """
    _check_sizes(inner_width_nm, inner_depth_nm, tray_width_nm, tray_depth_nm, play_nm)
    cell_width, cell_depth = tray_width_nm + play_nm, tray_depth_nm + play_nm
    _check_count(inner_width_nm * inner_depth_nm // (cell_width * cell_depth), tray_width_nm, tray_depth_nm)
    if may_turn:
        corners, at_most = _turned_freely(inner_width_nm, inner_depth_nm, cell_width, cell_depth)
    else:
        corners = _facing_front(inner_width_nm, inner_depth_nm, cell_width, cell_depth)
        at_most = len(corners)
    places = tuple(_place(x, y, turned, tray_width_nm, tray_depth_nm) for y, x, turned in sorted(corners))
    own_area = len(places) * tray_width_nm * tray_depth_nm
    return Tiling(len(places), at_most, places, (inner_width_nm * inner_depth_nm - own_area) // _NM2_PER_MM2)


def _check_sizes(
    inner_width_nm: int, inner_depth_nm: int, tray_width_nm: int, tray_depth_nm: int, play_nm: int
) -> None:
    sizes = {
        "the drawer's inner width": inner_width_nm,
        "the drawer's inner depth": inner_depth_nm,
        "the tray's width": tray_width_nm,
        "the tray's depth": tray_depth_nm,
    }
    for what, size_nm in sizes.items():
        if size_nm <= 0:
            raise ValueError(f"{what} is {size_nm} nm; it must be more than nothing")
    if play_nm < 0:
        raise ValueError(f"the play of a tray is {play_nm} nm; it must be nothing or more")


def _check_count(by_area: int, tray_width_nm: int, tray_depth_nm: int) -> None:
    if by_area > MOST_TRAYS:
        raise ValueError(
            f"about {by_area} trays of {tray_width_nm} x {tray_depth_nm} nm would lie in this drawer; "
            f"more than {MOST_TRAYS} are not counted: check the unit of the tray's size"
        )


def _facing_front(width: int, depth: int, cell_width: int, cell_depth: int) -> list[tuple[int, int, bool]]:
    columns, rows = width // cell_width, depth // cell_depth
    return [(row * cell_depth, column * cell_width, False) for row in range(rows) for column in range(columns)]


def _turned_freely(
    width: int, depth: int, cell_width: int, cell_depth: int
) -> tuple[list[tuple[int, int, bool]], int]:
    """Corners as (y, x, turned), and the count that cannot be passed."""
    unit = gcd(width, depth, cell_width, cell_depth)
    long, short = max(cell_width, cell_depth) // unit, min(cell_width, cell_depth) // unit
    lies_rather = cell_width >= cell_depth
    layout, at_most = most_equal_trays(Problem(width // unit, depth // unit, long, short), lies_rather)
    return [_corner(tray, unit, lies_rather) for tray in layout], at_most


def _corner(tray: Laid, unit: int, lies_rather: bool) -> tuple[int, int, bool]:
    return tray.y * unit, tray.x * unit, tray.lies != lies_rather


def _place(x_nm: int, y_nm: int, turned: bool, tray_width_nm: int, tray_depth_nm: int) -> Place:
    if turned:
        return Place(x_nm, y_nm, tray_depth_nm, tray_width_nm, turned=True)
    return Place(x_nm, y_nm, tray_width_nm, tray_depth_nm)
