"""Drawings to scale in SVG, from a few primitives.

One unit of a view is one millimetre of the thing drawn. Type, strokes and arrows keep one size on the sheet
however far a view is enlarged. Everything reads in black and white: a line's style and a hatching carry the
meaning, never a colour alone. There are no scripts and no outside references in what is written here.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from xml.etree import ElementTree as ET

from service.paper.wording import printable

NAMESPACE = "http://www.w3.org/2000/svg"
FONT = "Helvetica, Arial, 'DejaVu Sans', sans-serif"
#: Sizes of type in sheet units; a sheet of 1,500 units on A4 across puts 15 units at about eight points.
BODY, SMALL, HEADING, TITLE = 15.0, 13.0, 18.0, 26.0
LINE_SPACING = 1.3
ARROW_LENGTH, ARROW_HALF_WIDTH, EXTENSION = 9.0, 2.8, 4.0

#: How wide a character is at most, in parts of the type size, over the fonts named above.
_EM_WIDE, _EM_CAPITAL, _EM_SMALL, _EM_THIN = 1.05, 0.78, 0.63, 0.4
_THIN = frozenset(" .,:;'|!ijlI()[]-")
_BOLD_FACTOR = 1.12


class Hatch(StrEnum):
    """What a hatched area means."""

    OVERLAP = "overlap"
    RESERVE = "reserve"
    SOLID = "solid"
    SOFT = "soft"


@dataclass(frozen=True, slots=True)
class Look:
    """How a shape is drawn: ``width`` and ``dash`` in sheet units, ``fill`` a grey, a hatch or nothing."""

    width: float = 1.2
    dash: tuple[float, ...] = ()
    fill: Hatch | str = "none"
    stroke: str = "#000"


OUTLINE = Look(2.2)
THIN = Look(0.9)
FAINT = Look(0.7, stroke="#555")
HIDDEN = Look(1.3, (7, 4))
THING = Look(2.2, fill="#f2f2f2")
TRAY = Look(1.1, fill="#fff")
OVERLAP = Look(1.4, fill=Hatch.OVERLAP)
RESERVE = Look(1.1, fill=Hatch.RESERVE)
SOLID = Look(1.0, fill=Hatch.SOLID)
SOFT = Look(1.0, fill=Hatch.SOFT)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """The most room a line of text takes in any of the fonts it may be set in, in the units of ``size``."""
    em = sum(_em(character) for character in text)
    return em * size * (_BOLD_FACTOR if bold else 1)


def _em(character: str) -> float:
    if unicodedata.combining(character):
        return 0
    if unicodedata.east_asian_width(character) in {"W", "F"} or character in "mwMW@%":
        return _EM_WIDE
    if character in _THIN:
        return _EM_THIN
    return _EM_CAPITAL if character.isupper() else _EM_SMALL


def fold(text: str, size: float, room: float, bold: bool = False, most: int | None = None) -> list[str]:
    """The text in lines that are no wider than ``room``; words too long for one are cut, and past ``most`` lines
    an ellipsis says that there is more."""
    lines = [""]
    for word in _pieces(printable(text).split(), size, room, bold):
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    lines = [line for line in lines if line]
    return lines if most is None or len(lines) <= most else [*lines[: most - 1], lines[most - 1] + " …"]


def _pieces(words: Iterable[str], size: float, room: float, bold: bool) -> Iterable[str]:
    for word in words:
        piece = ""
        for character in word:
            if piece and text_width(piece + character, size, bold) > room:
                yield piece
                piece = ""
            piece += character
        yield piece


def _figure(number: float) -> str:
    """A coordinate to a thousandth of a millimetre, which is a thousandth of what anybody can saw."""
    written = f"{number:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def element(parent: ET.Element, tag: str, **attributes: object) -> ET.Element:
    """A child of ``parent``; underscores in names stand for hyphens, and numbers are written short."""
    written = {
        name.strip("_").replace("_", "-"): _figure(value) if isinstance(value, int | float) else str(value)
        for name, value in attributes.items()
        if value is not None
    }
    return ET.SubElement(parent, tag, written)


@dataclass(slots=True)
class View:
    """One part of a sheet, drawn in its own millimetres.

    ``per_mm`` is how many sheet units one millimetre takes: type is set in sheet units. ``name`` is unique on a
    page, so that two drawings can stand on one.
    """

    group: ET.Element
    name: str
    per_mm: float = 1.0
    hatches: set[Hatch] = field(default_factory=set)

    def units(self, on_sheet: float) -> float:
        """A length on the sheet, in the millimetres of this view."""
        return on_sheet / self.per_mm

    def rect(
        self, x: float, y: float, width: float, height: float, look: Look = OUTLINE, role: str = ""
    ) -> ET.Element:
        """A rectangle from its top left corner; ``role`` names it for style sheets and for tests."""
        attributes = self._look(look)
        return element(self.group, "rect", class_=role or None, x=x, y=y, width=width, height=height, **attributes)

    def line(self, x1: float, y1: float, x2: float, y2: float, look: Look = THIN, role: str = "") -> ET.Element:
        attributes = self._look(look)
        return element(self.group, "line", class_=role or None, x1=x1, y1=y1, x2=x2, y2=y2, **attributes)

    def dot(self, x: float, y: float, radius: float, role: str = "") -> None:
        """A filled circle; ``radius`` in sheet units."""
        element(self.group, "circle", class_=role or None, cx=x, cy=y, r=self.units(radius), fill="#000")

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float = BODY,
        anchor: str = "start",
        bold: bool = False,
        upright: bool = False,
    ) -> None:
        """One line of text with its baseline at ``y``; ``upright`` turns it to read from the bottom up."""
        turn = f"rotate(-90 {_figure(x)} {_figure(y)})" if upright else None
        written = element(
            self.group,
            "text",
            x=x,
            y=y,
            font_size=self.units(size),
            text_anchor=anchor,
            font_weight="bold" if bold else None,
            transform=turn,
            # A pale edge keeps a figure legible where it must cross a line.
            stroke="#fff",
            stroke_width=self.units(3),
            paint_order="stroke",
        )
        written.text = printable(text)

    def paragraph(self, x: float, y: float, lines: Sequence[str], size: float = BODY, bold: bool = False) -> float:
        """Lines of text below each other, the first with its baseline at ``y``; gives the next free baseline."""
        for line in lines:
            self.text(x, y, line, size, bold=bold)
            y += self.units(size * LINE_SPACING)
        return y

    def across(
        self,
        x1: float,
        x2: float,
        feature_y: float,
        at_y: float,
        label: str,
        before: bool = False,
        clear_of: float | None = None,
    ) -> None:
        """A dimension from ``x1`` to ``x2``, drawn at ``at_y``, with thin lines from the thing at ``feature_y``.

        A label too long to stand between the arrows goes after them, or ``before`` them. ``clear_of`` is where
        another line crosses this one: the label then stands between ``x1`` and there, if it fits.
        """
        self._extensions((x1, x2), feature_y, at_y, flat=True)
        inside = abs(x2 - x1) >= self.units(text_width(label, SMALL) + 4)
        self._arrows(min(x1, x2), max(x1, x2), at_y, flat=True)
        if inside:
            self.text(self._label_centre(x1, x2, label, clear_of), at_y - self.units(4), label, SMALL, "middle")
            return
        gap = self.units(2 * ARROW_LENGTH + 4)
        x, anchor = (min(x1, x2) - gap, "end") if before else (max(x1, x2) + gap, "start")
        self.text(x, at_y + self.units(SMALL / 3), label, SMALL, anchor)

    def along(
        self,
        y1: float,
        y2: float,
        feature_x: float,
        at_x: float,
        label: str,
        left: bool = False,
        level: bool = False,
        clear_of: float | None = None,
    ) -> None:
        """A dimension from ``y1`` to ``y2``, drawn at ``at_x``; the label reads upwards where it fits between the
        arrows, and else, or when it must be ``level``, stands to the right of them, or to the ``left``.

        ``clear_of`` is where another line crosses this one: the label then stands between there and ``y2``.
        """
        self._extensions((y1, y2), feature_x, at_x, flat=False)
        self._arrows(min(y1, y2), max(y1, y2), at_x, flat=False)
        middle = (y1 + y2) / 2
        if not level and abs(y2 - y1) >= self.units(text_width(label, SMALL) + 4):
            centre = self._label_centre(y2, y1, label, clear_of)
            self.text(at_x - self.units(4), centre, label, SMALL, "middle", upright=True)
            return
        gap = self.units(-8 if left else 8)
        self.text(at_x + gap, middle + self.units(SMALL / 3), label, SMALL, "end" if left else "start")

    def _label_centre(self, start: float, end: float, label: str, clear_of: float | None) -> float:
        """The middle of the dimension, or of the part of it before the line that crosses."""
        fits = clear_of is not None and abs(clear_of - start) >= self.units(text_width(label, SMALL) + 4)
        return (start + (clear_of if clear_of is not None and fits else end)) / 2

    def scale_bar(self, x: float, y: float, mm: int) -> None:
        """A bar of ``mm`` millimetres in two halves, true at whatever size the sheet is printed."""
        height = self.units(6)
        self.rect(x, y - height, mm / 2, height, Look(1.2, fill="#000"), "scale-bar")
        self.rect(x + mm / 2, y - height, mm / 2, height, Look(1.2, fill="#fff"), "scale-bar")
        self.text(x, y - height - self.units(4), f"{mm} mm", SMALL)

    def swatch(self, x: float, y: float, look: Look, label: str) -> float:
        """One entry of a legend with its baseline at ``y``; gives where the next may start."""
        side, gap = self.units(BODY), self.units(8)
        self.rect(x, y - side + self.units(2), side * 1.6, side, look)
        self.text(x + side * 1.6 + gap, y, label, SMALL)
        return x + side * 1.6 + gap + self.units(text_width(label, SMALL) + 24)

    def _extensions(self, ends: Iterable[float], feature: float, at: float, flat: bool) -> None:
        if abs(at - feature) < self.units(EXTENSION):
            return
        sign = 1 if at > feature else -1
        start, stop = feature + sign * self.units(2), at + sign * self.units(EXTENSION)
        for end in ends:
            self.line(*((end, start, end, stop) if flat else (start, end, stop, end)), FAINT)

    def _arrows(self, first: float, second: float, at: float, flat: bool) -> None:
        """A line with an arrow at each end; where it is too short for two, they point at it from outside."""
        inside = second - first >= self.units(2.5 * ARROW_LENGTH)
        reach = 0 if inside else self.units(2 * ARROW_LENGTH)
        ends = (first - reach, second + reach)
        self.line(*((ends[0], at, ends[1], at) if flat else (at, ends[0], at, ends[1])), THIN, "dimension")
        for tip, outward in ((first, -1), (second, 1)):
            self._arrow(tip, at, outward if inside else -outward, flat)

    def _arrow(self, tip: float, at: float, direction: int, flat: bool) -> None:
        back, half = tip - direction * self.units(ARROW_LENGTH), self.units(ARROW_HALF_WIDTH)
        corners = [(tip, at), (back, at - half), (back, at + half)]
        points = " ".join(
            f"{_figure(along)},{_figure(beside)}" if flat else f"{_figure(beside)},{_figure(along)}"
            for along, beside in corners
        )
        element(self.group, "polygon", points=points, fill="#000")

    def _look(self, look: Look) -> dict[str, object]:
        fill = self._hatch(look.fill) if isinstance(look.fill, Hatch) else look.fill
        dash = " ".join(_figure(self.units(part)) for part in look.dash) or None
        return {
            "fill": fill,
            "stroke": look.stroke,
            "stroke_width": self.units(look.width),
            "stroke_dasharray": dash,
        }

    def _hatch(self, hatch: Hatch) -> str:
        identifier = f"{self.name}-{hatch.value}"
        if hatch not in self.hatches:
            self.hatches.add(hatch)
            self._pattern(hatch, identifier)
        return f"url(#{identifier})"

    def _pattern(self, hatch: Hatch, identifier: str) -> None:
        """Overlap is a close cross-hatch, reserve wide slanting lines, a wall or board close ones, foam dots."""
        side = self.units({Hatch.OVERLAP: 6, Hatch.RESERVE: 12, Hatch.SOLID: 5, Hatch.SOFT: 7}[hatch])
        turn = {Hatch.OVERLAP: 45, Hatch.RESERVE: -45, Hatch.SOLID: 45, Hatch.SOFT: 30}[hatch]
        pattern = element(
            self.group,
            "pattern",
            id=identifier,
            patternUnits="userSpaceOnUse",
            width=side,
            height=side,
            patternTransform=f"rotate({turn})",
        )
        element(pattern, "rect", width=side, height=side, fill="#fff")
        if hatch is Hatch.SOFT:
            element(pattern, "circle", cx=side / 2, cy=side / 2, r=self.units(1.1), fill="#333")
            return
        stroke = {"stroke": "#000", "stroke_width": self.units(2.2 if hatch is Hatch.OVERLAP else 0.9)}
        element(pattern, "line", x1=0, y1=side / 2, x2=side, y2=side / 2, **stroke)
        if hatch is Hatch.OVERLAP:
            element(pattern, "line", x1=side / 2, y1=0, x2=side / 2, y2=side, **stroke)


def blank_sheet(name: str, title: str, description: str) -> ET.Element:
    """The root of a drawing, with the title and description that a screen reader says; size it with
    :func:`finish`."""
    root = ET.Element("svg", {"xmlns": NAMESPACE, "role": "img", "aria-labelledby": f"{name}-title {name}-desc"})
    element(root, "title", id=f"{name}-title").text = printable(title)
    element(root, "desc", id=f"{name}-desc").text = printable(description)
    return root


def view_on(
    parent: ET.Element, name: str, x: float, y: float, enlarged: float = 1.0, mm_per_unit: float = 1.0
) -> View:
    """A view whose own origin stands at ``x``, ``y`` of its parent, ``enlarged`` so many times.

    ``mm_per_unit`` is how many millimetres of an unenlarged view one sheet unit takes: above 1 for large things, so
    that type grows with them.
    """
    scale = f" scale({_figure(enlarged)})" if enlarged != 1 else ""
    group = element(parent, "g", id=name, transform=f"translate({_figure(x)} {_figure(y)}){scale}")
    return View(group, name, enlarged / mm_per_unit)


def finish(root: ET.Element, width: float, height: float, mm_per_unit: float = 1.0) -> str:
    """The sheet as text. Its viewBox is in millimetres; a sheet unit is shown as a pixel and prints at any size."""
    root.set("viewBox", f"0 0 {_figure(width)} {_figure(height)}")
    root.set("width", f"{_figure(width / mm_per_unit)}px")
    root.set("height", f"{_figure(height / mm_per_unit)}px")
    root.set("font-family", FONT)
    paper = ET.Element("rect", {"width": _figure(width), "height": _figure(height), "fill": "#fff"})
    root.insert(2, paper)
    return ET.tostring(root, encoding="unicode")
