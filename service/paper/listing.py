"""Lists on a drawing: rows in columns under a heading, in as many panels as they take."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.paper.panel import Panel, new_panel
from service.paper.svg import FAINT, LINE_SPACING, OUTLINE, SMALL, text_width

#: A cell is lines of text; a row is cells.
Row = Sequence[Sequence[str]]
_GAP = 18.0


@dataclass(frozen=True, slots=True)
class Column:
    """Words stand flush left, ``figures`` flush right."""

    head: str
    figures: bool = False
    bold: bool = False


@dataclass(frozen=True, slots=True)
class _Set:
    """Columns with the room that they take, in sheet units."""

    columns: Sequence[Column]
    widths: list[float]

    @property
    def right(self) -> float:
        return sum(self.widths) + _GAP * (len(self.widths) - 1)

    def place(self, at: int) -> tuple[float, str]:
        """Where a cell of this column is anchored, and how."""
        left = sum(self.widths[:at]) + _GAP * at
        return (left + self.widths[at], "end") if self.columns[at].figures else (left, "start")


def list_panels(
    columns: Sequence[Column], rows: Sequence[Row], heading: str, name: str, u: float, most_lines: int
) -> Iterator[Panel]:
    """The rows in their order, no panel with more than ``most_lines`` lines unless one row alone has more."""
    across = _Set(columns, [_width(column, [row[at] for row in rows]) for at, column in enumerate(columns)])
    for at, part in enumerate(_parts(rows, most_lines)):
        yield _panel(part, across, heading if at == 0 else f"{heading}, continued", f"{name}-{at + 1}", u)


def _width(column: Column, cells: Sequence[Sequence[str]]) -> float:
    return max(text_width(line, SMALL, bold=True) for cell in [[column.head], *cells] for line in cell)


def _parts(rows: Sequence[Row], most: int) -> Iterator[list[Row]]:
    """Rows for one panel after the other."""
    part: list[Row] = []
    lines = 0
    for row in rows:
        high = max(len(cell) for cell in row)
        if part and lines + high > most:
            yield part
            part, lines = [], 0
        part.append(row)
        lines += high
    if part:
        yield part


def _panel(rows: Sequence[Row], across: _Set, heading: str, name: str, u: float) -> Panel:
    panel = new_panel(name, heading, u)
    y, right = panel.top, across.right * u
    _write_row([[column.head] for column in across.columns], across, panel, y, head=True)
    y += 5 * u
    panel.paper.line(0, y, right, y, OUTLINE)
    for row in rows:
        _write_row(row, across, panel, y + SMALL * LINE_SPACING * u)
        y += (max(len(cell) for cell in row) * LINE_SPACING * SMALL + 4) * u
        panel.paper.line(0, y, right, y, FAINT)
    panel.reach(right, y)
    return panel


def _write_row(row: Row, across: _Set, panel: Panel, y: float, head: bool = False) -> None:
    u = panel.mm_per_unit
    for at, cell in enumerate(row):
        x, anchor = across.place(at)
        for line, text in enumerate(cell):
            baseline = y + line * SMALL * LINE_SPACING * u
            panel.paper.text(x * u, baseline, text, SMALL, anchor, head or across.columns[at].bold)
