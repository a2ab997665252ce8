"""What is written in a tray: as much as its size on the sheet leaves legible."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.core.housing.plan import TraySize
from service.core.measure.lengths import written_mm
from service.paper.svg import SMALL, View, fold, text_width
from service.paper.wording import printable

#: Type below this many sheet units is left out: nobody could read it.
LEAST_LEGIBLE = 9.0
NO_NAME = "no name"
_SIZES = (SMALL, 11.0, LEAST_LEGIBLE)
_LEADING, _EDGE = 1.22, 3.0
#: A long word is only broken where a line holds a good part of it; in sheet units.
_WORTH_BREAKING = 90.0


@dataclass(frozen=True, slots=True)
class Words:
    """Lines of text, the first of them bold, and their size in sheet units."""

    lines: tuple[str, ...]
    size: float


def name_of(tray: TraySize) -> str:
    """What stands on the tray, or else its code."""
    return printable(tray.label) or printable(tray.code) or NO_NAME


def size_words(tray: TraySize) -> str:
    return f"{bare_mm(tray.width_nm)} × {bare_mm(tray.depth_nm)}"


def bare_mm(nm: int) -> str:
    """A length without its unit, where a heading names it."""
    return written_mm(nm).removesuffix(" mm")


def words_for(number: int, tray: TraySize, width: float, depth: float) -> Words | None:
    """Number, label and size for a tray of this many sheet units along and across its writing; less where that is
    too much, and nothing where not even the number is legible.
    """
    room = width - 2 * _EDGE
    for breaking in (False, True) if room >= _WORTH_BREAKING else (False,):
        for size in _SIZES:
            for lines in _choices(number, tray, room, size, breaking):
                if _stands(lines, size, room, depth):
                    return Words(lines, size)
    return _cut_short(number, tray, room, depth) or number_for(number, width, depth)


def number_for(number: int, width: float, depth: float) -> Words | None:
    """The number alone, or nothing where it is not legible."""
    size = min(SMALL, (width - _EDGE) / text_width(str(number), 1, bold=True), depth - _EDGE / 2)
    return Words((str(number),), size) if size >= LEAST_LEGIBLE else None


def _choices(number: int, tray: TraySize, room: float, size: float, breaking: bool) -> Iterator[tuple[str, ...]]:
    """The fullest first; a word is broken only when ``breaking``."""
    label = tuple(fold(name_of(tray), size, room))
    if breaking or " ".join(label) == name_of(tray):
        yield (str(number), *label, size_words(tray))
        yield (str(number), *label, f"{bare_mm(tray.width_nm)} ×", bare_mm(tray.depth_nm))
        yield (str(number), *label)


def _stands(lines: tuple[str, ...], size: float, room: float, depth: float) -> bool:
    widest = max(text_width(line, size, bold=at == 0) for at, line in enumerate(lines))
    return widest <= room and len(lines) * size * _LEADING <= depth - _EDGE


def _cut_short(number: int, tray: TraySize, room: float, depth: float) -> Words | None:
    """As much of the label as there is room for, where that is a word at least."""
    size = LEAST_LEGIBLE
    most = int((depth - _EDGE) / (size * _LEADING)) - 1
    first_word = text_width(name_of(tray).split()[0] + " …", size)
    if most < 1 or (first_word > room and (room < _WORTH_BREAKING or most == 1)):
        return None
    lines = (str(number), *fold(name_of(tray), size, room - text_width(" …", size), most=most))
    return Words(lines, size) if _stands(lines, size, room, depth) else None


def write(view: View, words: Words, x: float, y: float, upright: bool = False) -> None:
    """The words centred on this point; ``upright`` for a tray whose label faces the side."""
    step, lines = view.units(words.size * _LEADING), len(words.lines)
    for at, line in enumerate(words.lines):
        # A baseline stands about a third of the type's size under the middle of its line.
        off = (at - (lines - 1) / 2) * step + view.units(words.size / 3)
        where = (x + off, y) if upright else (x, y + off)
        view.text(*where, line, words.size, "middle", bold=at == 0, upright=upright)
