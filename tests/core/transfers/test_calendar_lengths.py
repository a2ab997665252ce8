"""Lengths of time. The dates are plain calendar arithmetic, counted by hand on a calendar."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.errors import Invalid
from service.core.transfers.calendar import Duration, MonthEnd, YearlyWindow, add, first_day_outside

day = date.fromisoformat


@pytest.mark.parametrize(
    ("start", "length", "end"),
    [
        ("2024-02-29", "P1Y", "2025-02-28"),
        ("2024-02-29", "P2Y", "2026-02-28"),
        ("2024-02-29", "P4Y", "2028-02-29"),
        ("2026-08-31", "P6M", "2027-02-28"),
        ("2026-01-31", "P3M", "2026-04-30"),
        ("2026-11-30", "P3M", "2027-02-28"),
        ("2026-03-15", "P60D", "2026-05-14"),
        ("2026-12-31", "P60D", "2027-03-01"),
        ("2024-01-01", "P60D", "2024-03-01"),
        ("2026-03-15", "P180D", "2026-09-11"),
        ("2026-09-01", "P30D", "2026-10-01"),
        ("2026-03-15", "P2W", "2026-03-29"),
    ],
)
def test_a_length_runs_to_the_last_day_that_its_month_has(start: str, length: str, end: str) -> None:
    assert add(day(start), Duration.parse(length)) == day(end)


def test_an_institution_may_run_on_to_the_first_of_the_next_month_instead() -> None:
    assert add(day("2026-01-31"), Duration.parse("P3M"), MonthEnd.NEXT_FIRST) == day("2026-05-01")
    assert add(day("2024-02-29"), Duration.parse("P1Y"), MonthEnd.NEXT_FIRST) == day("2025-03-01")
    assert add(day("2026-01-30"), Duration.parse("P3M"), MonthEnd.NEXT_FIRST) == day("2026-04-30")


@pytest.mark.parametrize("written", ["", "P", "2Y", "P-1Y", "PT5H", "P1.5Y", "p2y", "P1D1Y", "P٣M"])
def test_what_is_no_length_is_refused_with_an_example(written: str) -> None:
    with pytest.raises(Invalid, match="P2Y"):
        Duration.parse(written)


def test_a_length_beyond_the_calendar_is_refused() -> None:
    with pytest.raises(Invalid, match="no date"):
        add(day("9999-06-01"), Duration.parse("P1Y"))


@given(st.integers(0, 200), st.integers(0, 9000))
def test_a_length_reads_back_as_it_is_written(months: int, days: int) -> None:
    length = Duration(months, days)
    assert Duration.parse(str(length)) == length


@given(st.dates(date(1900, 1, 1), date(2100, 1, 1)), st.integers(0, 120), st.sampled_from(MonthEnd))
def test_a_later_start_is_never_due_earlier(start: date, months: int, month_end: MonthEnd) -> None:
    length = Duration(months)
    assert add(start, length, month_end) <= add(start + timedelta(days=1), length, month_end)


def test_a_window_over_new_year_covers_both_its_ends() -> None:
    recess = YearlyWindow((12, 20), (1, 6), "recess")
    covered = [text for text in ("2026-12-19", "2026-12-20", "2027-01-06", "2027-01-07") if recess.covers(day(text))]
    assert covered == ["2026-12-20", "2027-01-06"]


def test_posting_resumes_on_the_first_day_outside_every_window() -> None:
    windows = (YearlyWindow((12, 1), (12, 31)), YearlyWindow((1, 1), (1, 6)))
    assert first_day_outside(windows, day("2026-12-10")) == day("2027-01-07")
    assert first_day_outside(windows, day("2026-12-10"), backwards=True) == day("2026-11-30")
    assert first_day_outside((YearlyWindow((1, 1), (12, 31)),), day("2026-12-10")) is None
