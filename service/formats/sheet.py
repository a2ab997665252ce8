"""What all sheets (CSV) share: a documented header, one thing a row, and the way from a fault back to its cell.

A thing may have parts, such as the tray sizes of a line: the first stands in the thing's own row, each further one in
a row below that leaves the thing's columns empty. Each row becomes the same nested request that the JSON interface
takes, so that there is one place that judges it; ``Row.cell`` leads from a fault in that request back to the cell
that a person has to mend.
"""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from functools import cached_property
from itertools import zip_longest
from typing import Any

from service.formats.cells import Unreadable, harmless, is_whole_as_written, meant, read_word, write_cell
from service.formats.sheet_rows import BadCell, BadSheet, Column, Request, Row
from service.formats.sheet_text import decoded, lines_of

__all__ = ["MOST_ROWS", "BadCell", "BadSheet", "Column", "Request", "Row", "Sheet", "Written"]

MOST_ROWS = 5_000


@dataclass(frozen=True, slots=True)
class Written:
    """A sheet, and what it could not say: the row of the thing (as a spreadsheet counts) and the field."""

    text: str
    left_out: tuple[tuple[int, str], ...]

    @property
    def for_spreadsheets(self) -> bytes:
        """The sheet as a file. By its byte-order mark spreadsheet programs take it for the UTF-8 that it is."""
        return self.text.encode("utf-8-sig")


def _unchanged(thing: Any) -> Any:
    return thing


def _nothing(_: Request) -> None:
    pass


@dataclass(frozen=True)
class Sheet:
    """One kind of sheet. ``columns`` are its documented header; ``required`` the headings no sheet goes without.

    ``begins`` is the heading that a row fills to begin a new thing, and ``parts`` the list in the request that the
    other rows add to. ``says_none`` is a heading and the cell in it by which a thing says that it has no parts.
    ``passed_over`` are headings that stand in answers for people to read and are not read again.
    ``settle`` moves what one cell says to several places of the request; ``apart`` is its inverse: the thing without
    what such a cell says.
    """

    kind: str
    columns: tuple[Column, ...]
    required: tuple[str, ...]
    begins: str | None = None
    parts: str | None = None
    says_none: tuple[str, str] | None = None
    passed_over: tuple[str, ...] = ()
    most_rows: int = MOST_ROWS
    settle: Callable[[Request], None] = _nothing
    apart: Callable[[Any], Any] = _unchanged

    @cached_property
    def headings(self) -> dict[str, Column]:
        return {column.heading: column for column in self.columns}

    def is_of_part(self, column: Column) -> bool:
        return self.parts is not None and column.path[0] == self.parts

    def read(self, data: bytes) -> list[Row]:
        """The things in a sheet in UTF-8, with or without a byte-order mark, parted by commas, semicolons or tabs.

        Cells that cannot be read are left out of the row's request and named in its ``faults``.

        :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
        """
        first, lines = lines_of(decoded(data))
        columns = _columns(self, lines[0], first)
        if len(lines) - 1 > self.most_rows:
            beyond = first + self.most_rows + 1
            raise BadSheet(BadCell(beyond, None, f"At most {self.most_rows:,} rows at a time; part the sheet."))
        return _rows(self, columns, enumerate(lines[1:], start=first + 1))

    def write(
        self, things: Iterable[Any], further: Sequence[str] = (), values: Iterable[Iterable[Any]] = ()
    ) -> Written:
        """A sheet that ``read`` understands: commas, CR LF, no cell a formula.

        ``further`` are headings for people to read, behind the others, with their ``values`` for each thing; they
        are not read again.
        """
        text = io.StringIO(newline="")
        rows = csv.writer(text, lineterminator="\r\n")
        rows.writerow([*self.headings, *further])
        left_out: list[tuple[int, str]] = []
        number = 2
        for thing, more in zip_longest(things, values, fillvalue=()):
            left_out += [(number, where) for where in self._left_out(thing)]
            for cells in self._cells(thing):
                rows.writerow(map(harmless, [*cells, *map(write_cell, more)]))
                number, more = number + 1, ()
        return Written(text.getvalue(), tuple(left_out))

    def _cells(self, thing: Any) -> Iterator[list[str]]:
        parts = getattr(thing, self.parts) if self.parts else None
        first = parts[0] if parts else None
        yield [
            self._part_cell(column, first, parts == ()) if self.is_of_part(column) else self._cell(column, thing)
            for column in self.columns
        ]
        for part in (parts or ())[1:]:
            yield [self._part_cell(column, part) if self.is_of_part(column) else "" for column in self.columns]

    def _cell(self, column: Column, thing: Any) -> str:
        return column.write(column.value(thing))

    def _part_cell(self, column: Column, part: Any, says_none: bool = False) -> str:
        if says_none and self.says_none and column.heading == self.says_none[0]:
            return self.says_none[1]
        return "" if part is None else column.write(column.value(part, above=1))

    def _left_out(self, thing: Any) -> Iterator[str]:
        own = [column for column in self.columns if not self.is_of_part(column)]
        yield from _left_out(self.apart(thing), own, (), {self.parts})
        of_parts = [column for column in self.columns if self.is_of_part(column)]
        for position, part in enumerate((getattr(thing, self.parts) if self.parts else None) or ()):
            for where in _left_out(part, of_parts, (self.parts or "",), set()):
                yield where.replace(".", f".{position}.", 1)


def _left_out(thing: Any, columns: list[Column], path: tuple[str, ...], skipped: set[str | None]) -> Iterator[str]:
    """The fields of a thing that say something which no column holds, or not all of it."""
    for each in fields(thing):
        value = getattr(thing, each.name)
        place = (*path, each.name)
        if each.name in skipped or value is None or value == _default(each):
            continue
        if any(column.place == place for column in columns):
            if not is_whole_as_written(value):
                yield ".".join(place)
        elif is_dataclass(value) and any(column.place[: len(place)] == place for column in columns):
            yield from _left_out(value, columns, place, set())
        else:
            yield ".".join(place)


def _default(each: Any) -> Any:
    return each.default_factory() if each.default_factory is not MISSING else each.default


def _columns(sheet: Sheet, headings: list[str], row: int) -> list[Column | None]:
    named = [read_word(heading.strip()) for heading in headings]
    known = sheet.headings
    faults = [
        BadCell(row, heading, f"There is no column “{heading}”; the headings are {', '.join(known)}.")
        for heading in named
        if heading and heading not in known and heading not in sheet.passed_over
    ]
    faults += [BadCell(row, heading, f"“{heading}” stands twice.") for heading in known if named.count(heading) > 1]
    faults += [
        BadCell(row, heading, f"The column “{heading}” is missing.")
        for heading in sheet.required
        if heading not in named
    ]
    if faults:
        raise BadSheet(*faults)
    return [known.get(heading) for heading in named]


def _rows(sheet: Sheet, columns: list[Column | None], lines: Iterable[tuple[int, list[str]]]) -> list[Row]:
    rows: list[Row] = []
    for number, line in lines:
        cells = zip(columns, map(meant, line), strict=False)
        filled = [(column, cell) for column, cell in cells if column and cell]
        surplus = any(cell.strip() for cell in line[len(columns) :])
        if not filled and not surplus:
            continue
        if rows and sheet.parts and not any(column.heading == sheet.begins for column, _ in filled):
            _add_part(sheet, rows[-1], number, filled)
        else:
            rows.append(_row(sheet, number, filled))
        if surplus:
            rows[-1].faults.append(BadCell(number, None, f"The row has more cells than the {len(columns)} headings."))
    return rows


def _row(sheet: Sheet, number: int, filled: list[tuple[Column, str]]) -> Row:
    row = Row(number, sheet.columns)
    for column, cell in filled:
        if not sheet.is_of_part(column):
            _fill(row, row.request, column.path, column, cell, number)
    sheet.settle(row.request)
    if sheet.parts:
        _add_part(sheet, row, number, [(column, cell) for column, cell in filled if sheet.is_of_part(column)])
    return row


def _add_part(sheet: Sheet, row: Row, number: int, filled: list[tuple[Column, str]]) -> None:
    if not filled:
        return
    row.faults += [
        BadCell(number, column.heading, f"A row without a {sheet.begins} holds {_part_names(sheet)} columns only.")
        for column, _ in filled
        if not sheet.is_of_part(column)
    ]
    parts = row.request.setdefault(sheet.parts or "", [])
    if not parts and [(column.heading, cell) for column, cell in filled] == [sheet.says_none]:
        return
    row.numbers[sheet.parts or "", len(parts)] = number
    part: Request = {}
    for column, cell in filled:
        if sheet.is_of_part(column):
            _fill(row, part, column.path[1:], column, cell, number)
    parts.append(part)


def _part_names(sheet: Sheet) -> str:
    return (sheet.parts or "").rstrip("s")


def _fill(row: Row, request: Request, path: tuple[str, ...], column: Column, cell: str, number: int) -> None:
    try:
        value = column.read(cell)
    except Unreadable as error:
        row.faults.append(BadCell(number, column.heading, str(error)))
        return
    for step in path[:-1]:
        request = request.setdefault(step, {})
    request[path[-1]] = value
