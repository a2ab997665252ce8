"""A dimension: a length together with how it is known."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class KnownAs(StrEnum):
    """Where a dimension comes from."""

    NOMINAL = "nominal"
    """Stated by the maker, a drawing or the owner; nobody says it was measured."""
    MEASURED = "measured"
    """Read off one or more pieces."""
    HANDBOOK = "handbook"
    """Taken over from a handbook profile of a drawer style."""


class Grade(StrEnum):
    """How far a handbook figure may be trusted."""

    PUBLISHED = "published"
    """A published source says so."""
    COMMON_PRACTICE = "common_practice"
    """The trade does so; no one source says it."""
    FROM_MEMORY = "from_memory"
    """Written down from recollection: labelled in each answer that it touches, and never decides alone."""


class ToleranceClass(StrEnum):
    """The general tolerance classes of ISO 2768-1, by the letters that drawings name them by."""

    FINE = "f"
    """Fine."""
    MEDIUM = "m"
    """Medium."""
    COARSE = "c"
    """Coarse."""
    VERY_COARSE = "v"
    """Very coarse."""


@dataclass(frozen=True, slots=True)
class Dimension:
    """One length of one thing, in whole nanometres.

    ``value_nm`` is what is stated, or the mean of ``readings_nm``. ``tolerance_nm`` is the maker's plus-or-minus;
    absent is absent, not zero. ``tolerance_class`` is the general class that the maker works to instead. ``figure``,
    ``source`` and ``grade`` name the handbook figure it was taken from.
    """

    value_nm: int
    known_as: KnownAs = KnownAs.NOMINAL
    readings_nm: tuple[int, ...] = ()
    tolerance_nm: int | None = None
    as_written: str | None = None
    figure: str | None = None
    source: str | None = None
    grade: Grade | None = None
    tolerance_class: ToleranceClass | None = None

    @classmethod
    def measured(cls, readings_nm: tuple[int, ...]) -> "Dimension":
        """From the readings of a sample; the value is their mean."""
        mean = round(Fraction(sum(readings_nm), len(readings_nm)))
        return cls(mean, KnownAs.MEASURED, readings_nm)

    @property
    def largest_nm(self) -> int:
        """The largest piece anybody has reason to expect: the worst for what must go in."""
        return max((self.value_nm + (self.tolerance_nm or 0), *self.readings_nm))

    @property
    def smallest_nm(self) -> int:
        """The smallest piece anybody has reason to expect: the worst for what must let in."""
        return max(0, min((self.value_nm - (self.tolerance_nm or 0), *self.readings_nm)))

    @property
    def is_from_memory(self) -> bool:
        return self.grade is Grade.FROM_MEMORY


@dataclass(frozen=True, slots=True)
class Size:
    """Width (side to side along the front), depth (front to back) and height of a thing; absent is unknown."""

    width: Dimension | None = None
    depth: Dimension | None = None
    height: Dimension | None = None
