"""How trays stand in one drawer when they are read in order: columns side by side, or rows one before the other.

Trays fill a drawer in reading order. In a column they stand one below the other, and side by side, from the left,
where that makes the column shorter and it gets no wider: two half trays below a full one. Columns are broken where
they all together take up least across, and where room is plenty, play is not counted for that; of equal ways, in that
in which the fewest columns are wider than their widest tray, and then in that whose first columns hold most. Rows
likewise, a quarter turned.

What of the inside is filled, and what is left of the reserve, is what the columns (or rows) take up across.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import islice

from service.core.arrangement.inside import TOO_WIDE, Inside, Sizes, inside_of, sizes_of
from service.core.arrangement.inventory import DrawerStyle, ReadingOrder, Tray
from service.core.arrangement.lines import line_widths
from service.core.housing.tiling import Place


@dataclass(frozen=True, slots=True)
class Lines:
    """Trays broken into lines: ``held`` has for each line how many trays stand in each of its courses."""

    across: int
    held: tuple[tuple[int, ...], ...]


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
    lines = broken(sizes, inside)
    if lines.across > inside.across:
        return Laid((), TOO_WIDE, inside)
    places, first, at_across = list[Place](), 0, 0
    for courses in lines.held:
        at_along = widest = 0
        for held in courses:
            beside = 0
            for at in range(first, first + held):
                places.append(_place(trays[at], at_along, at_across + beside, style, order))
                beside += int(sizes.across[at])
            at_along += int(sizes.along[first : first + held].max())
            widest, first = max(widest, beside), first + held
        at_across += widest
    return Laid(tuple(places), lines.across, inside)


def goes_in(trays: Sequence[Tray], style: DrawerStyle, order: ReadingOrder, play_nm: int) -> bool:
    """Whether these trays find room in the drawer in this order, where its reserve is, too."""
    inside, sizes = inside_of(style, Decimal(0), order), sizes_of(trays, play_nm, order)
    return sizes.area <= inside.along * inside.across and closest(sizes, inside).across <= inside.across


def broken(sizes: Sizes, inside: Inside) -> Lines:
    """The lines that the trays stand in. Where there is room with the reserve kept, play is not what decides: two
    halves go beside each other below a whole though their play makes them wider than it by a hair."""
    if sizes.play:
        bare = replace(sizes, across=sizes.across - sizes.play, play=0)
        lines = _with_play(narrowest(bare, inside, bare.widest), sizes)
        if lines.across <= inside.usable:
            return lines
    return closest(sizes, inside)


def closest(sizes: Sizes, inside: Inside) -> Lines:
    """The lines that take up least across of those in which no course is wider than the widest tray of the drawer.

    Where these would stand in the reserve, courses may be as wide as one likes. What fits with a wide tray among it
    therefore still does without, though then nothing says how wide a line may be.
    """
    lines = narrowest(sizes, inside, sizes.widest)
    if lines.across <= inside.usable or sizes.area > inside.along * inside.across:
        return lines
    return min(lines, narrowest(sizes, inside, inside.across), key=lambda each: each.across)


def _with_play(lines: Lines, sizes: Sizes) -> Lines:
    if lines.across >= TOO_WIDE:
        return lines
    across, wide = 0, iter(sizes.across.tolist())
    for courses in lines.held:
        across += max(sum(islice(wide, held)) for held in courses)
    return replace(lines, across=across)


def narrowest(sizes: Sizes, inside: Inside, abreast: int) -> Lines:
    """The lines that take up least across, of those whose courses are no wider than ``abreast``, play not counted.

    Of equal ones those of which the fewest are wider than their widest tray, then those whose first lines hold most.
    """
    # From the last tray to the first: what is left from each on takes up (across, lines wider than their trays).
    widths = [line.tolist() for line in line_widths(sizes, inside, abreast)]
    across, count = sizes.across.tolist(), len(sizes)
    least, held_by = [(0, 0)] * (count + 1), [0] * (count + 1)
    for first in reversed(range(count)):
        best, widest = (TOO_WIDE, 0), 0
        for held, line in enumerate(widths[: count - first], start=1):
            widest, width = max(widest, across[first + held - 1]), line[first]
            rest, wider = least[first + held]
            if width + rest <= best[0] and (taken := (width + rest, wider + (width > widest))) <= best:
                best, held_by[first] = taken, held
        least[first] = min(best, (TOO_WIDE, 0))
    if least[0][0] >= TOO_WIDE:
        return Lines(TOO_WIDE, ())
    lines, first = list[tuple[int, ...]](), 0
    while first < count:
        end = first + held_by[first]
        lines.append(_courses(sizes, inside, first, end, widths[end - first - 1][first]))
        first = end
    return Lines(least[0][0], tuple(lines))


def _courses(sizes: Sizes, inside: Inside, first: int, end: int, width: int) -> tuple[int, ...]:
    """How many trays stand in each course of a line: as short as it can be, the first courses fullest."""
    long, across = sizes.long_in(inside)[first:end].tolist(), sizes.across[first:end].tolist()
    count = len(long)
    least, held_by = [0] * (count + 1), [0] * (count + 1)
    for at in reversed(range(count)):
        least[at] = TOO_WIDE
        wide = longest = 0
        for held in range(1, count - at + 1):
            wide, longest = wide + across[at + held - 1], max(longest, long[at + held - 1])
            if wide > width:
                break
            if longest + least[at + held] <= least[at]:
                least[at], held_by[at] = longest + least[at + held], held
    courses, at = list[int](), 0
    while at < count:
        courses.append(held_by[at])
        at += held_by[at]
    return tuple(courses)


def _place(tray: Tray, along: int, across: int, style: DrawerStyle, order: ReadingOrder) -> Place:
    if order is ReadingOrder.COLUMNS:
        return Place(across, style.inner_depth_nm - along - tray.depth_nm, tray.width_nm, tray.depth_nm)
    return Place(along, style.inner_depth_nm - across - tray.depth_nm, tray.width_nm, tray.depth_nm)
