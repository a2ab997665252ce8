"""Layouts by straight cuts, and pinwheels of five such layouts."""

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.housing.columns import ColumnPricing
from service.core.housing.pinwheels import CutPricing
from service.core.housing.rooms import Piece, Put, Room

Sizes = list[tuple[int, int]]
sides = st.integers(2, 9)
rooms = st.tuples(st.integers(9, 24), st.integers(9, 24))
sizes = st.lists(st.tuples(sides, sides), min_size=1, max_size=5, unique=True)


def room_of(width: int, depth: int, trays: Sizes, *, may_turn: bool = False) -> Room:
    fixed = [Piece(kind, w, d, turned=False) for kind, (w, d) in enumerate(trays)]
    turned = [Piece(kind, d, w, turned=True) for kind, (w, d) in enumerate(trays) if may_turn]
    return Room(0, width, depth, 1, tuple(fixed + turned))


def by_area(trays: Sizes) -> list[float]:
    return [float(width * depth) for width, depth in trays]


def cells(puts: tuple[Put, ...]) -> Counter[tuple[int, int]]:
    return Counter(
        (x, y)
        for put in puts
        for x in range(put.x, put.x + put.piece.width)
        for y in range(put.y, put.y + put.piece.depth)
    )


def test_a_pinwheel_fills_what_no_straight_cut_can_part() -> None:
    # Told by hand: four of 5 x 2 around one of 3 x 3 fill 7 x 7; every straight cut goes through one of the five.
    trays = [(5, 2), (3, 3)]
    straight, *pinwheels = CutPricing([room_of(7, 7, trays, may_turn=True)]).best(by_area(trays))
    assert straight[0] < 49
    worth, filled = pinwheels[-1]
    assert worth == 49
    assert filled.counts == {0: 4, 1: 1}
    assert set(cells(filled.puts).values()) == {1}


def test_straight_cuts_find_what_columns_miss() -> None:
    # Told by hand: one of 5 x 5; to its right two of 3 x 2, and nine of 2 x 3 behind these; behind it two of 2 x 3
    # beside three of 3 x 2. 25 + 2 x 6 + 9 x 6 + 2 x 6 + 3 x 6 = 121 = 11 x 11.
    trays = [(5, 5), (3, 2), (2, 3)]
    rooms = [room_of(11, 11, trays)]
    worth, filled = CutPricing(rooms).best(by_area(trays))[0]
    assert worth == 121
    assert set(cells(filled.puts).values()) == {1}
    assert max(worth for worth, _ in ColumnPricing(rooms).best(by_area(trays))) < 121


def test_trays_that_reach_from_front_to_back_leave_no_room_for_a_pinwheel() -> None:
    (straight,) = CutPricing([room_of(9, 5, [(2, 5)])]).best([1.0])
    assert straight[0] == 4


@settings(max_examples=60, deadline=None)
@given(rooms, sizes, st.booleans(), st.data())
def test_every_layout_lies_in_the_room_and_is_worth_what_it_says(
    whole: tuple[int, int], trays: Sizes, may_turn: bool, data: st.DataObject
) -> None:
    worths = data.draw(st.lists(st.floats(0.1, 9), min_size=len(trays), max_size=len(trays)))
    room = room_of(*whole, trays, may_turn=may_turn)
    found = CutPricing([room]).best(worths)
    for worth, filled in found:
        taken = cells(filled.puts)
        assert all(0 <= x < whole[0] and 0 <= y < whole[1] for x, y in taken)
        assert max(taken.values(), default=1) == 1
        assert abs(sum(worths[kind] * count for kind, count in filled.counts.items()) - worth) < 1e-6
    assert [worth for worth, _ in found] == sorted(worth for worth, _ in found)


@settings(max_examples=60, deadline=None)
@given(rooms, sizes, st.booleans(), st.data())
def test_straight_cuts_are_never_worth_less_than_columns(
    whole: tuple[int, int], trays: Sizes, may_turn: bool, data: st.DataObject
) -> None:
    worths = data.draw(st.lists(st.floats(0.1, 9), min_size=len(trays), max_size=len(trays)))
    rooms = [room_of(*whole, trays, may_turn=may_turn)]
    in_columns = max(worth for worth, _ in ColumnPricing(rooms).best(worths))
    assert CutPricing(rooms).best(worths)[0][0] >= in_columns - 1e-6
