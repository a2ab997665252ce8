"""The list that says which tray each number in a drawing stands for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.core.housing.plan import TraySize
from service.paper.listing import Column, Row, list_panels
from service.paper.numbered_drawers import Numbers
from service.paper.panel import Panel
from service.paper.svg import SMALL, fold
from service.paper.tray_words import bare_mm, name_of
from service.paper.wording import UNKNOWN, printable

LINES_TO_A_PANEL = 38
_LABEL_ROOM, _CODE_ROOM, _LABEL_LINES = 270.0, 130.0, 4


@dataclass(frozen=True, slots=True)
class KeyRow:
    """One size of tray in a list: its number, and what is said of it at the end of the row."""

    number: int
    tray: TraySize
    said: str


def key_panels(
    rows: Sequence[KeyRow], heading: str, last: Column, name: str, u: float, most_lines: int = LINES_TO_A_PANEL
) -> Iterator[Panel]:
    """The list in as many panels as it takes; ``last`` is the column for what is said of each size."""
    coded = any(printable(row.tray.code) != name_of(row.tray) for row in rows)
    sizes = [Column(head, figures=True) for head in ("Wide", "Deep", "High")]
    columns = [
        Column("", figures=True, bold=True), Column("Tray"), *([Column("Code")] if coded else []), *sizes, last,
    ]  # fmt: skip
    return list_panels(columns, [_cells(row, coded, most_lines) for row in rows], heading, name, u, most_lines)


def counted(counts: Mapping[str, int], numbers: Numbers) -> list[KeyRow]:
    """Rows for the trays of one drawer, by number, with how many of each."""
    return sorted(
        (KeyRow(*numbers[code], f"{count:,}") for code, count in counts.items()), key=lambda row: row.number
    )


def _cells(row: KeyRow, coded: bool, most_lines: int) -> Row:
    tray = row.tray
    height = UNKNOWN if tray.height_nm is None else bare_mm(tray.height_nm)
    code = [fold(tray.code, SMALL, _CODE_ROOM, most=2)] if coded else []
    return [
        [str(row.number)],
        fold(name_of(tray), SMALL, _LABEL_ROOM, most=_LABEL_LINES),
        *code,
        [bare_mm(tray.width_nm)],
        [bare_mm(tray.depth_nm)],
        [height],
        fold(row.said, SMALL, _LABEL_ROOM, most=most_lines) or [""],
    ]
