"""Boxes of sizes: cut apart, they hold the same sizes as before, and none of them twice."""

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from service.core.builder.box import MOST_PIECES, Box, apart, without

SPAN = range(1, 7)


@st.composite
def boxes(draw):
    ends = [sorted(draw(st.tuples(st.sampled_from(SPAN), st.sampled_from(SPAN)))) for _ in range(3)]
    return Box(tuple(least for least, _ in ends), tuple(most for _, most in ends))


@given(boxes(), boxes())
def test_what_is_left_holds_what_the_one_box_holds_and_the_other_does_not(box, other):
    left = list(without(box, other))
    for size in product(SPAN, repeat=3):
        holders = sum(piece.holds(size) for piece in left)
        assert holders == (box.holds(size) and not other.holds(size))


@given(st.lists(boxes(), max_size=5))
def test_cut_apart_every_size_is_held_once_by_the_first_box_that_holds_it(several):
    pieces = list(apart(several))
    for size in product(SPAN, repeat=3):
        first = next((place for place, box in enumerate(several) if box.holds(size)), None)
        assert [place for place, piece in pieces if piece.holds(size)] == ([] if first is None else [first])


def test_a_box_without_any_size_leaves_no_piece():
    assert list(apart([Box((5, 1, 1), (4, 9, 9))])) == []


def test_boxes_that_overlap_in_more_ways_than_anybody_builds_are_left_out_and_never_said_yes_to():
    stairs = [Box((1, 1, 1), (place, 1000 - place, 9)) for place in range(1, 900)]
    pieces = list(apart(stairs))
    assert len(pieces) <= MOST_PIECES
    assert all(stairs[place].holds(piece.most) for place, piece in pieces)
