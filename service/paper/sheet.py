"""How the parts of a drawing stand together on one sheet, so that it prints as large as may be on A4."""

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

from service.paper.panel import Panel

#: In sheet units: how wide a sheet may be, the margin all round, and the space between views.
SHEET_WIDTHS, MARGIN, GUTTER = range(1000, 2300, 50), 40.0, 44.0
#: ISO 216 A4, 210 mm by 297 mm, less 10 mm all round.
A4_PRINTABLE_MM = (190.0, 277.0)
#: The left, top, right and bottom of room already taken on a sheet, with the gutter to the right and below.
_Taken = tuple[float, float, float, float]


def best_width(panels: Sequence[Panel], u: float, strip_and_legend: float) -> float:
    """The width at which the sheet prints largest on A4, either way up.

    ``u`` is millimetres to a sheet unit; ``strip_and_legend`` is roughly what else the height holds, in units.
    """
    widest = max((panel.width for panel in panels), default=0.0)
    widths = [units * u for units in SHEET_WIDTHS if units * u >= widest + 2 * MARGIN * u]
    return max(
        widths,
        key=lambda width: _print_scale(panels, width, u, strip_and_legend),
        default=widest + 2 * MARGIN * u,
    )


def _print_scale(panels: Iterable[Panel], width: float, u: float, strip_and_legend: float) -> float:
    lowest = max((place[3] for place in _places(panels, width, u)), default=0.0)
    height = lowest + strip_and_legend * u
    short, long = A4_PRINTABLE_MM
    return max(min(short / width, long / height), min(long / width, short / height))


def stand_together(root: ET.Element, panels: Sequence[Panel], top: float, width: float, u: float) -> float:
    """Set the panels on the sheet; gives the lowest edge."""
    taken = _places(panels, width, u)
    for panel, (x, y, _, _) in zip(panels, taken, strict=True):
        panel.group.set("transform", f"translate({x:.3f} {top + y:.3f})")
        root.append(panel.group)
    return top + max((bottom - GUTTER * u for *_, bottom in taken), default=0.0)


def _places(panels: Iterable[Panel], width: float, u: float) -> list[_Taken]:
    """Each panel as high as it goes, then as far left, measured down from the title strip."""
    taken: list[_Taken] = []
    for panel in panels:
        x, y = _highest_place(panel, taken, 0.0, width, u)
        taken.append((x, y, x + panel.width + GUTTER * u, y + panel.height + GUTTER * u))
    return taken


def _highest_place(panel: Panel, taken: list[_Taken], top: float, width: float, u: float) -> tuple[float, float]:
    """The first free place among the corners that the panels before it leave."""
    left, edge = MARGIN * u, width - MARGIN * u
    columns = sorted({left, *(right for _, _, right, _ in taken)})
    rows = sorted({top, *(bottom for *_, bottom in taken)})
    places = ((x, y) for y in rows for x in columns if x == left or x + panel.width <= edge)
    return next(place for place in places if not any(_overlaps(place, panel, other, u) for other in taken))


def _overlaps(place: tuple[float, float], panel: Panel, other: _Taken, u: float) -> bool:
    (x, y), (left, top, right, bottom), gutter = place, other, GUTTER * u
    return x < right and x + panel.width + gutter > left and y < bottom and y + panel.height + gutter > top
