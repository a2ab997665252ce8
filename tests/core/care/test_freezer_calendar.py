"""The calendar of freezer loads: as few as possible with every promise kept, against trying everything."""

from collections import Counter
from datetime import date, timedelta
from itertools import combinations_with_replacement

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from service.core.care.freezer_calendar import CalendarQuestion, FreezerCalendar, Waiting, calendar, faults_in

FIRST = date(2026, 12, 1)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def ask(*lots: Waiting, days: int = 30, capacity: int = 20, days_in: int = 5, **more: object) -> CalendarQuestion:
    return CalendarQuestion(lots, FIRST, days, capacity, days_in, **more)  # type: ignore[arg-type]


def keeps_its_word(question: CalendarQuestion, answer: FreezerCalendar) -> None:
    """Capacity, presence, occupation and closed days, looked at without the solver."""
    for load in answer.loads:
        assert 0 < load.drawers <= question.capacity_drawers
        assert load.in_on not in question.closed_on
        assert load.out_on - load.in_on == timedelta(days=question.days_in)
        assert load.over_on - load.out_on == timedelta(days=question.days_after)
        for share in load.shares:
            assert next(lot for lot in question.waiting if lot.code == share.code).ready_on <= load.in_on
        at_once = [other for other in answer.loads if other.in_on <= load.in_on < other.out_on]
        assert len(at_once) <= question.freezers
    placed = Counter()  # type: ignore[var-annotated]
    for share in [share for load in answer.loads for share in load.shares] + [*answer.left_over]:
        placed[share.code] += share.drawers
    assert placed == {lot.code: lot.drawers for lot in question.waiting}
    assert answer.at_least <= len(answer.loads)


def test_two_lots_that_fit_share_a_load() -> None:
    answer = calendar(ask(Waiting("stellmark", 12, day(0), day(14)), Waiting("kesselbrook", 8, day(3), day(14))))
    assert len(answer.loads) == 1
    assert answer.loads[0].in_on == day(3)
    assert answer.is_proved


def test_a_promise_that_comes_too_soon_to_wait_costs_a_load() -> None:
    answer = calendar(ask(Waiting("stellmark", 12, day(0), day(6)), Waiting("kesselbrook", 8, day(3), day(14))))
    assert [load.in_on for load in answer.loads] == [day(0), day(5)]
    assert answer.broken == ()
    assert answer.is_proved


def test_a_lot_larger_than_the_freezer_is_parted() -> None:
    answer = calendar(ask(Waiting("donation", 45, day(0))))
    assert [load.drawers for load in answer.loads] == [20, 20, 5]


def test_a_promise_that_nobody_can_keep_is_named_with_the_day_it_becomes() -> None:
    answer = calendar(ask(Waiting("donation", 30, day(0), day(6))))
    (broken,) = answer.broken
    assert (broken.code, broken.promised_on, broken.over_on) == ("donation", day(6), day(11))


def test_nothing_goes_in_on_a_closed_day() -> None:
    answer = calendar(ask(Waiting("stellmark", 5, day(0)), closed_on=(day(0), day(1))))
    assert answer.loads[0].in_on == day(2)


def test_what_does_not_go_in_within_the_days_is_left_over() -> None:
    answer = calendar(ask(Waiting("donation", 50, day(0)), days=6))
    assert [(share.code, share.drawers) for share in answer.left_over] == [("donation", 10)]


def test_two_freezers_take_two_loads_at_once() -> None:
    answer = calendar(ask(Waiting("donation", 40, day(0), day(6)), freezers=2))
    assert [load.in_on for load in answer.loads] == [day(0), day(0)]
    assert answer.broken == ()


def test_a_question_that_contradicts_itself_is_named() -> None:
    faults = faults_in(ask(Waiting("a", 1, day(3), day(2)), Waiting("a", 1, day(0))))
    assert [fault.pointer for fault in faults] == ["/lots/0/promised_on", "/lots/1/code"]


def can_be_done(question: CalendarQuestion, starts: tuple[int, ...], kept: frozenset[str]) -> bool:
    """Whether loads on these days take everything with these promises kept: the largest flow of drawers into them."""
    if any(
        sum(start - question.days_in < other <= start for other in starts) > question.freezers for start in starts
    ):
        return False
    lots, loads = len(question.waiting), len(starts)
    flow = np.zeros((lots + loads + 2, lots + loads + 2), dtype=np.int32)
    for number, lot in enumerate(question.waiting):
        flow[0, 1 + number] = lot.drawers
        for at, start in enumerate(starts):
            over = day(start + question.days_in + question.days_after)
            in_time = lot.code not in kept or lot.promised_on is None or over <= lot.promised_on
            flow[1 + number, 1 + lots + at] = lot.drawers * (day(start) >= lot.ready_on and in_time)
    flow[1 + lots : 1 + lots + loads, -1] = question.capacity_drawers
    largest = maximum_flow(csr_array(flow), 0, lots + loads + 1).flow_value
    return bool(largest == sum(lot.drawers for lot in question.waiting))


def fewest_loads(question: CalendarQuestion) -> tuple[int, int]:
    """The fewest broken promises, and with those the fewest loads, by trying everything."""
    codes = [lot.code for lot in question.waiting if lot.promised_on]
    for broken in range(len(codes) + 1):
        keeps = [kept for kept in _subsets(codes) if len(kept) == len(codes) - broken]
        for loads in range(1, question.days * question.freezers + 1):
            for starts in combinations_with_replacement(range(question.days), loads):
                if any(can_be_done(question, starts, kept) for kept in keeps):
                    return broken, loads
    raise AssertionError("no calendar takes everything")


def _subsets(codes: list[str]) -> list[frozenset[str]]:
    return [
        frozenset(code for place, code in enumerate(codes) if number >> place & 1)
        for number in range(2 ** len(codes))
    ]


small_lots = st.lists(
    st.tuples(st.integers(1, 2), st.integers(0, 2), st.one_of(st.none(), st.integers(2, 8))), min_size=1, max_size=3
)


@settings(max_examples=20, deadline=None)
@given(small_lots, st.integers(2, 3), st.integers(1, 2), st.integers(1, 2))
def test_no_calendar_found_by_trying_everything_is_better(
    lots: list[tuple[int, int, int | None]], capacity: int, days_in: int, freezers: int
) -> None:
    waiting = [
        Waiting(f"lot{number}", drawers, day(ready), None if due is None else max(day(due), day(ready)))
        for number, (drawers, ready, due) in enumerate(lots)
    ]
    question = ask(*waiting, days=8, capacity=capacity, days_in=days_in, freezers=freezers)
    answer = calendar(question)
    keeps_its_word(question, answer)
    assert answer.left_over == ()
    assert (len(answer.broken), len(answer.loads)) == fewest_loads(question)
    assert answer.is_proved


@pytest.mark.parametrize("seed", range(3))
def test_a_busy_quarter_is_answered_and_proved(seed: int) -> None:
    lots = [
        Waiting(
            f"lot{number}",
            1 + (number * 7 + seed * 3) % 30,
            day((number * 5 + seed) % 40),
            day((number * 5 + seed) % 40 + 20 + number % 11) if number % 3 else None,
        )
        for number in range(30)
    ]
    question = ask(*lots, days=100, capacity=60, closed_on=tuple(day(number) for number in range(4, 100, 7)))
    answer = calendar(question)
    keeps_its_word(question, answer)
    assert answer.is_proved
