"""How trays fill a drawer: the least that they take up, against everything tried, and where each of them stands."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_cases import Trays, least_across_by_trying
from small_collections import MM, a_tray

from service.core.arrangement.inside import TOO_WIDE, Inside, Sizes
from service.core.arrangement.inventory import DrawerStyle, ReadingOrder, Tray
from service.core.arrangement.layout import Laid, broken, goes_in, laid_out, narrowest
from service.core.arrangement.lines import furthest

#: A series as there are many: quarter, half and full, all of one depth. Four full ones to a column, two columns.
SERIES = {"f": (100, 50), "h": (50, 50), "q": (25, 50)}
DRAWER = DrawerStyle("house", 200 * MM, 200 * MM, 60 * MM)


def sizes(trays: Trays) -> Sizes:
    along, across = (np.array([tray[at] for tray in trays], dtype=np.int64) for at in range(2))
    return Sizes(along, across, np.zeros(len(trays), dtype=np.int64))


def series(written: str, turned: bool = False) -> list[Tray]:
    """A tray for each letter; turned, they are as deep as they were wide."""
    found = [a_tray(f"{letter}{at}", *SERIES[letter]) for at, letter in enumerate(written)]
    return [replace(tray, width_nm=tray.depth_nm, depth_nm=tray.width_nm) for tray in found] if turned else found


def stand(written: str, order: ReadingOrder = ReadingOrder.COLUMNS) -> Laid:
    return laid_out(series(written, turned=order is ReadingOrder.ROWS), DRAWER, Decimal(0), order, 0)


def corners(laid: Laid) -> list[tuple[int, int]]:
    """Of each tray, how far from the left and from the back, in mm."""
    depth = DRAWER.inner_depth_nm
    return [(place.x_nm // MM, (depth - place.y_nm - place.depth_nm) // MM) for place in laid.places]


some_trays = st.lists(st.tuples(st.integers(1, 5), st.integers(1, 4)), max_size=7)


@settings(max_examples=400, deadline=None)
@given(trays=some_trays, longest=st.integers(1, 8), abreast=st.integers(0, 8))
def test_lines_are_broken_where_trays_take_up_least(trays: Trays, longest: int, abreast: int) -> None:
    lines = narrowest(sizes(trays), Inside(longest, 100, 0, None), abreast)
    best = least_across_by_trying(trays, longest, abreast)
    assert (lines.across if lines.across < TOO_WIDE else None) == best
    if best is not None:
        assert sum(held for courses in lines.held for held in courses) == len(trays)


@settings(max_examples=300, deadline=None)
@given(trays=some_trays, longest=st.integers(1, 8), usable=st.integers(0, 12))
def test_a_drawer_reaches_as_far_as_trays_fit_side_by_side_too(trays: Trays, longest: int, usable: int) -> None:
    reach = furthest(sizes(trays), Inside(longest, 12, 0, None), usable).tolist()
    widest = max((across for _, across in trays), default=0)
    for first, end in enumerate(reach[:-1]):
        held = [least_across_by_trying(trays[first:to], longest, widest) for to in range(first, len(trays) + 1)]
        assert end == first + max(at for at, taken in enumerate(held) if taken is not None and taken <= usable)


def test_the_book_shelf_exercise_comes_out() -> None:
    """The textbook exercise of filling shelves with books in order (thickness, height); shelf 4 wide: 6 high."""
    books = [(1, 1), (2, 3), (2, 3), (1, 1), (1, 1), (1, 1), (1, 2)]
    assert narrowest(sizes(books), Inside(4, 100, 0, None), abreast=0).across == 6
    assert narrowest(sizes([(1, 3), (2, 4), (3, 2)]), Inside(6, 100, 0, None), abreast=0).across == 4


def test_two_half_trays_stand_side_by_side_below_a_full_one_and_four_quarters_below_them() -> None:
    laid = stand("fhhqqqqf")
    assert laid.across == 100 * MM
    assert corners(laid) == [(0, 0), (0, 50), (50, 50), (0, 100), (25, 100), (50, 100), (75, 100), (0, 150)]


def test_read_in_rows_the_same_drawer_is_turned_by_a_quarter() -> None:
    columns, rows = stand("fhhqqqqf"), stand("fhhqqqqf", ReadingOrder.ROWS)
    assert corners(rows) == [(y, x) for x, y in corners(columns)]


def test_trays_of_one_width_stand_one_below_the_other_as_the_reading_order_says() -> None:
    assert corners(stand("hhhhhh")) == [(0, 0), (0, 50), (0, 100), (0, 150), (50, 0), (50, 50)]


def test_a_full_column_comes_before_the_next_is_begun() -> None:
    assert corners(stand("ffhhhhf")) == [(0, 0), (0, 50), (0, 100), (50, 100), (0, 150), (50, 150), (100, 0)]


def test_a_drawer_full_of_half_and_quarter_trays_is_full_and_not_too_full() -> None:
    full = "fhhqqqqf" + "hhhhhhqqqq"
    assert goes_in(series(full), DRAWER, ReadingOrder.COLUMNS, 0)
    assert not goes_in(series(full + "q"), DRAWER, ReadingOrder.COLUMNS, 0)
    assert stand(full).across == DRAWER.inner_width_nm


def test_play_is_left_beside_each_tray_side_by_side_too() -> None:
    """Two halves that are a millimetre narrower each go into a column of full trays with a millimetre of play."""
    trays = [a_tray("f", 100, 50), a_tray("h1", 49, 50), a_tray("h2", 49, 50)]
    laid = laid_out(trays, DRAWER, Decimal(0), ReadingOrder.COLUMNS, MM)
    assert (laid.across, corners(laid)) == (101 * MM, [(0, 0), (0, 51), (50, 51)])


def test_a_tray_too_high_for_the_lid_fits_nowhere() -> None:
    high = replace(a_tray("h", 50, 50), height_nm=61 * MM)
    assert not goes_in([a_tray("f", 100, 50), high], DRAWER, ReadingOrder.COLUMNS, 0)


@st.composite
def drawers(draw: st.DrawFn) -> tuple[list[Tray], DrawerStyle, ReadingOrder, int]:
    sizes = st.tuples(st.sampled_from((25, 46, 50, 92, 100, 187)), st.sampled_from((25, 50, 109)))
    trays = [a_tray(f"t{at}", *size) for at, size in enumerate(draw(st.lists(sizes, max_size=16)))]
    style = DrawerStyle("any", draw(st.integers(150, 450)) * MM, draw(st.integers(120, 420)) * MM)
    return trays, style, draw(st.sampled_from(ReadingOrder)), draw(st.sampled_from((0, MM // 2, 2 * MM)))


@settings(max_examples=300, deadline=None)
@given(drawer=drawers(), reserve=st.sampled_from((0, 15, 40)))
def test_no_tray_overlaps_another_or_leaves_the_drawer(drawer, reserve: int) -> None:
    trays, style, order, play = drawer
    laid = laid_out(trays, style, Decimal(reserve), order, play)
    assert laid.fits == (len(laid.places) == len(trays)) == goes_in(trays, style, order, play) or not trays
    boxes = [(p.x_nm, p.y_nm, p.x_nm + p.width_nm, p.y_nm + p.depth_nm) for p in laid.places]
    assert [(x, y) for x, y, _, _ in boxes if x < 0 or y < 0] == []
    assert all(right <= style.inner_width_nm and back <= style.inner_depth_nm for _, _, right, back in boxes)
    for at, a in enumerate(boxes):
        for b in boxes[:at]:
            assert a[2] + play <= b[0] or b[2] + play <= a[0] or a[3] + play <= b[1] or b[3] + play <= a[1]
    assert [(p.width_nm, p.depth_nm) for p in laid.places] == [(t.width_nm, t.depth_nm) for t in trays[: len(boxes)]]


@settings(max_examples=300, deadline=None)
@given(drawer=drawers())
def test_trays_are_read_line_by_line_and_in_a_line_course_by_course(drawer) -> None:
    """Of two that follow one another the second stands beside the first, or begins a course, or begins a line."""
    trays, style, order, play = drawer
    turned = order is ReadingOrder.ROWS
    laid = laid_out(trays, style, Decimal(0), order, play)
    spans = [
        (p.x_nm, p.x_nm + p.width_nm, style.inner_depth_nm - p.y_nm - p.depth_nm, style.inner_depth_nm - p.y_nm)
        for p in laid.places
    ]
    lines = [
        (top, bottom, left, right) if turned else (left, right, top, bottom) for left, right, top, bottom in spans
    ]
    for (left, right, top, _), (next_left, _, next_top, _) in pairwise(lines):
        beside = next_left >= right and next_top == top
        below = next_left <= left and next_top > top
        next_line = next_left >= right and next_top == 0
        assert beside or below or next_line
        assert not (below and next_left > left)


@settings(max_examples=300, deadline=None)
@given(drawer=drawers(), data=st.data())
def test_what_fits_still_fits_when_trays_are_taken_out(drawer, data: st.DataObject) -> None:
    trays, style, order, play = drawer
    if goes_in(trays, style, order, play):
        left = [tray for tray in trays if data.draw(st.booleans())]
        assert goes_in(left, style, order, play)


@settings(max_examples=200, deadline=None)
@given(trays=some_trays, inside=st.tuples(st.integers(1, 8), st.integers(1, 10)))
def test_what_the_plan_counts_on_is_what_the_drawing_shows(trays: Trays, inside: tuple[int, int]) -> None:
    """A plan looks at columns no wider than the collection's widest tray; what it puts in always goes in."""
    drawer = Inside(*inside, 0, None)
    reach = furthest(sizes(trays), drawer, drawer.across).tolist()
    for first, end in enumerate(reach):
        assert broken(sizes(trays[first:end]), drawer).across <= drawer.across


@pytest.mark.parametrize("order", ReadingOrder)
def test_an_empty_drawer_takes_up_nothing(order: ReadingOrder) -> None:
    assert laid_out([], DRAWER, Decimal(20), order, MM).across == 0
