"""A drawer that is still to be built, to scale, and beside it the change that would make more systems take it.

The sheet is narrow, so that it can be read on a phone without turning it.
"""

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from service.core.builder.box import Sizes
from service.core.builder.changes import Change
from service.core.builder.cut import Cut, changes_in_words, size_in_words, worth_in_words
from service.core.measure.lengths import NM_PER_MM
from service.paper.panel import LANE
from service.paper.svg import (
    BODY,
    HIDDEN,
    LINE_SPACING,
    SMALL,
    THING,
    View,
    blank_sheet,
    finish,
    fold,
    text_width,
    view_on,
)

#: Sheet units across for the longer side of the drawer's plan, free around it, and for words beside it.
_ACROSS, _MARGIN, _BESIDE = 210.0, 12.0, 125.0
_NAME = "to-build"


def builder_drawing(size: Sizes, cut: Cut, change: Change | None = None) -> str:
    """The drawer from the front and from above, dashed as the change would have it; SVG with its own description."""
    asked = _mm(size)
    after = _mm(change.size) if change else asked
    u = max(*asked, *after) / _ACROSS
    labels = _labels(size, cut), _labels(change.size, cut) if change else None
    sheet = Sheet(blank_sheet(_NAME, "The drawer, to scale", _described(labels[0], change, cut)), u)
    for words, look in _legend(change, cut):
        sheet.legend(words, look)
    for heading, side in (("From the front", 2), ("From above, its front below", 1)):
        sheet.view(heading, (asked[0], asked[side]), (after[0], after[side]), _of_side(labels, side))
    return sheet.finish()


Labels = tuple[str, str, str]


def _changed(size: float, asked: str, after: str | None) -> list[tuple[float, str]]:
    """A size that the change changes, and nothing where it stays."""
    return [(size, after)] if after and after != asked else []


def _mm(size: Sizes) -> tuple[float, float, float]:
    width, depth, height = (nm / NM_PER_MM for nm in size)
    return width, depth, height


def _labels(size: Sizes, cut: Cut) -> Labels:
    width, depth, height = (size_in_words(nm, cut) for nm in size)
    return width, depth, height


def _of_side(labels: tuple[Labels, Labels | None], side: int) -> tuple[tuple[str, str], tuple[str, str] | None]:
    """The labels of the width and of one other side, as asked and after the change."""
    asked, after = labels
    return (asked[0], asked[side]), (after[0], after[side]) if after else None


def _described(asked: Labels, change: Change | None, cut: Cut) -> str:
    text = "{} wide, {} deep, {} high.".format(*asked)
    return f"{text} Dashed: {changes_in_words(change, cut)}." if change else text


def _legend(change: Change | None, cut: Cut) -> Iterator[tuple[str, bool]]:
    yield "as you asked", False
    if change:
        yield f"{changes_in_words(change, cut)}: {worth_in_words(change)}", True


class Sheet:
    """Views below each other on one narrow sheet; ``u`` is how many millimetres one sheet unit takes."""

    def __init__(self, root: ET.Element, u: float) -> None:
        self.root, self.u = root, u
        self.paper = View(root, f"{_NAME}-paper", 1 / u)
        self.width = (_ACROSS + 2 * _MARGIN) * u
        self.bottom = _MARGIN * u

    def legend(self, words: str, dashed: bool) -> None:
        """One line kind with its meaning, in as many lines of text as it takes."""
        lines = fold(words, SMALL, _ACROSS + 2 * LANE)
        self.bottom += BODY * self.u
        self.paper.rect(
            _MARGIN * self.u, self.bottom - 10 * self.u, 26 * self.u, 11 * self.u, HIDDEN if dashed else THING
        )
        left = (_MARGIN + 36) * self.u
        self.bottom = self.paper.paragraph(left, self.bottom, lines, SMALL) - SMALL * LINE_SPACING * self.u
        self.bottom += 8 * self.u
        self.width = max([self.width, *(left + text_width(line, SMALL) * self.u for line in lines)])

    def view(
        self,
        heading: str,
        asked: tuple[float, float],
        after: tuple[float, float],
        labels: tuple[tuple[str, str], tuple[str, str] | None],
    ) -> None:
        """One elevation: the drawer as asked and as changed, lined up at the bottom left, with its sizes."""
        u, high, wide = self.u, max(asked[1], after[1]), max(asked[0], after[0])
        self.bottom += (BODY + 16) * u
        self.paper.text(_MARGIN * u, self.bottom, heading, BODY, bold=True)
        self.bottom += 10 * u
        view = view_on(self.root, f"{_NAME}-{len(self.root)}", _MARGIN * u, self.bottom + high, mm_per_unit=u)
        view.rect(0, -asked[1], asked[0], asked[1], THING, "drawer")
        if labels[1]:
            view.rect(0, -after[1], after[0], after[1], HIDDEN, "changed")
        self._sizes(view, (asked, after), labels, wide)
        self.bottom += high + (2 * LANE + 8) * u

    def _sizes(
        self,
        view: View,
        sizes: tuple[tuple[float, float], tuple[float, float]],
        labels: tuple[tuple[str, str], tuple[str, str] | None],
        wide: float,
    ) -> None:
        """The asked sizes next to the drawing, and farther out those that change."""
        asked, after = labels
        self._widths(view, [(sizes[0][0], asked[0]), *_changed(sizes[1][0], asked[0], after and after[0])])
        self._uprights(view, [(sizes[0][1], asked[1]), *_changed(sizes[1][1], asked[1], after and after[1])], wide)

    def _widths(self, view: View, told: list[tuple[float, str]]) -> None:
        for lane, (size, label) in enumerate(told, start=1):
            view.across(0, size, 0, lane * LANE * self.u, label)

    def _uprights(self, view: View, told: list[tuple[float, str]], wide: float) -> None:
        """Labels read upwards where there is room; a low drawer has its two sizes written below each other."""
        u, at = self.u, wide + LANE * self.u
        if all(size >= u * (text_width(label, SMALL) + 4) for size, label in told):
            for lane, (size, label) in enumerate(told):
                view.along(-size, 0, wide, at + lane * LANE * u, label)
                self._reach(at + (lane + 1) * LANE * u)
            return
        view.along(-told[0][0], 0, wide, at, told[0][1], level=True)
        for _, label in told[1:]:
            below = -told[0][0] / 2 + u * SMALL * (1 / 3 + LINE_SPACING)
            lines = fold(f"dashed: {label}", SMALL, _BESIDE)
            view.paragraph(at + 8 * u, below, lines, SMALL)
            self._reach(at + u * (8 + max(text_width(line, SMALL) for line in lines)))
        self._reach(at + u * (8 + text_width(told[0][1], SMALL)))

    def _reach(self, right: float) -> None:
        self.width = max(self.width, _MARGIN * self.u + right)

    def finish(self) -> str:
        return finish(self.root, self.width + _MARGIN * self.u, self.bottom + _MARGIN * self.u, self.u)
