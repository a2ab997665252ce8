"""The lines of a transfer as a spreadsheet: one row a lot, any of the usual spreadsheet dialects."""

import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from service.core.transfers.lines import Line
from service.formats import sheets
from service.formats.consignment_csv import BadCell, BadSheet, decoded, delimiter

MOST_ROWS = 5_000


@dataclass(frozen=True, slots=True)
class LineRow:
    """One row as the request that the JSON interface takes, with what could not be read of it."""

    number: int
    request: dict[str, Any]
    faults: tuple[BadCell, ...]


class _Unreadable(ValueError):
    pass


def _whole(cell: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", cell):
        raise _Unreadable(f"“{cell}” is not a whole number; write one such as 60.")
    return int(cell)


def _word(cell: str) -> str:
    return re.sub(r"[\s-]+", "_", cell.lower())


def _list(cell: str) -> list[str]:
    return [part for part in re.split(r"\s*[;|]\s*", cell) if part]


#: Each heading is a field of a line, with how its cells are read. Lists are parted by semicolons.
COLUMNS: dict[str, Callable[[str], Any]] = {
    "key": str,
    "count": _whole,
    "taxon": str,
    "counted": _word,
    "groups": _list,
    "preparation": _word,
    "type_status": _word,
    "storage": _word,
    "storage_count": _whole,
    "tray": str,
    "condition": _whole,
    "remarks": str,
    "catalogue_numbers": _list,
    "identifiers": _list,
    "held": _whole,
}


def read_lines(data: bytes) -> list[LineRow]:
    """The rows of a sheet; a row without a key is named by its number.

    :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
    """
    rows = list(csv.reader(io.StringIO(decoded(data), newline=""), delimiter=delimiter(data), strict=False))
    if not rows:
        raise BadSheet(BadCell(1, None, "The sheet is empty; its first row must hold the headings."))
    headings = [_word(cell.strip()) for cell in rows[0]]
    _check(headings, len(rows) - 1)
    filled = ((number, row) for number, row in enumerate(rows[1:], start=2) if any(cell.strip() for cell in row))
    return [_row(number, headings, row) for number, row in filled]


def _check(headings: list[str], count: int) -> None:
    faults = [
        BadCell(1, heading, f"There is no column “{heading}”; the headings are {', '.join(COLUMNS)}.")
        for heading in headings
        if heading and heading not in COLUMNS
    ]
    faults += [
        BadCell(1, heading, f"“{heading}” stands twice.") for heading in COLUMNS if headings.count(heading) > 1
    ]
    if "count" not in headings:
        faults.append(BadCell(1, "count", "The column “count” is missing."))
    if count > MOST_ROWS:
        faults.append(BadCell(MOST_ROWS + 2, None, f"At most {MOST_ROWS:,} rows; part the transfer."))
    if faults:
        raise BadSheet(*faults)


def _row(number: int, headings: list[str], cells: list[str]) -> LineRow:
    request: dict[str, Any] = {"key": str(number - 1)}
    faults: list[BadCell] = []
    for heading, cell in zip(headings, cells, strict=False):
        written = sheets.unguarded(cell.strip())
        if heading and written:
            try:
                request[heading] = COLUMNS[heading](written)
            except _Unreadable as error:
                faults.append(BadCell(number, heading, str(error)))
    if any(cell.strip() for cell in cells[len(headings) :]):
        faults.append(BadCell(number, None, f"The row has more cells than the {len(headings)} headings."))
    return LineRow(number, request, tuple(faults))


def write_lines(lines: Iterable[Line], further: tuple[str, ...] = (), values: Iterable[Iterable[object]] = ()) -> str:
    """The sheet of some lines, with further columns behind."""
    rows = [[_cell(getattr(line, heading)) for heading in COLUMNS] for line in lines]
    for row, more in zip(rows, values, strict=False):
        row.extend(more)
    return sheets.written([*COLUMNS, *further], rows)


def _cell(value: object) -> object:
    if isinstance(value, tuple):
        return "; ".join(value)
    return None if value == "" else getattr(value, "value", value)
