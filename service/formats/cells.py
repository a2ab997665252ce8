"""Single cells of a sheet: how a person's writing is read, how a value is written, and formulas made harmless."""

import re
from collections.abc import Iterable
from decimal import Decimal
from enum import Enum
from typing import Any

from service.core.identifiers import Identifier
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM, NotALength, parse_length

#: Between the values of a list. The vertical bar that Darwin Core recommends is read as well.
LIST_SEPARATOR = "; "
_MOST_DECIMALS = 6

#: The signs by which a spreadsheet takes a cell for a formula, in the widths of letters that it understands.
_SIGNS = r"=+\-@＝＋－＠"
#: Where a formula would begin: with the cell, or within it behind what a program set to other separators than the
#: sheet's takes for the end of a cell or of a row. Such a program also reads past the quotes around the cell.
_FORMULA_BEGINS = rf"^(?={{escape}}[ ']*[{_SIGNS}\t\r\n])|(?<=[;\t\r\n])(?={{escape}}[ '\"]*[{_SIGNS}])"
_FORMULA = re.compile(_FORMULA_BEGINS.format(escape=""))
_HARMLESS_FORMULA = re.compile(f"(?:{_FORMULA_BEGINS.format(escape=chr(39))})'")
_NUMBER = re.compile(r"[+-]?[0-9]+([.,][0-9]+)?", re.ASCII)


class Unreadable(ValueError):
    """A cell cannot be read; the message says what would be right."""


def harmless(cell: str) -> str:
    """The cell as no spreadsheet reckons with it: an apostrophe goes before what looks like a formula.

    Wherever in the cell that would begin: a program that parts cells by semicolons finds one behind each semicolon.
    """
    return cell if _NUMBER.fullmatch(cell) else _FORMULA.sub("'", cell)


def meant(cell: str) -> str:
    """What ``harmless`` was given, without spaces around it."""
    return _HARMLESS_FORMULA.sub("", cell.strip())


def read_text(cell: str) -> str:
    return cell


def read_word(cell: str) -> str:
    """A word of a vocabulary, however its parts are joined: “Unit tray” is ``unit_tray``."""
    return re.sub(r"[\s-]+", "_", cell.lower())


def read_whole(cell: str) -> int:
    if not re.fullmatch(r"[0-9]{1,10}", cell):
        raise Unreadable(f"“{cell}” is not a whole number; write one such as 60.")
    return int(cell)


def read_length(cell: str) -> float | str:
    """A bare number is millimetres, because the heading says so; anything else is read with its unit."""
    return float(cell.replace(",", ".")) if re.fullmatch(r"[0-9]+(\.[0-9]+|,[0-9]{1,2})?", cell) else cell


def read_number(cell: str) -> float:
    if not re.fullmatch(r"-?[0-9]{1,6}([.,][0-9]{1,6})?", cell):
        raise Unreadable(f"“{cell}” is not a number; write one such as 18.5.")
    return float(cell.replace(",", "."))


def read_flag(cell: str) -> bool:
    if cell.lower() not in {"yes", "no"}:
        raise Unreadable(f"“{cell}” should be yes or no; leave it empty when nobody knows.")
    return cell.lower() == "yes"


def read_words(cell: str) -> list[str]:
    """Words of a vocabulary, parted by commas, semicolons or plus signs; ``none`` says there are none."""
    return [] if cell.lower() == "none" else [read_word(word) for word in re.split(r"\s*[;,+]\s*", cell) if word]


def read_list(cell: str) -> list[str]:
    """Texts of any kind, parted by semicolons or vertical bars, which leaves commas to the texts."""
    return [part for part in (part.strip() for part in re.split("[;|]", cell)) if part]


def write_cell(value: Any) -> str:
    """A value as the readers here understand it; ``None`` is an empty cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Dimension):
        return _written_length(value)
    if isinstance(value, float):
        return _decimals(Decimal(str(value)))
    return str(value)


def write_length_nm(value: int | None) -> str:
    """Plain nanometres as millimetres."""
    return "" if value is None else _decimals(Decimal(value) / NM_PER_MM)


def write_words(values: Iterable[Any] | None) -> str:
    return "" if values is None else ", ".join(map(write_cell, values)) or "none"


def write_list(values: Iterable[Any] | None) -> str:
    return LIST_SEPARATOR.join(map(write_cell, values or ()))


def is_whole_as_written(value: Any) -> bool:
    """Whether a cell holds all there is to a value: a length without readings, a number of few decimals."""
    if isinstance(value, Dimension):
        return value in {Dimension(value.value_nm), Dimension(value.value_nm, as_written=_kept_writing(value))}
    if isinstance(value, float):
        return float(_decimals(Decimal(str(value)))) == value
    if isinstance(value, tuple):
        texts = [part.value if isinstance(part, Identifier) else part for part in value]
        return all(read_list(text) == [text] for text in texts if isinstance(text, str))
    return not isinstance(value, str) or value == value.strip()


def _written_length(dimension: Dimension) -> str:
    return _kept_writing(dimension) or write_length_nm(dimension.value_nm)


def _kept_writing(dimension: Dimension) -> str | None:
    """What somebody wrote, if it still says the same."""
    try:
        same = dimension.as_written and parse_length(dimension.as_written) == dimension.value_nm
    except NotALength:
        return None
    return dimension.as_written if same else None


def _decimals(number: Decimal) -> str:
    written = f"{number:.{_MOST_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written
