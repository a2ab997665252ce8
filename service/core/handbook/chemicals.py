"""Exposure limits of what has been used against pests, each with who set it and as of when.

They help to ask the right question. The limits that hold are those of the place where the work is done.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from service.core.handbook.entries import HandbookFault
from service.core.handbook.loader import Row, backing, refuse_strangers, required, table
from service.core.handbook.words import word
from service.core.materials import Treatment
from service.core.measure.dimension import Grade

#: Litres that a mole of any gas fills at 25 °C and one atmosphere, as the limits are set.
LITRES_PER_MOLE = 24.45


class LimitKind(StrEnum):
    """Over how long a limit in air is counted."""

    TIME_WEIGHTED = "time_weighted"
    """On the average of a working day."""
    SHORT_TERM = "short_term"
    """On the average of a quarter of an hour."""
    CEILING = "ceiling"
    """At no time."""
    DANGEROUS = "dangerous"
    """Immediately dangerous to life or health: get out."""


@dataclass(frozen=True, slots=True)
class ExposureLimit:
    """One limit in air. ``skin``: the body takes it up through the skin as well, so the air alone says too little."""

    set_by: str
    kind: LimitKind
    ppm: float | None = None
    mg_per_m3: float | None = None
    skin: bool = False


@dataclass(frozen=True, slots=True)
class Chemical:
    """A substance with its limits as of the edition that was read (``as_of``, year and month)."""

    treatment: Treatment
    cas: str
    molar_mass_g: float | None
    limits: tuple[ExposureLimit, ...]
    remark: str
    as_of: str
    source: str
    grade: Grade
    cited: tuple[str, ...]


@cache
def chemicals() -> Mapping[Treatment, Chemical]:
    """The substances whose limits the handbook has; what is missing here is not harmless but not looked up."""
    return {(kind := word(Treatment, name)): _chemical(kind, row) for name, row in table("chemicals").items()}


def milligrams_per_m3(ppm: float, molar_mass_g: float) -> float:
    """Parts per million of a gas or vapour as milligrams in a cubic metre of air at 25 °C and one atmosphere."""
    return ppm * molar_mass_g / LITRES_PER_MOLE


def _chemical(kind: Treatment, row: Row) -> Chemical:
    where = f"chemicals.{kind}"
    behind = backing(row, where, "cas", "molar_mass_g", "limits", "remark", "as_of")
    limits = tuple(_limit(limit, where) for limit in row["limits"])
    return Chemical(
        kind,
        required(row, "cas", where),
        row.get("molar_mass_g"),
        limits,
        row.get("remark", ""),
        required(row, "as_of", where),
        behind.source,
        behind.grade,
        behind.cited,
    )


def _limit(row: Row, where: str) -> ExposureLimit:
    refuse_strangers(row, frozenset({"set_by", "kind", "ppm", "mg_per_m3", "skin"}), where)
    if "ppm" not in row and "mg_per_m3" not in row:
        raise HandbookFault(f"{where} has a limit without a figure.")
    kind = LimitKind(required(row, "kind", where))
    return ExposureLimit(
        required(row, "set_by", where), kind, row.get("ppm"), row.get("mg_per_m3"), row.get("skin", False)
    )
