"""How wide a line of so many trays is, from every tray on, and how far a drawer reaches.

A line is built of *courses*, as a wall is: a course is one tray, or several side by side across the line, as two half
trays below a full one. Trays follow one another within a course, courses within a line, lines within a drawer. A
course is as long as its longest tray, and a line as wide as its widest course.

Whatever fits still does when trays are taken out of it, since courses only get narrower and shorter; that is what
lets a plan be cut drawer by drawer from the front.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.core.arrangement.inside import TOO_WIDE, Inside, Ints, Sizes

#: Lines with trays side by side are looked at in so many widths; where a collection has more, each is taken for the
#: next wider one, which fits as well.
MOST_WIDTHS = 32


def furthest(sizes: Sizes, inside: Inside, usable: int) -> Ints:
    """For every tray, and the end, how far one drawer reaches that begins with it: up to which tray, not included.

    Trays stand side by side in a line where together they are no wider than the widest of ``sizes``. Costs trays ×
    trays to a drawer × trays to a line, and for courses trays × widths × trays to a line × trays to a course, all of
    it in whole columns of numbers.
    """
    count = len(sizes)
    lines = line_widths(sizes, inside, sizes.widest, MOST_WIDTHS)
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


def line_widths(sizes: Sizes, inside: Inside, abreast: int, most_widths: int | None = None) -> list[Ints]:
    """How wide a line of 1, 2, … trays is that begins with each tray; one that is too long is too wide.

    Trays stand side by side where they are together no wider than ``abreast``, their play not counted. With
    ``most_widths`` lines may be said to be wider than they are.
    """
    long = sizes.long_in(inside)
    lines = _one_by_one(long, sizes.across, inside.along)
    courses = _courses(long, sizes, abreast)
    for width in _widths(courses, most_widths):
        for trays, length in enumerate(_lengths(courses, int(width), inside.along), start=1):
            if trays > len(lines):
                lines.append(np.full(len(length), TOO_WIDE, dtype=np.int64))
            np.minimum(lines[trays - 1], np.where(length <= inside.along, width, TOO_WIDE), out=lines[trays - 1])
    return lines


def _one_by_one(long: Ints, across: Ints, longest: int) -> list[Ints]:
    """The same for lines whose courses are single trays."""
    length, width, lines = long.copy(), across.copy(), list[Ints]()
    while len(length):
        fits = length <= longest
        if not fits.any():
            break
        lines.append(np.where(fits, width, TOO_WIDE))
        trays = len(lines)
        length = length[:-1] + long[trays:]
        width = np.maximum(width[:-1], across[trays:])
    return lines


@dataclass(frozen=True, slots=True)
class _Course:
    """Courses of so many trays, from each tray on: how long, and how wide; too wide where it may not be."""

    trays: int
    long: Ints
    wide: Ints


def _courses(long: Ints, sizes: Sizes, abreast: int) -> list[_Course]:
    courses = [_Course(1, long, sizes.across)]
    wide, longest = sizes.across, long
    while len(wide) > 1:
        trays = len(courses) + 1
        wide, longest = wide[:-1] + sizes.across[trays - 1 :], np.maximum(longest[:-1], long[trays - 1 :])
        may_be = wide - trays * sizes.play <= abreast
        if not may_be.any():
            break
        courses.append(_Course(trays, longest, np.where(may_be, wide, TOO_WIDE)))
    return courses


def _widths(courses: Sequence[_Course], most: int | None) -> Ints:
    """Widths of lines in which something stands side by side; none where nothing may."""
    if len(courses) == 1:
        return np.array([], dtype=np.int64)
    several = np.concatenate([course.wide for course in courses[1:]])
    widths: Ints = np.unique(np.concatenate([several, courses[0].wide]))
    widths = widths[(widths >= several.min()) & (widths < TOO_WIDE)]
    if most is not None and len(widths) > most:
        widths = widths[np.linspace(0, len(widths) - 1, most).round().astype(np.int64)]
    return widths


def _lengths(courses: Sequence[_Course], width: int, longest: int) -> list[Ints]:
    """How long a line of this width is at least that holds 1, 2, … trays from each on, while any is not too long."""
    lengths = [np.zeros(len(courses[0].long) + 1, dtype=np.int64)]
    narrow = [
        (course.trays, np.where(course.wide <= width, course.long, TOO_WIDE))
        for course in courses
        if course.wide.min(initial=TOO_WIDE) <= width
    ]
    while len(lengths[-1]) > 1:
        held = len(lengths)
        starts = len(lengths[0]) - held
        least = np.full(starts, TOO_WIDE, dtype=np.int64)
        for trays, long in narrow:
            if trays <= held:
                before = lengths[held - trays][:starts]
                np.minimum(least, before + long[held - trays :], out=least)
        if not (least <= longest).any():
            break
        lengths.append(least)
    return lengths[1:]
