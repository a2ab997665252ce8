"""A table over any number of pages: its head on each, and under each the sum of the page and what is carried on."""

from collections.abc import Sequence

from service.core.papers.content import Align, Column, Table
from service.paper.pdf.sheets import MARGIN, Sheets

SIZE = 8.5
GAP = 1.6
#: Tables of so few rows do not begin where they would have to be parted.
KEPT_TOGETHER = 6
SUM, CARRIED, TOTAL = "Sum of this page", "Carried over", "Total"


class _Sums:
    """The sums of the summed columns: of this page, and of all pages before it."""

    def __init__(self, table: Table) -> None:
        self.columns = [at for at, column in enumerate(table.columns) if column.summed]
        self.page = dict.fromkeys(self.columns, 0)
        self.before = dict.fromkeys(self.columns, 0)

    def add(self, cells: Sequence[str]) -> None:
        for at in self.columns:
            self.page[at] += int(cells[at] or 0)

    def turn(self) -> None:
        self.before = {at: self.before[at] + self.page[at] for at in self.columns}
        self.page = dict.fromkeys(self.columns, 0)


def draw_table(sheets: Sheets, table: Table) -> None:
    """The whole table. A page of a table with sums ends with its own sum; the last one with the total as well."""
    widths = _widths(sheets, table.columns)
    sums = _Sums(table)
    foot = 2 * _row_height(sheets, 1) + 1 if sums.columns else 0.0
    if len(table.rows) <= KEPT_TOGETHER:
        sheets.break_unless((len(table.rows) + 1) * _row_height(sheets, 1) + foot)
    _head(sheets, table.columns, widths)
    for row in table.rows:
        lines = [
            sheets.lines_of(cell, width - GAP, SIZE, "I" if column.italic else "") if cell else []
            for cell, width, column in zip(row.cells, widths, table.columns, strict=True)
        ]
        height = _row_height(sheets, max(1, *map(len, lines)))
        if sheets.get_y() + height + foot > sheets.lowest:
            _turn_page(sheets, table, widths, sums)
        _row(sheets, table.columns, widths, lines, height)
        sums.add(row.cells)
    if sums.columns:
        _sum_row(sheets, table, widths, SUM, sums.page)
        sums.turn()
        _sum_row(sheets, table, widths, TOTAL, sums.before)


def _widths(sheets: Sheets, columns: Sequence[Column]) -> list[float]:
    whole = sum(column.share for column in columns)
    return [sheets.width * column.share / whole for column in columns]


def _row_height(sheets: Sheets, lines: int) -> float:
    return lines * sheets.height_of(SIZE) + 0.9


def _head(sheets: Sheets, columns: Sequence[Column], widths: Sequence[float]) -> None:
    lines = [
        sheets.lines_of(column.name, width - GAP, SIZE, "B") for column, width in zip(columns, widths, strict=True)
    ]
    height = _row_height(sheets, max(map(len, lines)))
    _row(sheets, columns, widths, lines, height, style="B")
    sheets.set_draw_color(0)
    sheets.line(MARGIN, sheets.get_y(), MARGIN + sheets.width, sheets.get_y())


def _row(
    sheets: Sheets,
    columns: Sequence[Column],
    widths: Sequence[float],
    lines: Sequence[Sequence[str]],
    height: float,
    style: str | None = None,
) -> None:
    x, top = MARGIN, sheets.get_y()
    for column, width, cell in zip(columns, widths, lines, strict=True):
        drawn = ("I" if column.italic else "") if style is None else style
        align = "R" if column.align is Align.RIGHT else "L"
        for at, line in enumerate(cell):
            sheets.put(line, x, top + at * sheets.height_of(SIZE), width - GAP, SIZE, drawn, align)
        x += width
    sheets.set_xy(MARGIN, top + height)
    sheets.set_draw_color(210)
    sheets.line(MARGIN, top + height, MARGIN + sheets.width, top + height)


def _turn_page(sheets: Sheets, table: Table, widths: Sequence[float], sums: _Sums) -> None:
    if sums.columns:
        _sum_row(sheets, table, widths, SUM, sums.page)
        sums.turn()
    sheets.add_page()
    _head(sheets, table.columns, widths)
    if sums.columns:
        _sum_row(sheets, table, widths, CARRIED, sums.before)


def _sum_row(sheets: Sheets, table: Table, widths: Sequence[float], words: str, sums: dict[int, int]) -> None:
    """One row of sums; its words stand over the first columns, up to the first sum."""
    top, first = sheets.get_y(), min(sums)
    sheets.put(words, MARGIN, top, sum(widths[:first]) - GAP, SIZE, "B", "R")
    for at, total in sums.items():
        left = MARGIN + sum(widths[:at])
        sheets.put(str(total), left, top, widths[at] - GAP, SIZE, "B", "R")
    sheets.set_xy(MARGIN, top + _row_height(sheets, 1))
    assert len(widths) == len(table.columns)  # noqa: S101 - one width a column
