"""The drawing of one line of a fit check, to scale, to pin to the cabinet door."""

from collections.abc import Iterable, Iterator
from xml.etree import ElementTree as ET

from service.core.consignment import Line
from service.core.fit.answer import LineAnswer
from service.core.materials import plainly
from service.core.measure.dimension import Size
from service.core.standards import StorageSystem
from service.paper.drawn_corner import corner_panel
from service.paper.drawn_front import front_panel
from service.paper.drawn_pin import pin_panel, stacks
from service.paper.drawn_plan import plan_panel
from service.paper.drawn_trays import tray_panel
from service.paper.panel import Panel, largest_mm
from service.paper.sheet import MARGIN, best_width, stand_together
from service.paper.standing import Standing, standing
from service.paper.svg import (
    BODY,
    LINE_SPACING,
    OUTLINE,
    OVERLAP,
    RESERVE,
    SMALL,
    SOFT,
    SOLID,
    TITLE,
    Hatch,
    Look,
    View,
    blank_sheet,
    finish,
    fold,
)
from service.paper.wording import (
    MEMORY_MARK,
    MEMORY_NOTE,
    VERDICT_MEANING,
    decider,
    printable,
    reason_with_margin,
    verdict_words,
)

#: Roughly what the title strip and the legend take, to choose a width by.
_STRIP_AND_LEGEND = 330.0
#: The largest side of what is drawn takes this many sheet units, so that type is in proportion on every sheet.
_LARGEST_SIDE_UNITS = 420.0
_LEAST_MM_PER_UNIT = 0.7
_VERDICT_BOX = 360.0
_LEGEND = {
    Hatch.OVERLAP: (OVERLAP, "does not fit"),
    Hatch.RESERVE: (RESERVE, "kept free to grow"),
    Hatch.SOLID: (SOLID, "wall, floor or board (thickness not to scale)"),
    Hatch.SOFT: (SOFT, "pinning bottom"),
}


def fit_drawing(line: Line, answer: LineAnswer, system: StorageSystem, *, system_name: str = "") -> str:
    """One line held against one storage system, as an SVG sheet; its viewBox counts millimetres of the thing drawn.

    Shows, as far as the facts go: the container in its place from the front and from above, with the tight corner
    enlarged; the incoming trays in the receiver's drawer; and a section through a pin under the lid. The container
    is drawn at the largest and the room at the least that anybody has reason to expect, as the rules compare them.
    A dimension that nobody knows is written as unknown and not drawn.
    """
    name = f"line-{answer.line}"
    u = _mm_per_unit(line, answer, system)
    panels = list(_panels(line, answer, system, name, u))
    head = f"Line {answer.line}: {answer.count:,} × {plainly(answer.container)}"
    root = blank_sheet(name, f"{head}, {verdict_words(answer)}", _described(line, answer, system_name))
    width = best_width(panels, u, _STRIP_AND_LEGEND)
    paper = View(ET.SubElement(root, "g", {"id": f"{name}-sheet"}), f"{name}-sheet", 1 / u)
    top = _title_strip(paper, head, line, answer, system_name, width)
    bottom = stand_together(root, panels, top + 30 * u, width, u)
    bottom = _legend(paper, panels, bottom + 20 * u, MEMORY_MARK in "".join(root.itertext()))
    return finish(root, width, bottom + MARGIN * u, u)


def _panels(line: Line, answer: LineAnswer, system: StorageSystem, name: str, u: float) -> Iterator[Panel]:
    stand = standing(line, answer, system)
    if stand is not None:
        yield from _cabinet_panels(stand, answer.turned, name, u)
    for number, fit in enumerate(answer.tray_fits, start=1):
        yield tray_panel(fit, system, f"{name}-trays-{number}", u)
    for number, stack in enumerate(stacks(line, answer, system), start=1):
        yield pin_panel(stack, f"{name}-pin-{number}", u)


def _cabinet_panels(stand: Standing, turned: bool, name: str, u: float) -> Iterator[Panel]:
    """The front view, the enlarged corner where the sides are known, and the plan: both ways round when turned."""
    as_drawn = stand.turned_round() if turned else stand
    yield front_panel(as_drawn, f"{name}-front", u)
    if (corner := corner_panel(as_drawn, f"{name}-corner", u)) is not None:
        yield corner
    yield plan_panel(stand, f"{name}-plan", u)
    if turned:
        yield plan_panel(as_drawn, f"{name}-turned", u)


def _mm_per_unit(line: Line, answer: LineAnswer, system: StorageSystem) -> float:
    drawers = [system.drawer(fit.drawer) for fit in answer.tray_fits]
    sizes = [line.outer, *(drawer.inner for drawer in drawers if drawer)]
    stand = standing(line, answer, system)
    if stand is not None:
        sizes.append(Size(stand.room.width, stand.room.depth))
    sides = [largest_mm(side) or 0.0 for size in sizes for side in (size.width, size.depth, size.height)]
    return max(_LEAST_MM_PER_UNIT, max(sides) / _LARGEST_SIDE_UNITS)


def _described(line: Line, answer: LineAnswer, system_name: str) -> str:
    finding = decider(answer)
    parts = [line.description, system_name, reason_with_margin(finding) if finding else ""]
    return " ".join(printable(part).rstrip(".") + "." for part in parts if part)


def _title_strip(paper: View, head: str, line: Line, answer: LineAnswer, system_name: str, width: float) -> float:
    """Line, verdict and scale bar across the top of the sheet; gives where the strip ends."""
    u, left = paper.units(1), MARGIN * paper.units(1)
    room = width / u - 2 * MARGIN - _VERDICT_BOX - 40
    y = left + paper.units(TITLE)
    y = paper.paragraph(left, y, fold(head, TITLE, room, bold=True, most=2), TITLE, bold=True)
    for text, most in ((line.description, 2), (f"In: {system_name}" if system_name else "", 1), (_why(answer), 4)):
        y = paper.paragraph(left, y, fold(text, BODY, room, most=most))
    box_bottom = _verdict_box(paper, answer, width - left - paper.units(_VERDICT_BOX), left)
    bottom = max(y, box_bottom) + 8 * u
    paper.line(left, bottom, width - left, bottom, OUTLINE)
    return bottom


def _why(answer: LineAnswer) -> str:
    finding = decider(answer)
    if finding is None:
        return ""
    return reason_with_margin(finding) + (f" {MEMORY_MARK}" if finding.rests_on_memory else "")


def _verdict_box(paper: View, answer: LineAnswer, x: float, y: float) -> float:
    u = paper.units(1)
    words = fold(verdict_words(answer), TITLE, _VERDICT_BOX - 24, bold=True)
    meaning = fold(VERDICT_MEANING[answer.verdict], SMALL, _VERDICT_BOX - 24)
    height = (len(words) * TITLE + len(meaning) * SMALL) * LINE_SPACING + 16
    paper.rect(x, y, _VERDICT_BOX * u, height * u, Look(3.0, fill="#fff"), "verdict")
    below = paper.paragraph(x + 12 * u, y + (TITLE + 4) * u, words, TITLE, bold=True)
    paper.paragraph(x + 12 * u, below - (TITLE - SMALL) * u, meaning, SMALL)
    bar = y + (height + 34) * u
    paper.scale_bar(x, bar, 100)
    paper.text(x + 100 + 12 * u, bar, "in views not enlarged", SMALL)
    return bar


def _legend(paper: View, panels: Iterable[Panel], y: float, from_memory: bool) -> float:
    u = paper.units(1)
    y, x = y + (BODY + 10) * u, MARGIN * u
    used = {hatch for panel in panels for hatch in panel.hatches}
    for hatch, (look, label) in _LEGEND.items():
        if hatch in used:
            x = paper.swatch(x, y, look, label)
    notes = ["Containers are drawn at the largest they may be, the room for them at the least; print at any size."]
    return paper.paragraph(MARGIN * u, y + 28 * u, [*notes, MEMORY_NOTE] if from_memory else notes, SMALL)
