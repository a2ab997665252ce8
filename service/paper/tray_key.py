"""The list that says which tray each number in a drawing stands for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.core.housing.plan import TraySize
from service.paper.panel import Panel, new_panel
from service.paper.svg import FAINT, LINE_SPACING, OUTLINE, SMALL, fold, text_width
from service.paper.tray_words import bare_mm, name_of
from service.paper.wording import UNKNOWN, printable

_ROWS_TO_A_PANEL = 38
#: The columns before the last hold figures: wide, deep, high.
_SIZES = 3
_GAP = 18.0
_LABEL_ROOM, _CODE_ROOM = 250.0, 130.0


@dataclass(frozen=True, slots=True)
class KeyRow:
    """One size of tray in a list: its number, and what is said of it at the end of the row."""

    number: int
    tray: TraySize
    said: str


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where the columns stand, in sheet units: words flush left, figures flush right."""

    widths: list[float]
    ends_in_figures: bool

    @property
    def right(self) -> float:
        return sum(self.widths) + _GAP * (len(self.widths) - 1)

    def place(self, at: int) -> tuple[float, str]:
        """Where a cell of this column is anchored, and how."""
        left, last = sum(self.widths[:at]) + _GAP * at, len(self.widths) - 1
        sizes = last - _SIZES <= at < last
        if at == 0 or sizes or (at == last and self.ends_in_figures):
            return left + self.widths[at], "end"
        return left, "start"


def key_panels(
    rows: Sequence[KeyRow],
    heading: str,
    said: str,
    name: str,
    u: float,
    most_lines: int = _ROWS_TO_A_PANEL,
    in_figures: bool = True,
) -> Iterator[Panel]:
    """The list in as many panels as it takes; ``said`` heads the last column, of figures or else of words."""
    coded = any(printable(row.tray.code) != name_of(row.tray) for row in rows)
    cells = [_cells(row, coded, most_lines) for row in rows]
    heads = ["", "Tray", *(["Code"] if coded else []), "Wide", "Deep", "High", said]
    columns = _Columns(_widths(heads, cells), in_figures)
    for at, part in enumerate(_parts(cells, most_lines)):
        yield _panel(part, heads, columns, heading if at == 0 else f"{heading}, continued", f"{name}-{at + 1}", u)


def counted(counts: Mapping[str, int], numbers: Mapping[str, tuple[int, TraySize]]) -> list[KeyRow]:
    """Rows for the trays of one drawer, by number, with how many of each."""
    return sorted(
        (KeyRow(*numbers[code], f"{count:,}") for code, count in counts.items()), key=lambda row: row.number
    )


def _cells(row: KeyRow, coded: bool, most_lines: int) -> list[list[str]]:
    tray = row.tray
    height = UNKNOWN if tray.height_nm is None else bare_mm(tray.height_nm)
    code = [fold(tray.code, SMALL, _CODE_ROOM, most=2)] if coded else []
    return [
        [str(row.number)],
        fold(name_of(tray), SMALL, _LABEL_ROOM, most=4),
        *code,
        [bare_mm(tray.width_nm)],
        [bare_mm(tray.depth_nm)],
        [height],
        fold(row.said, SMALL, _LABEL_ROOM, most=most_lines) or [""],
    ]


def _widths(heads: Sequence[str], cells: Sequence[Sequence[Sequence[str]]]) -> list[float]:
    columns = [[[head], *(row[at] for row in cells)] for at, head in enumerate(heads)]
    return [max(text_width(line, SMALL, bold=True) for cell in column for line in cell) for column in columns]


def _parts(cells: Sequence[list[list[str]]], most: int) -> Iterator[list[list[list[str]]]]:
    """Rows for one panel after the other, none with more lines than it holds."""
    part: list[list[list[str]]] = []
    lines = 0
    for row in cells:
        high = max(len(cell) for cell in row)
        if part and lines + high > most:
            yield part
            part, lines = [], 0
        part.append(row)
        lines += high
    if part:
        yield part


def _panel(
    rows: Sequence[Sequence[Sequence[str]]],
    heads: Sequence[str],
    columns: _Columns,
    heading: str,
    name: str,
    u: float,
) -> Panel:
    panel = new_panel(name, heading, u)
    paper, y = panel.paper, panel.top
    right = columns.right * u
    _write_row([[head] for head in heads], columns, panel, y, bold=True)
    y += 5 * u
    paper.line(0, y, right, y, OUTLINE)
    for row in rows:
        lines = max(len(cell) for cell in row)
        _write_row(row, columns, panel, y + SMALL * LINE_SPACING * u)
        y += (lines * LINE_SPACING * SMALL + 4) * u
        paper.line(0, y, right, y, FAINT)
    panel.reach(right, y)
    return panel


def _write_row(cells: Sequence[Sequence[str]], columns: _Columns, panel: Panel, y: float, bold: bool = False) -> None:
    u = panel.mm_per_unit
    for at, cell in enumerate(cells):
        x, anchor = columns.place(at)
        for line, text in enumerate(cell):
            baseline = y + line * SMALL * LINE_SPACING * u
            panel.paper.text(x * u, baseline, text, SMALL, anchor, bold or at == 0)
