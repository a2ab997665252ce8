"""All drawers of a housing plan at a glance, and where every tray went."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest
from service.core.measure.lengths import NM_PER_MM
from service.paper.drawn_layout import LEFT_OVER, draw_layout
from service.paper.listing import Column
from service.paper.numbered_drawers import (
    Numbered,
    Numbers,
    drawer_of,
    drawers_by_tray,
    listed,
    numbered,
    share_filled,
    sizes_by_code,
)
from service.paper.page import (
    BODY_HEIGHT,
    BODY_TOP,
    BODY_WIDTH,
    LINES_OF_LIST,
    Page,
    list_page,
    new_page,
    side_by_side,
)
from service.paper.panel import Panel
from service.paper.plan_words import plan_in_words, share_words, trays_words
from service.paper.sheet import MARGIN
from service.paper.svg import BODY, LINE_SPACING, RESERVE, SMALL, TRAY, View, fold, text_width, view_on
from service.paper.tray_key import KeyRow, key_panels

#: The most columns and rows of a sheet, and of one where there would be too many sheets to leaf through.
_MOST, _SMALLEST, _SHEETS_LEAFED_THROUGH = (6, 3), (8, 4), 6
_BETWEEN, _CAPTION_LINES, _WALL = 24.0, 3, 4.0
_CAPTION = BODY * LINE_SPACING + (_CAPTION_LINES - 1) * SMALL * LINE_SPACING + 6
_INDEX = "Which tray is in which drawer"
_FILLED = "Filled: the trays' own area as a part of the drawer's inside."


def contact_sheets(request: HousingRequest, plan: HousingPlan, *, title: str = "") -> tuple[str, ...]:
    """Every layout of the plan once, all to one scale, with the numbers of its drawers: SVG sheets of A4 shape.

    The last sheets list every size of tray and the drawers that it went to. ``title`` says whose trays they are.
    """
    numbers = sizes_by_code(request)
    index = list(side_by_side(list(_index(plan, numbers))))
    layouts = list(numbered(plan))
    drawers = [drawer_of(request, shown.layout) for shown in layouts]
    grid = _grid_for(len(layouts), drawers)
    u, per_sheet = _mm_per_unit(drawers, grid), grid.columns * grid.rows
    parts = [layouts[at : at + per_sheet] for at in range(0, len(layouts), per_sheet)]
    about = [title, plan_in_words(plan).capitalize() + "."]
    of = len(parts) + len(index)
    pictures = (_pictures(part, request, (grid, u), about, (at, of)) for at, part in enumerate(parts, start=1))
    lists = (
        list_page(panels, f"contact-{at}", _INDEX, about, at, of)
        for at, panels in enumerate(index, start=len(parts) + 1)
    )
    return (*pictures, *lists)


@dataclass(frozen=True, slots=True)
class _Grid:
    columns: int
    rows: int

    @property
    def cell(self) -> tuple[float, float]:
        """Width and height of one cell, in sheet units."""
        width = (BODY_WIDTH - (self.columns - 1) * _BETWEEN) / self.columns
        return width, (BODY_HEIGHT - (self.rows - 1) * _BETWEEN / 2) / self.rows

    def corner(self, at: int) -> tuple[float, float]:
        width, height = self.cell
        x, y = at % self.columns * (width + _BETWEEN), at // self.columns * (height + _BETWEEN / 2)
        return MARGIN + x, BODY_TOP + y


def _grid_for(layouts: int, drawers: Sequence[DrawerType]) -> _Grid:
    """The grid with the largest pictures."""
    columns, rows = _MOST
    if layouts > columns * rows * _SHEETS_LEAFED_THROUGH:
        return _Grid(*_SMALLEST)
    grids = (_Grid(column, row) for column in range(1, columns + 1) for row in range(1, rows + 1))
    roomy = [grid for grid in grids if grid.columns * grid.rows >= min(layouts, columns * rows)]
    return min(roomy, key=lambda grid: (_mm_per_unit(drawers, grid), grid.columns * grid.rows))


def _mm_per_unit(drawers: Sequence[DrawerType], grid: _Grid) -> float:
    """One scale for all drawers, so that the largest fits its cell."""
    width, height = grid.cell
    room = width - 2 * _WALL, height - _CAPTION - 2 * _WALL
    return max(
        max(drawer.inner_width_nm / NM_PER_MM / room[0], drawer.inner_depth_nm / NM_PER_MM / room[1])
        for drawer in drawers
    )


def _pictures(
    layouts: Sequence[Numbered],
    request: HousingRequest,
    scaled: tuple[_Grid, float],
    about: list[str],
    sheet: tuple[int, int],
) -> str:
    (grid, u), numbers = scaled, sizes_by_code(request)
    page = new_page(f"contact-{sheet[0]}", u, "Contact sheet of drawers", about, *sheet, bar_mm=100)
    for at, shown in enumerate(layouts):
        _picture(page, shown, drawer_of(request, shown.layout), numbers, grid, at)
    reserve = [(RESERVE, "reserve, kept free to grow")] if any(each.layout.reserve for each in layouts) else []
    looks = [(TRAY, "tray"), *reserve, (LEFT_OVER, "left over")]
    page.legend(looks, f"From above, fronts below; all to one scale. {_FILLED} Numbers in trays: see the list after.")
    return page.finished()


def _picture(page: Page, shown: Numbered, drawer: DrawerType, numbers: Numbers, grid: _Grid, at: int) -> None:
    u, (x, y) = page.u, grid.corner(at)
    _caption(page.paper, shown, drawer, (x * u, y * u), grid.cell[0])
    name = f"contact-layout-{shown.number}"
    depth = drawer.inner_depth_nm / NM_PER_MM
    view = view_on(page.root, name, (x + _WALL) * u, (y + _CAPTION + _WALL) * u + depth, mm_per_unit=u)
    draw_layout(view, shown.layout, drawer, numbers, _WALL, in_full=False)


def _caption(paper: View, shown: Numbered, drawer: DrawerType, corner: tuple[float, float], room: float) -> None:
    (x, y), u, layout = corner, paper.units(1), shown.layout
    head = fold(listed(range(shown.first, shown.last + 1)), BODY, room, bold=True, most=1)
    paper.text(x, y + (BODY - 2) * u, head[0], BODY, bold=True)
    times = f"× {layout.drawers:,}, " if layout.drawers > 1 else ""
    share = f"{trays_words(len(layout.placed))}, {share_words(share_filled(layout, drawer))}"
    filled = f"{share} filled" if text_width(f"{share} filled", SMALL) <= room else share
    for line, text in enumerate((f"{times}type {drawer.code}", filled), start=1):
        below = y + (BODY - 2 + line * SMALL * LINE_SPACING) * u
        paper.text(x, below, (fold(text, SMALL, room, most=1) or [""])[0], SMALL)


def _index(plan: HousingPlan, numbers: Numbers) -> Iterator[Panel]:
    """Every size of tray and the drawers that it went to; the panels' units are millimetres."""
    drawers = drawers_by_tray(plan)
    rows = [
        KeyRow(number, tray, f"{tray.count:,} in {listed(drawers[code])}" if code in drawers else "none")
        for code, (number, tray) in numbers.items()
    ]
    return key_panels(rows, "Trays, in mm", Column("How many, in which drawers"), "index", 1.0, LINES_OF_LIST)
