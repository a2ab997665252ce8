"""Reads a figure as its source wrote it."""

import re
from decimal import Decimal

from service.core.handbook.entries import Figure, HandbookFault
from service.core.handbook.loader import Row, backing, required

_WRITTEN = re.compile(
    r"(?:(?P<whole>\d+) )?(?P<numerator>\d+)/(?P<denominator>\d+) (?P<of>\D.*)"
    r"|(?P<decimal>-?\d+(?:\.\d+)?) (?P<unit>\D.*)"
)


def read_figure(row: Row, key: str) -> Figure:
    """The figure in a row whose ``written`` is a number and its unit, such as ``"16 1/2 in"``.

    ``plus_or_minus`` is half the width of a printed range and ``printed`` the range as it stands in the source.
    """
    behind = backing(row, key, "written", "printed", "plus_or_minus")
    written = required(row, "written", key)
    value, unit = _value_and_unit(written, key)
    return Figure(
        key,
        value,
        unit,
        behind.source,
        behind.grade,
        behind.note,
        as_written=row.get("printed", written),
        plus_or_minus=row.get("plus_or_minus"),
        cited=behind.cited,
    )


def _value_and_unit(written: str, key: str) -> tuple[Decimal, str]:
    match = _WRITTEN.fullmatch(written)
    if match is None:
        raise HandbookFault(f"{key} is written “{written}”; a figure is a number, a space and its unit.")
    if match["decimal"]:
        return Decimal(match["decimal"]), match["unit"]
    part = Decimal(match["numerator"]) / Decimal(match["denominator"])
    return Decimal(match["whole"] or 0) + part, match["of"]
