"""Sheets in the shape of A4 lying on its side, for drawings that take several."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from xml.etree import ElementTree as ET

from service.paper.panel import Panel
from service.paper.sheet import GUTTER, MARGIN
from service.paper.svg import (
    BODY,
    LINE_SPACING,
    OUTLINE,
    SMALL,
    TITLE,
    Look,
    View,
    blank_sheet,
    finish,
    fold,
    text_width,
)

#: In sheet units, so that a unit is about a fifth of a millimetre on A4.
PAGE_WIDTH, PAGE_HEIGHT = 1400.0, 990.0
#: What head and foot leave of a page's height.
HEAD, FOOT = 136.0, 64.0
BODY_WIDTH, BODY_HEIGHT = PAGE_WIDTH - 2 * MARGIN, PAGE_HEIGHT - HEAD - FOOT - 2 * MARGIN
BODY_TOP = MARGIN + HEAD
#: Lines of a list under its heading that the body holds.
LINES_OF_LIST = 30


@dataclass(slots=True)
class Page:
    """A page under way; ``u`` is millimetres of what is drawn to a sheet unit. Its body begins at ``BODY_TOP``."""

    root: ET.Element
    paper: View
    u: float

    def finished(self) -> str:
        return finish(self.root, PAGE_WIDTH * self.u, PAGE_HEIGHT * self.u, self.u)

    def legend(self, looks: list[tuple[Look, str]], note: str) -> None:
        """What the shapes mean, at the foot."""
        u = self.u
        y, x = (PAGE_HEIGHT - MARGIN - SMALL * LINE_SPACING - 8) * u, MARGIN * u
        for look, label in looks:
            x = self.paper.swatch(x, y, look, label)
        self.paper.text(MARGIN * u, (PAGE_HEIGHT - MARGIN) * u, note, SMALL)


def new_page(name: str, u: float, head: str, sentences: list[str], number: int, of: int, bar_mm: int | None) -> Page:
    """A page with its head: what it shows, up to three lines under it, its number, and a scale bar where it has a
    scale."""
    which = f"sheet {number} of {of}"
    root = blank_sheet(name, f"{head}, {which}", " ".join(sentences))
    paper = View(ET.SubElement(root, "g", {"id": f"{name}-sheet"}), f"{name}-sheet", 1 / u)
    page = Page(root, paper, u)
    room = BODY_WIDTH - 260
    y = paper.paragraph(
        MARGIN * u, (MARGIN + TITLE - 6) * u, fold(head, TITLE, room, bold=True, most=1), TITLE, bold=True
    )
    lines = [line for sentence in sentences if sentence for line in fold(sentence, BODY, room, most=2)]
    paper.paragraph(MARGIN * u, y - 4 * u, lines[:3], BODY)
    right = (PAGE_WIDTH - MARGIN) * u
    paper.text(right, (MARGIN + TITLE - 6) * u, which, BODY, "end")
    if bar_mm is not None:
        paper.scale_bar(right - max(bar_mm, text_width(f"{bar_mm} mm", SMALL) * u), (MARGIN + 92) * u, bar_mm)
    paper.line(MARGIN * u, (MARGIN + HEAD - 30) * u, right, (MARGIN + HEAD - 30) * u, OUTLINE)
    return page


def side_by_side(panels: Sequence[Panel]) -> Iterator[list[Panel]]:
    """Panels drawn at a millimetre to a unit, as many together as the width of a page takes."""
    page: list[Panel] = []
    used = 0.0
    for panel in panels:
        if page and used + panel.width > BODY_WIDTH:
            yield page
            page, used = [], 0.0
        page.append(panel)
        used += panel.width + GUTTER
    if page:
        yield page


def list_page(panels: Sequence[Panel], name: str, head: str, sentences: list[str], number: int, of: int) -> str:
    """A page with nothing but these lists."""
    page = new_page(name, 1.0, head, sentences, number, of, bar_mm=None)
    x = MARGIN
    for panel in panels:
        panel.group.set("transform", f"translate({x:.3f} {BODY_TOP:.3f})")
        page.root.append(panel.group)
        x += panel.width + GUTTER
    return page.finished()
