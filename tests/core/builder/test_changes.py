"""The smallest change, against trying every change that can be cut."""

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.builder.box import Box, apart
from service.core.builder.changes import MOST_CHANGES, is_settled, smallest_changes
from service.core.builder.cut import Cut, change_in_words, exact_mm, size_in_words
from service.core.builder.field import Field, numbered
from service.core.measure.lengths import parse_length
from service.core.standards import Axis

REACH = 3
CUT = 10


@st.composite
def owners(draw):
    """Up to twelve owners with up to three boxes each around the size (100, 100, 100)."""
    sides = st.integers(40, 160)

    def one_box():
        ends = [sorted(draw(st.tuples(sides, sides))) for _ in range(3)]
        return Box(tuple(least for least, _ in ends), tuple(most for _, most in ends))

    return [[one_box() for _ in range(draw(st.integers(1, 3)))] for _ in range(draw(st.integers(0, 12)))]


def field_of(owned):
    rows = [(owner, piece) for owner, boxes in enumerate(owned) for _, piece in apart(boxes)]
    sides = np.array([(*piece.least, *piece.most) for _, piece in rows], dtype=np.int64).reshape(-1, 6).T
    return Field(sides, np.array([owner for owner, _ in rows], dtype=np.int64))


def takers(owned, size):
    return {owner for owner, boxes in enumerate(owned) if any(box.holds(size) for box in boxes)}


def brute_force(owned, size):
    """For each total of cuts, the most takers that any change of that total has."""
    best = {}
    for cuts in product(range(-REACH, REACH + 1), repeat=3):
        then = tuple(nm + cut * CUT for nm, cut in zip(size, cuts, strict=True))
        total = sum(map(abs, cuts))
        best[total] = max(best.get(total, 0), len(takers(owned, then)))
    return best


def test_no_change_that_can_be_cut_is_smaller_or_worth_more():
    @settings(max_examples=150, deadline=None)
    @given(owners())
    def law(owned):
        size = (100, 100, 100)
        told, best = smallest_changes(field_of(owned), size, CUT, REACH), brute_force(owned, size)
        now = best[0]
        gaining = [total for total in sorted(best) if best[total] > now]
        assert bool(told) == bool(gaining)
        if told:
            assert sum(map(abs, told[0].cuts)) == gaining[0]
        for change in told:
            total = sum(map(abs, change.cuts))
            assert change.taken_by == best[total]
            assert best[total] > max(best[smaller] for smaller in range(total))

    law()


def test_every_suggested_change_applied_is_taken_by_as_many_as_promised():
    @settings(max_examples=150, deadline=None)
    @given(owners())
    def law(owned):
        size = (100, 100, 100)
        before = takers(owned, size)
        for change in smallest_changes(field_of(owned), size, CUT, REACH):
            after = takers(owned, change.size)
            assert change.size == tuple(nm + cut * CUT for nm, cut in zip(size, change.cuts, strict=True))
            assert (change.taken_by, change.gained, change.lost) == (
                len(after),
                len(after - before),
                len(before - after),
            )
            assert change.taken_by > len(before)

    law()


def test_the_changes_told_are_worth_their_cuts():
    @settings(max_examples=100, deadline=None)
    @given(owners())
    def law(owned):
        size = (100, 100, 100)
        told = smallest_changes(field_of(owned), size, CUT, REACH)
        totals = [sum(map(abs, change.cuts)) for change in told]
        assert totals == sorted(set(totals))
        assert len(told) <= MOST_CHANGES
        gains = [change.taken_by - len(takers(owned, size)) for change in told]
        # From the second on, each further cut gains less than the ones before it.
        worth = [(g2 - g1) / (t2 - t1) for (t1, g1), (t2, g2) in pairwise(zip(totals[1:], gains[1:], strict=True))]
        assert all(more > less for more, less in pairwise(worth))

    law()


def test_the_limit_itself_is_taken_and_a_nanometre_more_is_not():
    box = Box((1, 1, 1), (100 - 2 * CUT, 200, 200))
    (change,) = smallest_changes(field_of([[box]]), (100, 100, 100), CUT, REACH)
    assert change.cuts == (-2, 0, 0)
    tighter = Box((1, 1, 1), (100 - 2 * CUT - 1, 200, 200))
    (change,) = smallest_changes(field_of([[tighter]]), (100, 100, 100), CUT, REACH)
    assert change.cuts == (-3, 0, 0)


def test_a_change_that_loses_some_and_gains_more_says_both():
    loser, winners = Box((95, 1, 1), (105, 200, 200)), Box((1, 1, 1), (90, 200, 200))
    (change,) = smallest_changes(field_of([[loser], [winners], [winners]]), (100, 100, 100), CUT, REACH)
    assert (change.taken_by, change.gained, change.lost) == (2, 2, 1)


@settings(max_examples=60, deadline=None)
@given(owners(), st.integers(1, 5))
def test_whoever_takes_all_that_is_looked_at_changes_no_change_and_is_counted_in_all(owned, everywhere):
    size, field = (100, 100, 100), field_of(owned)
    more = Field(field.boxes, field.owners, everywhere)
    told, also = (smallest_changes(one, size, CUT, REACH) for one in (field, more))
    assert more.taken_by(size) == field.taken_by(size) + everywhere
    assert also == tuple(replace(change, taken_by=change.taken_by + everywhere) for change in told)


@pytest.mark.parametrize("cut", list(Cut))
def test_a_search_goes_further_step_by_step(cut):
    assert list(cut.reaches) == sorted(set(cut.reaches))
    assert cut.reaches[0] * cut.nm <= 12_700_000


@settings(max_examples=100, deadline=None)
@given(owners())
def test_what_is_settled_nearby_is_still_the_smallest_when_looked_for_further(owned):
    size, field = (100, 100, 100), field_of(owned)
    nearby, further = (smallest_changes(field, size, CUT, reach) for reach in (2, 6))
    if is_settled(nearby, 2):
        totals = [sum(map(abs, found[0].cuts)) for found in (nearby, further)]
        assert totals[0] == totals[1]
        assert nearby[0].taken_by == further[0].taken_by


def test_without_any_system_there_is_nothing_to_change():
    assert smallest_changes(field_of([]), (100, 100, 100), CUT, REACH) == ()


@pytest.mark.parametrize(
    ("axis", "change", "cut", "words"),
    [
        (Axis.WIDTH, -4_762_500, Cut.SIXTEENTH_INCH, "3/16 in narrower (4.7625 mm)"),
        (Axis.DEPTH, 25_400_000, Cut.EIGHTH_INCH, "1 in deeper (25.4 mm)"),
        (Axis.HEIGHT, -793_750, Cut.THIRTY_SECOND_INCH, "1/32 in lower (0.79375 mm)"),
        (Axis.WIDTH, 5_500_000, Cut.HALF_MILLIMETRE, "5.5 mm wider"),
    ],
)
def test_a_change_is_said_in_the_askers_own_unit_and_never_rounded(axis, change, cut, words):
    assert change_in_words(axis, change, cut) == words


@given(st.integers(1, 10**9), st.sampled_from(list(Cut)))
def test_a_size_in_words_is_the_very_size(nm, cut):
    words = size_in_words(nm, cut)
    assert parse_length(exact_mm(nm)) == nm
    assert parse_length(words.split(" (")[0]) == nm


IDS = np.dtype([("high", ">u8"), ("low", ">u8")])


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), max_size=12))
def test_ids_are_numbered_the_same_for_the_same_even_where_a_half_of_two_is_alike(pairs):
    numbers, firsts = numbered(np.array(pairs, dtype=IDS))
    assert len(set(zip(pairs, numbers.tolist(), strict=True))) == len(set(pairs)) == len(firsts)
    assert {pairs[place] for place in firsts} == set(pairs)
    assert [numbers[place] for place in firsts] == list(range(len(firsts)))


@given(owners(), st.integers(0, 11))
def test_the_closest_fit_comes_first_and_no_more_than_asked_for(owned, most):
    size = (100, 100, 100)
    found = field_of(owned).closest(size, most).tolist()
    assert set(found) <= takers(owned, size)
    assert len(found) == min(most, len(takers(owned, size)))
    plays = [
        sum(piece.most[:2]) - sum(size[:2])
        for owner in found
        for _, piece in apart(owned[owner])
        if piece.holds(size)
    ]
    assert plays == sorted(plays)
