"""How many equal trays lie in a drawer: worked examples, published counts, and laws that hold for any sizes."""

from math import gcd

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from layout_checker import faults, most_by_trying_everything

from service.core.housing.tiling import Place, tile

MM = 1_000_000
INCH = 25_400_000


def in_units(width: int, depth: int, long: int, short: int) -> tuple[int, int, int, int]:
    """A problem of the literature, its unit taken as a millimetre."""
    return width * MM, depth * MM, long * MM, short * MM


# Abbott 1954, "American Seashells", p. 65: trays of 1 1/2 x 2, 3 x 2 and 3 x 4 inches; drawer 20 x 30 inches.
ABBOTT = [
    (2.0, 1.5, 200),
    (1.5, 2.0, 195),
    (2.0, 3.0, 100),
    (3.0, 2.0, 90),
    (4.0, 3.0, 50),
]


@pytest.mark.parametrize(("along_width", "along_depth", "count"), ABBOTT)
def test_abbotts_trays_face_the_front_in_his_drawer(along_width: float, along_depth: float, count: int) -> None:
    sizes = (20 * INCH, 30 * INCH, int(along_width * INCH), int(along_depth * INCH))
    tiling = tile(*sizes, play_nm=0, may_turn=False)
    assert (tiling.count, tiling.at_most) == (count, count)
    assert faults(tiling, *sizes, 0) == []


@pytest.mark.parametrize(("along_width", "along_depth", "count"), [(2.0, 1.5, 200), (2.0, 3.0, 100), (4.0, 3.0, 50)])
def test_abbotts_series_fills_his_drawer_whichever_way_a_tray_is_held_when_trays_may_turn(
    along_width: float, along_depth: float, count: int
) -> None:
    for sides in ((along_width, along_depth), (along_depth, along_width)):
        tiling = tile(20 * INCH, 30 * INCH, *(int(side * INCH) for side in sides), play_nm=0, may_turn=True)
        assert (tiling.count, tiling.at_most, tiling.left_over_mm2) == (count, count, 0)


def test_half_a_millimetre_of_play_costs_twenty_nine_small_trays() -> None:
    # Derived by hand from Abbott's sizes: floor(508 / 51.3) * floor(762 / 38.6) = 9 * 19.
    tiling = tile(508 * MM, 762 * MM, 50_800_000, 38_100_000, play_nm=500_000, may_turn=False)
    assert tiling.count == 171
    # 508 * 762 - 171 * 50.8 * 38.1 = 56,129.0 mm2, play included
    assert tiling.left_over_mm2 == 56_128


def test_the_other_way_round_leaves_half_an_inch_along_the_side() -> None:
    tiling = tile(20 * INCH, 30 * INCH, int(1.5 * INCH), 2 * INCH, play_nm=0, may_turn=False)
    last = max(place.x_nm + place.width_nm for place in tiling.places)
    assert 20 * INCH - last == 12_700_000


# From memory: counts printed in the pallet-loading literature (Dowsland 1984; Nelissen 1993; Morabito & Morales 1998;
# Birgin, Lobato & Morabito 2010). Not the only check: no count can pass drawer area / tray area, and the first group
# reaches that quotient; every layout is checked place by place; and the theorem on bricks and the drawers where
# everything is tried, below, test both the layouts and the bounds.
AS_MANY_AS_AREA_ALLOWS = [
    (22, 16, 5, 3, 23),
    (43, 26, 7, 3, 53),
    (49, 28, 8, 3, 57),
    (57, 34, 7, 4, 69),
    (63, 44, 8, 5, 69),
    (61, 35, 10, 3, 71),
    (67, 37, 11, 3, 75),
    (67, 40, 11, 3, 81),
    (74, 49, 11, 4, 82),
    (106, 59, 13, 5, 96),
    (141, 71, 13, 8, 96),
    (87, 47, 7, 6, 97),
]
FEWER_THAN_AREA_ALLOWS = [
    (42, 39, 9, 4, 45),
    (40, 25, 7, 3, 47),
    (52, 33, 9, 4, 47),
    (56, 52, 12, 5, 48),
    (124, 81, 21, 10, 47),
    (153, 100, 24, 7, 90),
    (300, 200, 21, 19, 149),
]


@pytest.mark.parametrize(("width", "depth", "long", "short", "count"), AS_MANY_AS_AREA_ALLOWS)
def test_layouts_of_the_literature_that_leave_less_than_one_tray_over_are_found(
    width: int, depth: int, long: int, short: int, count: int
) -> None:
    assert width * depth // (long * short) == count
    tiling = tile(*in_units(width, depth, long, short), play_nm=0, may_turn=True)
    assert (tiling.count, tiling.at_most) == (count, count)
    assert faults(tiling, *in_units(width, depth, long, short), 0) == []


@pytest.mark.parametrize(("width", "depth", "long", "short", "count"), FEWER_THAN_AREA_ALLOWS)
def test_counts_of_the_literature_are_met_and_proved(
    width: int, depth: int, long: int, short: int, count: int
) -> None:
    tiling = tile(*in_units(width, depth, long, short), play_nm=0, may_turn=True)
    assert (tiling.count, tiling.at_most) == (count, count)
    assert faults(tiling, *in_units(width, depth, long, short), 0) == []


def test_a_search_that_is_not_decided_says_so() -> None:
    # Birgin, Lobato & Morabito 2010 pack 97 (from memory), as many as area allows; this search stops one short of it.
    tiling = tile(*in_units(74, 46, 7, 5), play_nm=0, may_turn=True)
    assert tiling.at_most == 97
    assert tiling.is_proved == (tiling.count == 97)
    assert tiling.count >= 96


def is_a_sum(length: int, a: int, b: int) -> bool:
    return any((length - times * a) % b == 0 for times in range(length // a + 1))


@given(st.integers(1, 45), st.integers(1, 45), st.integers(1, 8), st.integers(1, 8))
@example(10, 6, 5, 6)  # both sides divide a side of the drawer; exactly two bricks
@example(35, 7, 5, 7)
@settings(max_examples=150, deadline=None, derandomize=True)
def test_nothing_is_left_over_exactly_when_the_theorem_on_bricks_says_so(
    width: int, depth: int, a: int, b: int
) -> None:
    # N. G. de Bruijn 1969, "Filling boxes with bricks", American Mathematical Monthly 76; D. A. Klarner 1969,
    # "Packing a rectangle with congruent N-ominoes", Journal of Combinatorial Theory 7.
    assume(gcd(a, b) == 1)
    sides = (width, depth)
    fills = (
        any(side % a == 0 for side in sides)
        and any(side % b == 0 for side in sides)
        and all(is_a_sum(side, a, b) for side in sides)
    )
    tiling = tile(*in_units(width, depth, a, b), play_nm=0, may_turn=True)
    assert (tiling.left_over_mm2 == 0) == fills
    assert (tiling.at_most * a * b == width * depth) == fills


@given(st.integers(1, 9), st.integers(1, 8), st.integers(1, 5), st.integers(1, 4))
@settings(max_examples=120, deadline=None, derandomize=True)
def test_small_drawers_hold_what_trying_everything_finds(width: int, depth: int, long: int, short: int) -> None:
    assume(long * short > 3)
    tiling = tile(*in_units(width, depth, long, short), play_nm=0, may_turn=True)
    most = most_by_trying_everything(width, depth, long, short)
    assert (tiling.count, tiling.at_most) == (most, most)


drawer_side = st.integers(3_000, 8_000).map(lambda tenths: tenths * MM // 10)
tray_side = st.integers(450, 2_000).map(lambda tenths: tenths * MM // 10)
play = st.sampled_from([0, 300_000, 500_000, 1_000_000])
realistic = settings(max_examples=60, deadline=None, derandomize=True)


@given(drawer_side, drawer_side, tray_side, tray_side, play, st.booleans())
@realistic
def test_trays_never_overlap_and_never_leave_the_drawer(
    width: int, depth: int, tray_width: int, tray_depth: int, play_nm: int, may_turn: bool
) -> None:
    tiling = tile(width, depth, tray_width, tray_depth, play_nm, may_turn)
    assert faults(tiling, width, depth, tray_width, tray_depth, play_nm) == []
    assert tiling.count <= tiling.at_most
    assert may_turn or not any(place.turned for place in tiling.places)


@given(drawer_side, drawer_side, tray_side, tray_side, play)
@realistic
def test_turning_never_holds_fewer_than_the_better_grid(
    width: int, depth: int, tray_width: int, tray_depth: int, play_nm: int
) -> None:
    as_they_are = tile(width, depth, tray_width, tray_depth, play_nm, may_turn=False)
    all_turned = tile(width, depth, tray_depth, tray_width, play_nm, may_turn=False)
    mixed = tile(width, depth, tray_width, tray_depth, play_nm, may_turn=True)
    assert mixed.count >= max(as_they_are.count, all_turned.count)
    if mixed.count == as_they_are.count:
        assert mixed.places == as_they_are.places


@given(drawer_side, drawer_side, tray_side, tray_side, st.integers(0, 60), st.integers(0, 60))
@realistic
def test_a_larger_drawer_never_holds_fewer(
    width: int, depth: int, tray_width: int, tray_depth: int, wider_mm: int, deeper_mm: int
) -> None:
    smaller = tile(width, depth, tray_width, tray_depth, 0, may_turn=True)
    larger = tile(width + wider_mm * MM, depth + deeper_mm * MM, tray_width, tray_depth, 0, may_turn=True)
    assert larger.count >= smaller.count


@given(drawer_side, drawer_side, tray_side, tray_side, play)
@realistic
def test_looking_at_the_drawer_from_its_side_changes_no_count(
    width: int, depth: int, tray_width: int, tray_depth: int, play_nm: int
) -> None:
    from_the_front = tile(width, depth, tray_width, tray_depth, play_nm, may_turn=True)
    from_the_side = tile(depth, width, tray_depth, tray_width, play_nm, may_turn=True)
    held_turned = tile(width, depth, tray_depth, tray_width, play_nm, may_turn=True)
    assert from_the_front.count == from_the_side.count == held_turned.count
    assert from_the_front.at_most == from_the_side.at_most == held_turned.at_most


@given(drawer_side, drawer_side, tray_side, tray_side)
@realistic
def test_play_counts_as_a_larger_tray_on_both_axes(width: int, depth: int, tray_width: int, tray_depth: int) -> None:
    with_play = tile(width, depth, tray_width, tray_depth, MM, may_turn=True)
    larger_trays = tile(width, depth, tray_width + MM, tray_depth + MM, 0, may_turn=True)
    corners = [(place.x_nm, place.y_nm) for place in with_play.places]
    assert corners == [(place.x_nm, place.y_nm) for place in larger_trays.places]


def test_places_run_from_the_front_left_row_by_row() -> None:
    tiling = tile(100 * MM, 50 * MM, 45 * MM, 20 * MM, play_nm=MM, may_turn=False)
    assert tiling.places == (
        Place(0, 0, 45 * MM, 20 * MM),
        Place(46 * MM, 0, 45 * MM, 20 * MM),
        Place(0, 21 * MM, 45 * MM, 20 * MM),
        Place(46 * MM, 21 * MM, 45 * MM, 20 * MM),
    )


def test_a_strip_beside_the_rows_is_used_by_turned_trays() -> None:
    # By hand: 2 columns of 40 in 110 leave 30, where 30 x 40 turned stands twice in 90 of depth; 3 rows of 30 in 90.
    tiling = tile(110 * MM, 90 * MM, 40 * MM, 30 * MM, play_nm=0, may_turn=True)
    assert (tiling.count, tiling.at_most) == (8, 8)
    assert sum(place.turned for place in tiling.places) == 2


def test_a_tray_larger_than_the_drawer_is_none_and_no_error() -> None:
    tiling = tile(100 * MM, 50 * MM, 101 * MM, 60 * MM, play_nm=0, may_turn=True)
    assert (tiling.count, tiling.at_most, tiling.places, tiling.left_over_mm2) == (0, 0, (), 5_000)


@pytest.mark.parametrize(
    ("sizes", "named"),
    [
        ((0, 1, 1, 1, 0), "drawer's inner width"),
        ((1, -1, 1, 1, 0), "drawer's inner depth"),
        ((1, 1, 0, 1, 0), "tray's width"),
        ((1, 1, 1, 0, 0), "tray's depth"),
        ((1, 1, 1, 1, -1), "play"),
        ((500 * MM, 500 * MM, 50, 50, 0), "check the unit"),
    ],
)
def test_sizes_that_cannot_be_are_named(sizes: tuple[int, int, int, int, int], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        tile(*sizes, may_turn=True)
