"""How well a part of the collection is kept, by the curation levels of its trays."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from service.core.arrangement.inventory import CurationLevel

#: Material that is sorted so far that it can be lent, and material whose curation is complete or more. The index is
#: their share of all units: collection profiling after McGinley 1993, “(L3+L6-8)/all units”.
COUNTED_AS_WELL: Final = frozenset(
    {
        CurationLevel.SORTED_TO_LOANABLE_UNIT,
        CurationLevel.CURATION_COMPLETE,
        CurationLevel.SPECIES_INVENTORIED,
        CurationLevel.LABEL_DATA_CAPTURED,
    }
)
_PLACES: Final = Decimal("0.00001")


@dataclass(frozen=True, slots=True)
class Health:
    """Trays at each level, and those whose level or whose specimens nobody knows."""

    levels: Mapping[CurationLevel, int]
    not_judged: int = 0
    specimens: int = 0
    not_counted: int = 0

    @property
    def judged(self) -> int:
        return sum(self.levels.values())

    @property
    def trays(self) -> int:
        return self.judged + self.not_judged

    @property
    def index(self) -> Fraction | None:
        """The health index over the trays whose level is known; ``None`` where none is."""
        well = sum(count for level, count in self.levels.items() if level in COUNTED_AS_WELL)
        return Fraction(well, self.judged) if self.judged else None

    @property
    def index_rounded(self) -> Decimal | None:
        """The index to five decimals."""
        index = self.index
        return None if index is None else (Decimal(index.numerator) / index.denominator).quantize(_PLACES)

    @property
    def worst(self) -> CurationLevel | None:
        """By which a drawer is scored: the lowest level in it. (Common practice, no source.)"""
        return min((level for level, count in self.levels.items() if count), default=None)
