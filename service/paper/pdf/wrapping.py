"""Breaking a text into lines: in the order in which it is read, before any of it is turned round for printing."""

import unicodedata
from collections.abc import Callable

#: How wide a text is, in any unit.
Measure = Callable[[str], float]


def wrapped(text: str, width: float, measure: Measure) -> list[str]:
    """The lines of a text, broken at spaces; a word wider than a line is broken where it has to be."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if measure(longer) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        *whole, line = _pieces(word, width, measure)
        lines += whole
    return [*lines, line]


def _pieces(word: str, width: float, measure: Measure) -> list[str]:
    """A word in pieces that fit; never broken before a mark that belongs to the letter before it."""
    pieces, start = [], 0
    for end in range(1, len(word)):
        is_mark = unicodedata.category(word[end]).startswith("M")
        if not is_mark and measure(word[start : end + 1]) > width and end > start:
            pieces.append(word[start:end])
            start = end
    return [*pieces, word[start:]]
