"""One part of a drawing with its heading, and how the parts stand on a sheet."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM, written_mm
from service.paper.svg import HEADING, LINE_SPACING, SMALL, Hatch, View, fold, text_width, view_on
from service.paper.wording import MEMORY_MARK, UNKNOWN

_HEADING_ROOM = 520.0
_GAP_UNDER_HEADING = 22.0
#: How far dimension lines stand from what they measure, and from each other, in sheet units.
LANE = 27.0
#: A wall's thickness is not a fact we have: its hatching is a band of this many sheet units, whatever the scale.
WALL = 12.0


@dataclass(slots=True)
class Panel:
    """A part of the drawing under a heading. Sizes are in the sheet's millimetres; ``views`` is what it shows."""

    name: str
    mm_per_unit: float
    group: ET.Element
    width: float = 0.0
    height: float = 0.0
    top: float = 0.0
    views: list[View] = field(default_factory=list)

    @property
    def paper(self) -> View:
        """For type beside the views, at the sheet's own scale."""
        return View(self.group, f"{self.name}-paper", 1 / self.mm_per_unit)

    def view(self, left: float, above: float, enlarged: float = 1.0) -> View:
        """A view with ``left`` and ``above`` sheet units kept free beside and over its origin."""
        name = f"{self.name}-{len(self.views) + 1}"
        x, y = left * self.mm_per_unit, self.top + above * self.mm_per_unit
        view = view_on(self.group, name, x, y, enlarged, self.mm_per_unit)
        self.views.append(view)
        return view

    def reach(self, right: float, bottom: float) -> None:
        """Make sure that the panel goes as far as this, in the sheet's millimetres from its own corner."""
        self.width, self.height = max(self.width, right), max(self.height, bottom)

    def notes(self, sentences: Iterable[str], left: float = 0.0) -> None:
        """Small print under everything drawn so far."""
        paper, u = self.paper, self.mm_per_unit
        room = max(self.width / u - left, _HEADING_ROOM / 2)
        for sentence in sentences:
            for line in fold(sentence, SMALL, room):
                self.height += SMALL * LINE_SPACING * u
                paper.text(left * u, self.height, line, SMALL)
                self.reach(left * u + text_width(line, SMALL) * u, self.height)

    @property
    def hatches(self) -> set[Hatch]:
        return {hatch for view in self.views for hatch in view.hatches}


def new_panel(name: str, heading: str, mm_per_unit: float) -> Panel:
    """An empty panel; the heading takes two lines at most."""
    panel = Panel(name, mm_per_unit, ET.Element("g", {"id": name}))
    lines = fold(heading, HEADING, _HEADING_ROOM, bold=True, most=2)
    below = panel.paper.paragraph(0, HEADING * mm_per_unit, lines, HEADING, bold=True)
    panel.top = below - HEADING * mm_per_unit + _GAP_UNDER_HEADING * mm_per_unit
    widest = max(text_width(line, HEADING, bold=True) for line in lines)
    panel.reach((widest + HEADING) * mm_per_unit, panel.top)
    return panel


def at_most(name: str, dimension: Dimension | None, side: str = "") -> str:
    """The label of a thing's dimension, at the largest it may be: ``drawer 419.1 mm``, ``drawer height unknown``.

    ``side`` is only said where the figure is unknown; elsewhere the dimension line shows it.
    """
    return _labelled(name, dimension, None if dimension is None else dimension.largest_nm, side)


def at_least(name: str, dimension: Dimension | None, side: str = "") -> str:
    """The label of a space's dimension, at the least it may be: ``opening 419.1 mm``, ``opening depth unknown``."""
    return _labelled(name, dimension, None if dimension is None else dimension.smallest_nm, side)


def _labelled(name: str, dimension: Dimension | None, nm: int | None, side: str) -> str:
    if dimension is None or nm is None:
        return " ".join(part for part in (name, side, UNKNOWN) if part)
    return f"{name} {written_mm(nm)}{MEMORY_MARK if dimension.is_from_memory else ''}".strip()


def largest_mm(dimension: Dimension | None) -> float | None:
    return None if dimension is None else dimension.largest_nm / NM_PER_MM


def smallest_mm(dimension: Dimension | None) -> float | None:
    return None if dimension is None else dimension.smallest_nm / NM_PER_MM
