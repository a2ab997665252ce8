"""Lengths of time in the calendar: ISO 8601 durations of years, months, weeks and days added to a date."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from service.core.errors import Invalid

_WRITTEN = re.compile(r"P(?=\d)(?:(\d{1,3})Y)?(?:(\d{1,3})M)?(?:(\d{1,3})W)?(?:(\d{1,4})D)?", re.ASCII)
MONTHS_PER_YEAR = 12
DAYS_PER_WEEK = 7


class MonthEnd(StrEnum):
    """What becomes of 31 January plus one month. No policy that we read says, so each institution chooses."""

    LAST_DAY = "last_day"
    """The last day of the month aimed at: 28 or 29 February."""
    NEXT_FIRST = "next_first"
    """The first day of the month after it: 1 March."""


@dataclass(frozen=True, slots=True)
class Duration:
    """A length such as two years, three months or sixty days."""

    months: int = 0
    days: int = 0

    @classmethod
    def parse(cls, written: str) -> "Duration":
        """Read ``P2Y``, ``P3M``, ``P60D``, ``P1Y6M`` or ``P2W`` (ISO 8601, without times of day).

        :raises Invalid: when it is none of these.
        """
        match = _WRITTEN.fullmatch(written)
        if match is None:
            raise Invalid("length", f"“{written}” is not a length of time; write one such as P2Y, P3M or P60D.")
        years, months, weeks, days = (int(part or 0) for part in match.groups())
        return cls(years * MONTHS_PER_YEAR + months, weeks * DAYS_PER_WEEK + days)

    def __str__(self) -> str:
        years, months = divmod(self.months, MONTHS_PER_YEAR)
        parts = f"{years}Y" * bool(years) + f"{months}M" * bool(months) + f"{self.days}D" * bool(self.days)
        return f"P{parts or '0D'}"


def add(start: date, length: Duration, month_end: MonthEnd = MonthEnd.LAST_DAY) -> date:
    """The date that lies ``length`` after ``start``: calendar months first, then days.

    :raises Invalid: when it lies beyond the year 9999.
    """
    try:
        return _add_months(start, length.months, month_end) + timedelta(days=length.days)
    except (ValueError, OverflowError) as error:
        raise Invalid("length", f"{length} after {start.isoformat()} is no date that a calendar has.") from error


def _add_months(start: date, months: int, month_end: MonthEnd) -> date:
    years, month_before = divmod(start.month - 1 + months, MONTHS_PER_YEAR)
    year, month = start.year + years, month_before + 1
    if not date.min.year <= year <= date.max.year:
        raise OverflowError(year)
    last = monthrange(year, month)[1]
    if start.day <= last:
        return date(year, month, start.day)
    aimed = date(year, month, last)
    return aimed if month_end is MonthEnd.LAST_DAY else aimed + timedelta(days=1)


@dataclass(frozen=True, slots=True)
class YearlyWindow:
    """Weeks of every year, both ends included; may run over New Year. Days are (month, day)."""

    first: tuple[int, int]
    last: tuple[int, int]
    why: str = ""

    def covers(self, day: date) -> bool:
        here = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= here <= self.last
        return here >= self.first or here <= self.last


def first_day_outside(windows: tuple[YearlyWindow, ...], day: date, *, backwards: bool = False) -> date | None:
    """The nearest day on or after ``day`` (or on or before it) in none of the windows; None if they fill the year."""
    step = timedelta(days=-1 if backwards else 1)
    for count in range(367):
        candidate = day + count * step
        if not any(window.covers(candidate) for window in windows):
            return candidate
    return None
