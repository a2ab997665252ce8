"""How trays stand in one drawer when they are read in order: columns side by side, or rows one before the other.

A line (a column, or a row) holds trays that follow one another, and is as wide as its widest. Lines are broken
wherever the trays then take up least across, so what fits is exact for this way of standing. Whatever fits still
does when trays are taken out of it; that is what lets a plan be cut drawer by drawer from the front.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import floor

import numpy as np
from numpy.typing import NDArray

from service.core.arrangement.inventory import DrawerStyle, ReadingOrder, Tray
from service.core.housing.tiling import Place

Ints = NDArray[np.int64]
#: Wider than any drawer.
TOO_WIDE = 1 << 60


@dataclass(frozen=True, slots=True)
class Inside:
    """A drawer as lines see it: ``along`` is the longest line, ``across`` what all lines may take together.

    ``kept_free`` is what of ``across`` is the growth reserve; ``height`` is clear under the lid, ``None`` unknown.
    """

    along: int
    across: int
    kept_free: int
    height: int | None

    @property
    def usable(self) -> int:
        return self.across - self.kept_free


@dataclass(frozen=True, slots=True)
class Sizes:
    """Trays in order as lines see them, play included; a height of 0 is unknown and taken to fit."""

    along: Ints
    across: Ints
    height: Ints

    def __len__(self) -> int:
        return len(self.along)


def inside_of(style: DrawerStyle, reserve_percent: Decimal, order: ReadingOrder) -> Inside:
    width, depth = style.inner_width_nm, style.inner_depth_nm
    along, across = (depth, width) if order is ReadingOrder.COLUMNS else (width, depth)
    return Inside(along, across, across - floor(across * (100 - reserve_percent) / 100), style.clear_height_nm)


def sizes_of(trays: Sequence[Tray], play_nm: int, order: ReadingOrder) -> Sizes:
    width = np.array([tray.width_nm + play_nm for tray in trays], dtype=np.int64)
    depth = np.array([tray.depth_nm + play_nm for tray in trays], dtype=np.int64)
    height = np.array([tray.height_nm or 0 for tray in trays], dtype=np.int64)
    return Sizes(depth, width, height) if order is ReadingOrder.COLUMNS else Sizes(width, depth, height)


def furthest(sizes: Sizes, inside: Inside, usable: int) -> Ints:
    """For every tray, and the end, how far one drawer reaches that begins with it: up to which tray, not included.

    Costs trays × trays to a drawer × trays to a line, all of it in whole columns of numbers.
    """
    count = len(sizes)
    lines = _lines(sizes, inside)
    reach = np.arange(count + 1, dtype=np.int64)
    taken = [np.zeros(count + 1, dtype=np.int64)]
    held = 0
    while True:
        held += 1
        least = np.full(count + 1, TOO_WIDE, dtype=np.int64)
        for trays, across in enumerate(lines[: min(held, len(lines))], start=1):
            if held <= count:
                before = taken[-trays][: count + 1 - held]
                np.minimum(least[: count + 1 - held], before + across[held - trays :], out=least[: count + 1 - held])
        fits = least <= usable
        if not fits.any():
            return reach
        reach[fits] = np.flatnonzero(fits) + held
        taken = [*taken, least][-max(len(lines), 1) :]


def _lines(sizes: Sizes, inside: Inside) -> list[Ints]:
    """How wide a line of 1, 2, … trays is that begins with each tray; one that is too long is too wide."""
    count = len(sizes)
    too_high = sizes.height > inside.height if inside.height is not None else np.zeros(count, dtype=bool)
    along = np.where(too_high, inside.along + 1, sizes.along)
    length, width, lines = along.copy(), sizes.across.copy(), []
    while len(length):
        fits = length <= inside.along
        if not fits.any():
            break
        lines.append(np.where(fits, width, TOO_WIDE))
        trays = len(lines)
        length = length[:-1] + along[trays:]
        width = np.maximum(width[:-1], sizes.across[trays:])
    return lines


def least_across(along: Sequence[int], across: Sequence[int], longest: int) -> tuple[int, tuple[int, ...]]:
    """The least that these trays take up across, and how many stand in each line, full lines first."""
    least, trays_in_line = [0], [0]
    for first in reversed(range(len(along))):
        best, chosen, length, width = TOO_WIDE, 0, 0, 0
        for held, (long, wide) in enumerate(zip(along[first:], across[first:], strict=True), start=1):
            length, width = length + long, max(width, wide)
            if length > longest:
                break
            if width + least[-held] <= best:
                best, chosen = width + least[-held], held
        least.append(best)
        trays_in_line.append(chosen)
    lines, at = [], len(along)
    while at and trays_in_line[at]:
        lines.append(trays_in_line[at])
        at -= trays_in_line[at]
    return least[-1], tuple(lines)


@dataclass(frozen=True, slots=True)
class Laid:
    """Trays of one drawer in their places, play not included; ``across`` is what their lines take up."""

    places: tuple[Place, ...]
    across: int
    inside: Inside

    @property
    def fits(self) -> bool:
        return self.across <= self.inside.across

    @property
    def keeps_reserve(self) -> bool:
        return self.across <= self.inside.usable


def laid_out(
    trays: Sequence[Tray], style: DrawerStyle, reserve_percent: Decimal, order: ReadingOrder, play_nm: int
) -> Laid:
    """Where each tray stands; ``x`` counts from the left and ``y`` from the front. Without room there are no places.

    Columns begin at the left and run from the back to the front; rows begin at the back and run to the right.
    """
    inside, sizes = inside_of(style, reserve_percent, order), sizes_of(trays, play_nm, order)
    too_high = inside.height is not None and bool((sizes.height > inside.height).any())
    along, across = sizes.along.tolist(), sizes.across.tolist()
    taken, lines = least_across(along, across, inside.along)
    if taken > inside.across or too_high:
        return Laid((), TOO_WIDE, inside)
    places, first, at_across = [], 0, 0
    for held in lines:
        at_along = 0
        for tray in trays[first : first + held]:
            places.append(_place(tray, at_along, at_across, style, order))
            at_along += (tray.depth_nm if order is ReadingOrder.COLUMNS else tray.width_nm) + play_nm
        at_across += max(across[first : first + held])
        first += held
    return Laid(tuple(places), taken, inside)


def _place(tray: Tray, along: int, across: int, style: DrawerStyle, order: ReadingOrder) -> Place:
    if order is ReadingOrder.COLUMNS:
        return Place(across, style.inner_depth_nm - along - tray.depth_nm, tray.width_nm, tray.depth_nm)
    return Place(along, style.inner_depth_nm - across - tray.depth_nm, tray.width_nm, tray.depth_nm)
