"""Lengths, held exactly as whole nanometres.

An inch is 25.4 mm by definition (international yard and pound agreement, 1959), so a sixty-fourth of an inch
is exactly 396,875 nm: every mark on a metric or an imperial rule is a whole number here, and adding or
comparing them never rounds.
"""

import re
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from fractions import Fraction

NM_PER_MM = 1_000_000
NM_PER_INCH = 25_400_000
#: Longer than any store room; a larger number is a slip of the keyboard or the wrong unit.
LONGEST_NM = 100_000 * NM_PER_MM

_NM_PER_UNIT = {
    "mm": NM_PER_MM,
    "cm": 10 * NM_PER_MM,
    "m": 1_000 * NM_PER_MM,
    "in": NM_PER_INCH,
    "inch": NM_PER_INCH,
    "inches": NM_PER_INCH,
    '"': NM_PER_INCH,
    "ft": 12 * NM_PER_INCH,
    "foot": 12 * NM_PER_INCH,
    "feet": 12 * NM_PER_INCH,
    "'": 12 * NM_PER_INCH,
}
_METRIC = frozenset({"mm", "cm", "m"})
_UNIT = r"(?P<unit>mm|cm|m|inches|inch|in|feet|foot|ft|''|[\"'])\.?"
_AMOUNT = re.compile(
    r"\s*(?:(?P<whole>\d+)[\s-]+)?(?P<numerator>\d+)\s*/\s*(?P<denominator>\d+)\s*" + _UNIT + r"\s*"
    r"|\s*(?P<decimal>\d+(?:[.,]\d+)?|[.,]\d+)\s*" + _UNIT.replace("unit", "decimal_unit") + r"\s*",
    re.ASCII | re.IGNORECASE,
)
_TYPOGRAPHY = str.maketrans(
    {"″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "⁄": "/", "\u00a0": " ", "\u202f": " "}
)
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

HOW_TO_WRITE = 'a number of millimetres, or a measure with its unit such as "419.1 mm", "41.9 cm" or "16 1/2 in"'


class NotALength(ValueError):
    """What was written is no length; the message says what would be."""


def parse_length(written: str) -> int:
    """The length in nanometres that somebody wrote with its unit.

    Reads ``"16 1/2 in"``, ``"1' 4 1/2\\""``, ``"18 7/8\\""``, ``"41.9 cm"``, ``"41,9 cm"`` (decimal comma) and
    ``"419.1 mm"``, with typographic primes and fractions too. A bare number is refused, because nobody can tell
    its unit, and so is ``"1,234 mm"``, which is two different lengths on two sides of a border. Fractions that no
    rule carries, such as a third of an inch, are rounded to the nearest nanometre.

    :raises NotALength: with a sentence for the person who wrote it.
    """
    text = written.translate(_TYPOGRAPHY)
    for glyph, fraction in _VULGAR.items():
        text = text.replace(glyph, f" {fraction}")
    nm, last_unit_nm, position = Fraction(0), None, 0
    while position < len(text) and (match := _AMOUNT.match(text, position)):
        unit = (match["unit"] or match["decimal_unit"]).lower().replace("''", '"')
        unit_nm = _NM_PER_UNIT[unit]
        if last_unit_nm is not None and (unit in _METRIC or unit_nm >= last_unit_nm):
            break
        nm += _amount(match, written) * unit_nm
        last_unit_nm, position = unit_nm, match.end()
    if last_unit_nm is None or position < len(text):
        raise NotALength(f"“{written}” is not a length; write {HOW_TO_WRITE}.")
    return _within_reason(round(nm), written)


def _amount(match: re.Match[str], written: str) -> Fraction:
    if match["denominator"]:
        if int(match["denominator"]) == 0:
            raise NotALength(f"“{written}” divides by zero; write {HOW_TO_WRITE}.")
        return int(match["whole"] or 0) + Fraction(int(match["numerator"]), int(match["denominator"]))
    decimal = match["decimal"]
    if re.fullmatch(r"\d+,\d{3}", decimal):
        thousands, decimals = decimal.replace(",", ""), decimal.replace(",", ".")
        raise NotALength(f"“{written}” can be read two ways; write {thousands} or {decimals} with its unit.")
    return Fraction(decimal.replace(",", "."))


def length_from_mm(mm: float | Decimal) -> int:
    """The nanometres in a plain number of millimetres, to the nearest nanometre.

    :raises NotALength: when the number is negative, infinite or longer than 100 m.
    """
    try:
        nm = int((Decimal(str(mm)) * NM_PER_MM).to_integral_value(ROUND_HALF_EVEN))
    except (InvalidOperation, OverflowError, ValueError) as error:
        raise NotALength(f"{mm} is not a length; write {HOW_TO_WRITE}.") from error
    return _within_reason(nm, mm)


def _within_reason(nm: int, written: object) -> int:
    if not 0 <= nm <= LONGEST_NM:
        raise NotALength(f"{written} is outside 0 to {LONGEST_NM // NM_PER_MM:,} mm; check the figure and its unit.")
    return nm


def to_mm(nm: float) -> float:
    """Nanometres as the number of millimetres that answers show: 419100000 is 419.1."""
    return nm / NM_PER_MM


def written_mm(nm: float) -> str:
    """A length for a sentence: at most a hundredth of a millimetre, no needless zeros, its unit."""
    rounded = f"{nm / NM_PER_MM:,.2f}".rstrip("0").rstrip(".")
    return f"{'0' if rounded == '-0' else rounded} mm"


def written_inches(nm: int, fraction: int = 16) -> str:
    """The nearest mark on a rule divided in ``fraction`` parts of an inch: 419100000 is ``16 1/2 in``."""
    parts = round(Fraction(abs(nm) * fraction, NM_PER_INCH))
    whole, rest = divmod(parts, fraction)
    sign = "-" if nm < 0 and parts else ""
    if not rest:
        return f"{sign}{whole} in"
    part = Fraction(rest, fraction)
    return f"{sign}{f'{whole} ' if whole else ''}{part.numerator}/{part.denominator} in"
