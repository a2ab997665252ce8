"""A logger's readings as a spreadsheet: one row a moment, at any interval, in any of the usual spreadsheet dialects.

Loggers write the time of their own clock, often without saying which. Times without an offset are taken at the one
that the uploader states.
"""

import csv
import io
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, timezone

from service.core.care.temperature_log import Reading
from service.formats.cells import Unreadable, meant, read_word
from service.formats.sheet_rows import BadCell, BadSheet
from service.formats.sheet_text import decoded, lines_of

HEADINGS = ("time", "core_c", "air_c", "oxygen_percent")
MOST_READINGS = 100_000
#: As many faults as anybody mends at one sitting.
_MOST_FAULTS = 100
_COLDEST_C, _HOTTEST_C = -200.0, 200.0
_OFFSET = re.compile(r"([+-])(\d\d):(\d\d)", re.ASCII)


def read_readings(data: bytes, utc_offset: str = "+00:00") -> tuple[Reading, ...]:
    """The readings of a sheet with the heading ``time`` and some of ``core_c``, ``air_c`` and ``oxygen_percent``.

    :raises BadSheet: with every bad cell, or when there is no row to speak of.
    """
    first, lines = lines_of(decoded(data))
    columns = _columns(lines[0], first)
    if len(lines) - 1 > MOST_READINGS:
        raise BadSheet(BadCell(first, None, f"At most {MOST_READINGS:,} readings at a time; part the log."))
    readings: list[Reading] = []
    faults: list[BadCell] = []
    seen: set[datetime] = set()
    for number, row in enumerate(lines[1:], start=first + 1):
        cells = {
            heading: meant(cell) for heading, cell in zip(columns, row, strict=False) if heading and cell.strip()
        }
        if not cells or len(faults) >= _MOST_FAULTS:
            continue
        try:
            reading = _reading(cells, _zone(utc_offset))
        except _BadValue as error:
            faults.append(BadCell(number, error.heading, str(error)))
            continue
        if reading.at in seen:
            faults.append(BadCell(number, "time", "There is a reading of this moment already."))
        seen.add(reading.at)
        readings.append(reading)
    if faults:
        raise BadSheet(*faults)
    if not readings:
        raise BadSheet(BadCell(first, None, "There is no reading below the headings."))
    return tuple(readings)


def write_readings(readings: Iterable[Reading]) -> str:
    """The readings as a sheet that ``read_readings`` understands, times in UTC."""
    text = io.StringIO(newline="")
    rows = csv.writer(text, lineterminator="\r\n")
    rows.writerow(HEADINGS)
    for reading in readings:
        at = reading.at.astimezone(UTC).isoformat().replace("+00:00", "Z")
        rows.writerow([at, *("" if v is None else f"{v:g}" for v in _measured(reading))])
    return text.getvalue()


class _BadValue(Unreadable):
    def __init__(self, heading: str, message: str) -> None:
        super().__init__(message)
        self.heading = heading


def _measured(reading: Reading) -> tuple[float | None, ...]:
    return reading.core_c, reading.air_c, reading.oxygen_percent


def _columns(headings: list[str], row: int) -> list[str | None]:
    named = [read_word(heading.strip()) for heading in headings]
    faults = [
        BadCell(row, name, f"There is no column “{name}”; the headings are {', '.join(HEADINGS)}.")
        for name in named
        if name and name not in HEADINGS
    ]
    faults += [BadCell(row, name, f"“{name}” stands twice.") for name in HEADINGS if named.count(name) > 1]
    if "time" not in named:
        faults.append(BadCell(row, "time", "The column “time” is missing."))
    if faults:
        raise BadSheet(*faults)
    return [name or None for name in named]


def _reading(cells: dict[str, str], zone: timezone) -> Reading:
    if "time" not in cells:
        raise _BadValue("time", "The row has no time.")
    values = {heading: _number(heading, cell) for heading, cell in cells.items() if heading != "time"}
    if not values:
        raise _BadValue("core_c", "The row measures nothing.")
    return Reading(_moment(cells["time"], zone), **values)


def _moment(cell: str, zone: timezone) -> datetime:
    try:
        moment = datetime.fromisoformat(cell)
    except ValueError as error:
        message = f"“{cell}” is no moment; write one such as 2026-11-25 09:30 or 2026-11-25T09:30:00Z."
        raise _BadValue("time", message) from error
    placed = moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)
    return placed.astimezone(UTC)


def _number(heading: str, cell: str) -> float:
    if not re.fullmatch(r"[+-]?\d{1,4}([.,]\d{1,6})?", cell, re.ASCII):
        raise _BadValue(heading, f"“{cell}” is not a number; write one such as -25.4.")
    value = float(cell.replace(",", "."))
    low, high = (0.0, 100.0) if heading == "oxygen_percent" else (_COLDEST_C, _HOTTEST_C)
    if not low <= value <= high:
        raise _BadValue(heading, f"{cell} is outside {low:g} to {high:g}.")
    return value


def _zone(utc_offset: str) -> timezone:
    match = _OFFSET.fullmatch(utc_offset)
    if match is None:
        raise Unreadable(f"“{utc_offset}” is no offset from UTC; write one such as +01:00.")
    sign = -1 if match[1] == "-" else 1
    return timezone(sign * timedelta(hours=int(match[2]), minutes=int(match[3])))
