"""The drawing of one drawer of a housing plan, to scale, to pin to the cabinet."""

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest
from service.paper.drawn_layout import LEFT_OVER, layout_panel
from service.paper.listing import Column
from service.paper.numbered_drawers import (
    Numbered,
    Numbers,
    drawer_of,
    layout_numbered,
    listed,
    share_filled,
    sizes_by_code,
)
from service.paper.panel import Panel
from service.paper.plan_words import plan_in_words, share_words, trays_words
from service.paper.sheet import MARGIN, best_width, stand_together
from service.paper.svg import (
    BODY,
    LINE_SPACING,
    OUTLINE,
    RESERVE,
    SMALL,
    SOLID,
    TITLE,
    TRAY,
    Look,
    View,
    blank_sheet,
    finish,
    fold,
)
from service.paper.tray_key import counted, key_panels

#: The longer side of the drawer's inside takes this many sheet units.
_LONGER_SIDE_UNITS = 760.0
_STRIP_AND_LEGEND = 250.0
_COUNT_BOX = 250.0
_HERE = Column("Here", figures=True)


def drawer_drawing(request: HousingRequest, plan: HousingPlan, layout: int, *, title: str = "") -> str:
    """The layout with this number, from 1, as an SVG sheet; its viewBox counts millimetres of the drawer.

    Every tray stands in its place with its number and, where there is room, its label and size; a list says the rest.
    The reserve is hatched, what is left over is grey, and both are dimensioned. ``title`` says whose trays they are.

    :raises LookupError: when the plan has no such layout.
    """
    shown = layout_numbered(plan, layout)
    drawer, numbers = drawer_of(request, shown.layout), sizes_by_code(request)
    u = max(drawer.inner_width_nm, drawer.inner_depth_nm) / 1e6 / _LONGER_SIDE_UNITS
    name = f"layout-{layout}"
    panels: list[Panel] = [
        layout_panel(request, shown.layout, drawer, numbers, f"{name}-drawer", u),
        *key_panels(counted(shown.layout.counts, numbers), "Trays in this drawer, in mm", _HERE, f"{name}-key", u),
    ]
    width = best_width(panels, u, _STRIP_AND_LEGEND)
    root = blank_sheet(name, f"{shown.drawers_words}, type {drawer.code}", f"{title}. {_described(plan, shown)}")
    paper = View(ET.SubElement(root, "g", {"id": f"{name}-sheet"}), f"{name}-sheet", 1 / u)
    top = _title_strip(paper, plan, shown, drawer, title, width)
    bottom = stand_together(root, panels, top + 30 * u, width, u)
    bottom = _legend(paper, shown, bottom + 20 * u, width, list(_cautions(plan, shown, numbers)))
    return finish(root, width, bottom + MARGIN * u, u)


def _described(plan: HousingPlan, shown: Numbered) -> str:
    return f"Layout {shown.number} of {len(plan.layouts)}. The plan: {plan_in_words(plan)}."


def _title_strip(
    paper: View, plan: HousingPlan, shown: Numbered, drawer: DrawerType, title: str, width: float
) -> float:
    """Which drawers these are, and how full, across the top of the sheet; gives where the strip ends."""
    u, left = paper.units(1), MARGIN * paper.units(1)
    room = width / u - 2 * MARGIN - _COUNT_BOX - 40
    y = left + TITLE * u
    y = paper.paragraph(left, y, fold(shown.drawers_words, TITLE, room, bold=True), TITLE, bold=True)
    alike = f"{shown.layout.drawers:,} drawers alike, type" if shown.layout.drawers > 1 else "type"
    for text, most in ((f"{alike} {drawer.code}", 2), (title, 2), (_described(plan, shown), 3)):
        y = paper.paragraph(left, y, fold(text, BODY, room, most=most))
    bottom = max(y, _count_box(paper, shown, drawer, width - left - _COUNT_BOX * u, left)) + 8 * u
    paper.line(left, bottom, width - left, bottom, OUTLINE)
    return bottom


def _count_box(paper: View, shown: Numbered, drawer: DrawerType, x: float, y: float) -> float:
    u, trays = paper.units(1), len(shown.layout.placed)
    height = TITLE * LINE_SPACING + SMALL * LINE_SPACING + 16
    paper.rect(x, y, _COUNT_BOX * u, height * u, Look(3.0, fill="#fff"), "count")
    paper.text(x + 12 * u, y + (TITLE + 4) * u, trays_words(trays), TITLE, bold=True)
    filled = f"{share_words(share_filled(shown.layout, drawer))} of the inside filled"
    paper.text(x + 12 * u, y + (TITLE + 4 + SMALL * LINE_SPACING + 4) * u, filled, SMALL)
    bar = y + (height + 34) * u
    paper.scale_bar(x, bar, 100)
    return bar


def _cautions(plan: HousingPlan, shown: Numbered, numbers: Numbers) -> Iterator[str]:
    unknown = set(plan.heights_unknown)
    trays = [numbers[code][0] for code in shown.layout.counts if code in unknown]
    whose = ["of this type of drawer"] if shown.layout.drawer in unknown else []
    whose += [f"of {'trays' if len(trays) > 1 else 'tray'} {listed(trays)}"] if trays else []
    if whose:
        yield f"Nobody has stated the height {' and '.join(whose)}: look whether the lid closes."


def _legend(paper: View, shown: Numbered, y: float, width: float, notes: list[str]) -> float:
    u = paper.units(1)
    y, x = y + (BODY + 10) * u, MARGIN * u
    looks = [(TRAY, "tray"), (RESERVE, "reserve, kept free to grow"), (LEFT_OVER, "left over"), (SOLID, _WALL)]
    for look, label in looks:
        if look is not RESERVE or shown.layout.reserve is not None:
            x = paper.swatch(x, y, look, label)
    lines = [line for note in [*notes, _HOW_TO_READ] for line in fold(note, SMALL, width / u - 2 * MARGIN)]
    return paper.paragraph(MARGIN * u, y + 28 * u, lines, SMALL)


_WALL = "wall (thickness not to scale)"
_HOW_TO_READ = "To scale, print at any size. Bold numbers are those of the list; trays are read from the front left."
