"""The fonts of the papers, and which of them a text needs.

They are embedded, so that a name looks everywhere as it was written. What they cover is told in DEVELOPERS.md; a
character that none of them has is printed as its code point, ``[U+1F98B]``, and never dropped.
"""

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path

from fontTools.ttLib import TTFont

FOLDER = Path(str(resources.files(__package__).joinpath("fonts")))
#: The face of all text, in the styles that fpdf2 names so.
FAMILY = "text"
STYLES = {"": "DejaVuSansCondensed", "B": "DejaVuSansCondensed-Bold", "I": "DejaVuSansCondensed-Oblique"}
#: What steps in for characters that the face has not, in the order in which they are asked.
FURTHER = (
    "NotoSansDevanagari-Regular", "NotoSansBengali-Regular", "NotoSansGurmukhi-Regular", "NotoSansGujarati-Regular",
    "NotoSansOriya-Regular", "NotoSansTamil-Regular", "NotoSansTelugu-Regular", "NotoSansKannada-Regular",
    "NotoSansMalayalam-Regular", "NotoSansSinhala-Regular", "NotoSansThai-Regular", "NotoSansKhmer-Regular",
    "NotoSansMyanmar-Regular", "NotoSansEthiopic-Regular", "NanumGothicCoding", "DroidSansFallbackFull",
)  # fmt: skip
#: The characters that every font of a script may need beside its own: joiners, which have no shape.
_SHAPELESS = frozenset("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff")


def file_of(font: str) -> Path:
    return FOLDER / f"{font}.ttf"


@cache
def covered(font: str) -> frozenset[int]:
    """The code points that a font has."""
    with TTFont(file_of(font), lazy=True) as opened:
        return frozenset(opened.getBestCmap())


def further_fonts(characters: Iterable[str]) -> tuple[str, ...]:
    """The fonts that have to step in for some characters, in their order."""
    wanted = {ord(character) for character in characters} - covered(STYLES[""])
    needed = []
    for font in FURTHER:
        if not wanted:
            break
        if found := wanted & covered(font):
            needed.append(font)
            wanted -= found
    return tuple(needed)


def style_for(text: str, style: str) -> str:
    """The style, or the upright one where a text has letters that only that one has: Arabic has no slanted face."""
    if not style or text.isascii():
        return style
    return "" if {ord(character) for character in text} & covered(STYLES[""]) - covered(STYLES[style]) else style


def printable(text: str, fonts: Iterable[str]) -> str:
    """The text with a code point in place of what none of the fonts has; line ends and tabs become spaces."""
    if text.isascii() and text.isprintable():
        return text
    has = covered(STYLES[""]).union(*map(covered, fonts))
    return "".join(_written(character, has) for character in text)


def _written(character: str, has: frozenset[int]) -> str:
    if character.isspace():
        return " " if character != "\u00a0" else character
    if ord(character) in has or character in _SHAPELESS:
        return character
    return f"[U+{ord(character):04X}]"


def needs_shaping(text: str) -> bool:
    """Whether letters join, stack or run from right to left: marks and all scripts from Hebrew on."""
    return any(character >= "\u0300" and not "\u0370" <= character <= "\u0589" for character in text)
