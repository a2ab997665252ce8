"""The levels of curation, and which of them a health index counts as sound."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from service.core.handbook.entries import HandbookFault
from service.core.handbook.loader import backing, required, table
from service.core.measure.dimension import Grade

LEVELS = range(1, 9)
_INDEX = "health_index"


@dataclass(frozen=True, slots=True)
class CurationWords:
    """What one level of curation means. ``cited`` holds the keys of the published sources behind it."""

    level: int
    name: str
    meaning: str
    source: str
    grade: Grade
    cited: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HealthIndexRule:
    """Units at one of these levels, over all units, are the health index of a collection."""

    levels: frozenset[int]
    source: str
    grade: Grade
    cited: tuple[str, ...]


@cache
def curation_levels() -> Mapping[int, CurationWords]:
    """The eight levels, from 1 (specimens in danger) to 8 (every label captured)."""
    rows = table("curation_levels")
    if rows.keys() != {_INDEX, *map(str, LEVELS)}:
        raise HandbookFault("curation_levels has to have the levels 1 to 8, the health index, and nothing else.")
    levels = {}
    for level in LEVELS:
        row, where = rows[str(level)], f"curation_levels.{level}"
        behind = backing(row, where, "name", "meaning")
        name, meaning = required(row, "name", where), required(row, "meaning", where)
        levels[level] = CurationWords(level, name, meaning, behind.source, behind.grade, behind.cited)
    return levels


@cache
def health_index_rule() -> HealthIndexRule:
    row = table("curation_levels")[_INDEX]
    behind = backing(row, f"curation_levels.{_INDEX}", "counts_as_sound")
    levels = frozenset(row["counts_as_sound"])
    if not levels <= set(LEVELS):
        raise HandbookFault("The health index counts a level that there is not.")
    return HealthIndexRule(levels, behind.source, behind.grade, behind.cited)
