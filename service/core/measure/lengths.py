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

_WITH_UNIT = 'a measure with its unit such as "419.1 mm", "41.9 cm" or "16 1/2 in"'
HOW_TO_WRITE = f"a number of millimetres, or {_WITH_UNIT}"
#: Characters: no measure takes more, and reading a number of thousands of figures would only cost time.
_LONGEST_TEXT = 60
_WITHOUT_UNIT = re.compile(r"\d{1,6}([.,]\d{1,9})?")


class NotALength(ValueError):
    """What was written is no length; the message says what would be."""


def parse_length(written: str) -> int:
    """The length in nanometres that somebody wrote with its unit.

    Reads ``"16 1/2 in"``, ``"1' 4 1/2\\""``, ``"18 7/8\\""``, ``"41.9 cm"``, ``"41,9 cm"`` (decimal comma) and
    ``"419.1 mm"``, with typographic primes and fractions too. A bare number is refused, because nobody can tell
    its unit, and so is ``"1,234 mm"``, which is two different lengths on two sides of a border. Only feet and inches
    go together in one length. Fractions that no rule carries, such as a third of an inch, are rounded to the
    nearest nanometre.

    :raises NotALength: with a sentence for the person who wrote it.
    """
    if len(written) > _LONGEST_TEXT:
        raise NotALength(f"“{written[:_LONGEST_TEXT]}…” is too long for a length; write {_WITH_UNIT}.")
    text = written.translate(_TYPOGRAPHY)
    for glyph, fraction in _VULGAR.items():
        text = text.replace(glyph, f" {fraction}")
    nm, last_unit, position = Fraction(0), None, 0
    while position < len(text) and (match := _AMOUNT.match(text, position)):
        unit = (match["unit"] or match["decimal_unit"]).lower().replace("''", '"')
        if last_unit is not None and not _goes_on(last_unit, unit):
            break
        nm += _amount(match, written) * _NM_PER_UNIT[unit]
        last_unit, position = unit, match.end()
    if _WITHOUT_UNIT.fullmatch(text.strip()):
        raise _no_unit(written, text.strip())
    if last_unit is None or position < len(text):
        raise NotALength(f"“{written}” is not a length; write {_WITH_UNIT}.")
    if nm > LONGEST_NM:
        raise _out_of_reason(f"“{written}”")
    return round(nm)


def _no_unit(written: str, number: str) -> NotALength:
    """Somebody whose decimals follow a comma often writes a number as text; what they mean has a point in JSON."""
    point = number.replace(",", ".")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", number):
        point = f"{number.replace(',', '')} or {point}"
    return NotALength(
        f"“{written}” has no unit; write it as a number of millimetres with a point ({point}), or add “mm”."
    )


def _goes_on(last_unit: str, unit: str) -> bool:
    """Whether one length may be written in both units: in feet and then in inches, and in no other two."""
    return _METRIC.isdisjoint({last_unit, unit}) and _NM_PER_UNIT[unit] < _NM_PER_UNIT[last_unit]


def _amount(match: re.Match[str], written: str) -> Fraction:
    if match["denominator"]:
        if int(match["denominator"]) == 0:
            raise NotALength(f"“{written}” divides by zero; write {_WITH_UNIT}.")
        return int(match["whole"] or 0) + Fraction(int(match["numerator"]), int(match["denominator"]))
    decimal = match["decimal"]
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", decimal):
        thousands, decimals = decimal.replace(",", ""), decimal.replace(",", ".")
        raise NotALength(f"“{written}” can be read two ways; write {thousands} or {decimals} with its unit.")
    return Fraction(decimal.replace(",", "."))


def length_from_mm(mm: float | Decimal) -> int:
    """The nanometres in a plain number of millimetres, to the nearest nanometre.

    :raises NotALength: when the number is negative, infinite or longer than 100 m.
    """
    try:
        exact = Decimal(str(mm))
        if 0 <= exact <= LONGEST_NM // NM_PER_MM:
            return int((exact * NM_PER_MM).to_integral_value(ROUND_HALF_EVEN))
    except InvalidOperation as error:
        raise NotALength(f"{mm} is not a length; write {HOW_TO_WRITE}.") from error
    raise _out_of_reason(mm)


def _out_of_reason(written: object) -> NotALength:
    return NotALength(f"{written} is outside 0 to {LONGEST_NM // NM_PER_MM} mm; check the figure and its unit.")


def to_mm(nm: float) -> float:
    """Nanometres as the number of millimetres that answers show: 419100000 is 419.1."""
    return nm / NM_PER_MM


def written_mm(nm: float) -> str:
    """A length for a sentence: at most a hundredth of a millimetre, no needless zeros, its unit.

    Thousands are not set apart, so that what an answer says can be sent back as it stands.
    """
    rounded = f"{nm / NM_PER_MM:.2f}".rstrip("0").rstrip(".")
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
