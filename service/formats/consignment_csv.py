"""A consignment as a spreadsheet: one row a line, the header below, any of the usual spreadsheet dialects.

Each row becomes the same nested request that the JSON interface takes, so that there is one place that judges it;
``Row.cell`` leads from a fault in that request back to the cell that a person has to mend.
"""

import csv
import io
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from service.core.measure.dimension import ToleranceClass

MOST_ROWS = 5_000

Request = dict[str, Any]
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class BadCell:
    """One thing to mend. ``row`` is the number that the spreadsheet shows beside it; ``column`` its heading."""

    row: int
    column: str | None
    detail: str


class BadSheet(ValueError):
    """The sheet as a whole cannot be read; the faults say where and what would be right."""

    def __init__(self, *faults: BadCell) -> None:
        super().__init__("; ".join(fault.detail for fault in faults))
        self.faults = faults


@dataclass(slots=True)
class Row:
    """One line of the consignment as a request, with the way back to the cells it came from."""

    number: int
    request: Request = field(default_factory=dict)
    faults: list[BadCell] = field(default_factory=list)
    numbers: dict[Path, int] = field(default_factory=dict)

    def cell(self, path: Path) -> tuple[int, str | None]:
        """The row number and heading behind a place in the request, even of a cell that was left empty."""
        place = tuple(step for step in path if isinstance(step, str))
        heading = next((column.heading for column in COLUMNS if column.holds(place)), None)
        inside = (self.numbers[path[:length]] for length in range(len(path), 0, -1) if path[:length] in self.numbers)
        return next(inside, self.number), heading if place else None


class _Unreadable(ValueError):
    pass


def _text(cell: str) -> str:
    return cell


def _word(cell: str) -> str:
    return re.sub(r"[\s-]+", "_", cell.lower())


def _whole(cell: str) -> int:
    if not re.fullmatch(r"[0-9]{1,9}", cell):
        raise _Unreadable(f"“{cell}” is not a whole number; write one such as 60.")
    return int(cell)


def _length(cell: str) -> float | str:
    """A bare number is millimetres, because the heading says so; anything else is read with its unit."""
    return float(cell.replace(",", ".")) if re.fullmatch(r"[0-9]+(\.[0-9]+|,[0-9]{1,2})?", cell) else cell


def _number(cell: str) -> float:
    if not re.fullmatch(r"-?[0-9]{1,6}([.,][0-9]{1,6})?", cell):
        raise _Unreadable(f"“{cell}” is not a number; write one such as 18.5.")
    return float(cell.replace(",", "."))


def _tolerance_class(cell: str) -> str:
    if cell.lower() not in list(ToleranceClass):
        raise _Unreadable(f"“{cell}” is no general class of ISO 2768-1; write {' or '.join(ToleranceClass)}.")
    return cell.lower()


def _flag(cell: str) -> bool:
    if cell.lower() not in {"yes", "no"}:
        raise _Unreadable(f"“{cell}” should be yes or no; leave it empty when nobody knows.")
    return cell.lower() == "yes"


def _words(cell: str) -> list[str]:
    return [] if cell.lower() == "none" else [_word(word) for word in re.split(r"\s*[;,+]\s*", cell) if word]


@dataclass(frozen=True, slots=True)
class Column:
    """A heading, the place in the request it fills, how its cells are read, and what to write there."""

    heading: str
    path: tuple[str, ...]
    read: Callable[[str], Any]
    explained: str

    @property
    def is_of_tray(self) -> bool:
        return self.path[0] == "trays"

    def holds(self, place: tuple[str, ...]) -> bool:
        """Whether this cell is, or is part of, or has within it what stands at a place of the request."""
        shorter = min(len(place), len(self.path))
        return self.path[:shorter] == place[:shorter]


_SIZE = "millimetres, or a measure with its unit (16 1/2 in, 41.9 cm)"
COLUMNS = (
    Column(
        "container",
        ("container",),
        _word,
        "drawer, unit_tray or storage_box; empty adds a tray size to the line above",
    ),
    Column("count", ("count",), _whole, "how many like containers"),
    Column("description", ("description",), _text, "anything that helps to find them"),
    Column("outer_width_mm", ("outer", "width"), _length, f"outside, side to side: {_SIZE}"),
    Column("outer_depth_mm", ("outer", "depth"), _length, "outside, front to back"),
    Column("outer_height_mm", ("outer", "height"), _length, "outside, lid included"),
    Column("tolerance_class", ("tolerance_class",), _tolerance_class, "of the outside: f, m, c or v (ISO 2768-1)"),
    Column("inner_width_mm", ("inner", "width"), _length, "inside, side to side"),
    Column("inner_depth_mm", ("inner", "depth"), _length, "inside, front to back"),
    Column("inner_height_mm", ("inner", "height"), _length, "inside, bare floor to the underside of the lid"),
    Column("base_mm", ("base",), _length, "thickness of a unit tray's board"),
    Column("lining", ("lining", "material"), _word, "pinning bottom: polyethylene_foam, cork, ..."),
    Column("lining_thickness_mm", ("lining", "thickness"), _length, "its thickness"),
    Column("lining_glued_firmly", ("lining", "glued_firmly"), _flag, "yes or no"),
    Column(
        "tray_count", ("trays", "count"), _whole, "unit trays of this size in the whole line; 0 says there are none"
    ),
    Column("tray_width_mm", ("trays", "outer", "width"), _length, "a tray outside, side to side"),
    Column("tray_depth_mm", ("trays", "outer", "depth"), _length, "a tray outside, front to back"),
    Column("tray_height_mm", ("trays", "outer", "height"), _length, "a tray outside, base to rim"),
    Column("tray_base_mm", ("trays", "base"), _length, "thickness of its board"),
    Column("tray_bottom", ("trays", "bottom", "material"), _word, "its pinning bottom"),
    Column("tray_bottom_thickness_mm", ("trays", "bottom", "thickness"), _length, "its thickness"),
    Column("tray_bottom_glued_firmly", ("trays", "bottom", "glued_firmly"), _flag, "yes or no"),
    Column("tray_specimens", ("trays", "specimens"), _whole, "specimens in the trays of this size"),
    Column("pin_length_mm", ("pins", "length"), _length, "the longest pin"),
    Column("pin_depth_mm", ("pins", "depth"), _length, "how far pins go into the bottom"),
    Column("pin_metal", ("pins", "metal"), _word, "stainless_steel, black_steel, brass, ..."),
    Column("wood", ("wood",), _text, "what the containers are made of"),
    Column("sawing", ("sawing",), _word, "how the boards were cut: flat or quarter"),
    Column("sender_temperature_c", ("sender_climate", "temperature_c"), _number, "room they come from, in °C"),
    Column(
        "sender_humidity_percent",
        ("sender_climate", "relative_humidity_percent"),
        _number,
        "relative humidity of that room",
    ),
    Column("treatments_used", ("treatments_used",), _words, "separated by commas; none when none were used"),
    Column("closure", ("closure",), _word, "flanged_lid, plain_lid, card_box or open"),
    Column("pest_signs", ("pest_signs",), _word, "none_seen, old_damage or live"),
    Column("specimens", ("specimens",), _whole, "specimens in the whole line"),
    Column("taxa", ("taxa",), _text, "what they are"),
    Column("condition", ("condition",), _text, "as seen"),
)
HEADINGS = {column.heading: column for column in COLUMNS}
_REQUIRED = ("container", "count")


def read_sheet(data: bytes) -> list[Row]:
    """The rows of a sheet in UTF-8, with or without a byte-order mark, parted by commas, semicolons or tabs.

    Cells that cannot be read are left out of the row's request and named in its ``faults``.

    :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
    """
    lines = list(csv.reader(io.StringIO(decoded(data), newline=""), delimiter=delimiter(data), strict=False))
    while lines and not any(cell.strip() for cell in lines[0]):
        lines.pop(0)
    if not lines:
        raise BadSheet(BadCell(1, None, "The sheet is empty; its first row must hold the headings."))
    columns = _columns(lines[0])
    if len(lines) - 1 > MOST_ROWS:
        raise BadSheet(BadCell(MOST_ROWS + 2, None, f"At most {MOST_ROWS:,} rows at a time; part the sheet."))
    return _rows(columns, enumerate(lines[1:], start=2))


def decoded(data: bytes) -> str:
    """The text of an upload.

    :raises BadSheet: when it is not UTF-8.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        raise BadSheet(BadCell(row, None, "The sheet is not in UTF-8; save it as “CSV UTF-8”.")) from error
    if "\0" in text:
        raise BadSheet(BadCell(1, None, "The sheet holds null bytes; save it as “CSV UTF-8”, not as a workbook."))
    return text


def delimiter(data: bytes) -> str:
    """The separator that occurs most in the row of headings, none of which holds any."""
    header = data.split(b"\n", 1)[0]
    return max(",;\t", key=lambda mark: header.count(mark.encode()))


def _columns(headings: list[str]) -> list[Column | None]:
    named = [_word(heading.strip()) for heading in headings]
    faults = [
        BadCell(1, heading, f"There is no column “{heading}”; the headings are {', '.join(HEADINGS)}.")
        for heading in named
        if heading and heading not in HEADINGS
    ]
    faults += [BadCell(1, heading, f"“{heading}” stands twice.") for heading in HEADINGS if named.count(heading) > 1]
    faults += [
        BadCell(1, heading, f"The column “{heading}” is missing.") for heading in _REQUIRED if heading not in named
    ]
    if faults:
        raise BadSheet(*faults)
    return [HEADINGS.get(heading) for heading in named]


def _rows(columns: list[Column | None], lines: Iterable[tuple[int, list[str]]]) -> list[Row]:
    rows: list[Row] = []
    for number, line in lines:
        filled = [
            (column, cell.strip()) for column, cell in zip(columns, line, strict=False) if column and cell.strip()
        ]
        surplus = any(cell.strip() for cell in line[len(columns) :])
        if not filled and not surplus:
            continue
        if rows and not any(column.heading == "container" for column, _ in filled):
            _add_tray_size(rows[-1], number, filled)
            row = rows[-1]
        else:
            row = _line(number, filled)
            rows.append(row)
        if surplus:
            row.faults.append(BadCell(number, None, f"The row has more cells than the {len(columns)} headings."))
    return rows


def _line(number: int, filled: list[tuple[Column, str]]) -> Row:
    row = Row(number)
    for column, cell in filled:
        if not column.is_of_tray:
            _fill(row, row.request, column.path, column, cell, number)
    _state_class(row.request)
    _add_tray_size(row, number, [(column, cell) for column, cell in filled if column.is_of_tray])
    return row


def _state_class(request: Request) -> None:
    """One class for a row: the maker works to it on every outer size."""
    stated = request.pop("tolerance_class", None)
    outer = request.get("outer", {})
    if stated is not None:
        outer |= {axis: {"value": length, "tolerance_class": stated} for axis, length in outer.items()}


def _add_tray_size(row: Row, number: int, filled: list[tuple[Column, str]]) -> None:
    if not filled:
        return
    row.faults += [
        BadCell(number, column.heading, "A row without a container holds tray columns only.")
        for column, _ in filled
        if not column.is_of_tray
    ]
    trays = row.request.setdefault("trays", [])
    if not trays and [(column.heading, cell) for column, cell in filled] == [("tray_count", "0")]:
        return
    row.numbers["trays", len(trays)] = number
    tray: Request = {}
    for column, cell in filled:
        if column.is_of_tray:
            _fill(row, tray, column.path[1:], column, cell, number)
    trays.append(tray)


def _fill(row: Row, request: Request, path: tuple[str, ...], column: Column, cell: str, number: int) -> None:
    try:
        value = column.read(cell)
    except _Unreadable as error:
        row.faults.append(BadCell(number, column.heading, str(error)))
        return
    for step in path[:-1]:
        request = request.setdefault(step, {})
    request[path[-1]] = value
