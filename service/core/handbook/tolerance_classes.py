"""The general tolerance classes that a maker may state instead of a plus-or-minus for every size."""

from collections.abc import Mapping
from functools import cache
from itertools import pairwise

from service.core.handbook.entries import Figure, HandbookFault
from service.core.handbook.further_sources import further_backing
from service.core.handbook.loader import Backing, Row, found, required, table
from service.core.handbook.written import read_figure
from service.core.measure.lengths import NM_PER_MM

_NONE = "none"


def general_tolerance_nm(tolerance_class: str, length_nm: int) -> int | None:
    """The plus-or-minus in nanometres of a size in a class of ISO 2768-1: ``f``, ``m``, ``c`` or ``v``.

    ``None`` where the standard gives none: it wants the tolerance written beside the size itself.

    :raises NotInHandbook: when there is no such class.
    """
    row, ranges = _class_row(tolerance_class), table("tolerance_classes")["ranges_mm"]
    if length_nm < ranges[0][0] * NM_PER_MM:
        return None
    tolerances = zip(ranges, row["plus_or_minus_mm"], strict=True)
    tolerance_mm = next((t for (_, up_to_mm), t in tolerances if length_nm <= up_to_mm * NM_PER_MM), _NONE)
    return None if tolerance_mm == _NONE else round(float(tolerance_mm) * NM_PER_MM)


def behind_tolerance_class(tolerance_class: str) -> Backing:
    """The source of a class.

    :raises NotInHandbook: when there is no such class.
    """
    return further_backing(_class_row(tolerance_class), f"classes.{tolerance_class}", "name", "plus_or_minus_mm")


def tolerance_class_name(tolerance_class: str) -> str:
    """“medium” for ``m``."""
    return required(_class_row(tolerance_class), "name", f"classes.{tolerance_class}")


@cache
def assumed_tolerance_class() -> str:
    """The class that an answer reckons with, and says so, where a maker states none."""
    row = table("tolerance_classes")["assumed"]
    further_backing(row, "assumed", "class")
    return required(row, "class", "assumed")


def _class_row(tolerance_class: str) -> Row:
    return found(_classes(), tolerance_class, "tolerance class")


@cache
def _classes() -> Mapping[str, Row]:
    ranges = table("tolerance_classes")["ranges_mm"]
    if any(up_to != over for (_, up_to), (over, _) in pairwise(ranges)):
        raise HandbookFault("ranges_mm of tolerance_classes.toml leave a gap or overlap.")
    classes: Mapping[str, Row] = table("tolerance_classes")["classes"]
    return classes


@cache
def judged_by(name: str) -> Figure:
    """A figure that the rule on tolerance judges by: ``share``, ``confidence`` or ``worth_saying``."""
    return read_figure(
        found(table("tolerance_classes")["judged_by"], name, "figure to judge by"), f"judged_by.{name}"
    )
