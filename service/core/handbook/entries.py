"""What the handbook is made of. Every entry says where it comes from and how far it may be trusted.

In each of them ``source`` is a full reference with its page, or a plain statement that there is none, and
``cited`` holds the keys of the published sources behind it.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from service.core.consignment import Closure
from service.core.materials import Bottom, PinMetal, Treatment
from service.core.measure.dimension import Dimension, Grade, KnownAs, Size
from service.core.measure.lengths import NotALength, parse_length
from service.core.standards import Ruling


class Standing(StrEnum):
    """Who speaks in a source: all of them are published, and not all weigh the same."""

    INSTITUTION = "institution"
    """A handbook, a paper, or an institution's own page."""
    STATEMENT = "statement"
    """Somebody of the trade on a list, in a press report or in a guide without an author."""
    PRIVATE = "private"
    """A collector's or a workshop's own page: real figures, and no standard."""


@dataclass(frozen=True, slots=True)
class Source:
    key: str
    reference: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of the trade. ``as_written`` is what the source has, ``value`` the same in decimals, in ``unit``."""

    key: str
    value: Decimal
    unit: str
    source: str
    grade: Grade
    note: str | None = None
    as_written: str = ""
    plus_or_minus: str | None = None
    cited: tuple[str, ...] = ()

    @property
    def nm(self) -> int:
        """The length in whole nanometres.

        :raises NotALength: when the figure is no length.
        """
        try:
            return parse_length(f"{self.value} {self.unit}")
        except NotALength as error:
            raise NotALength(f"The handbook's {self.key} is {self.as_written}, which is not a length.") from error

    def as_dimension(self) -> Dimension:
        """The length as a dimension that remembers which figure it is."""
        return Dimension(
            self.nm,
            KnownAs.HANDBOOK,
            tolerance_nm=None if self.plus_or_minus is None else parse_length(self.plus_or_minus),
            as_written=self.as_written,
            figure=self.key,
            source=self.source,
            grade=self.grade,
        )


@dataclass(frozen=True, slots=True)
class DrawerStyle:
    """A style of drawer. A size printed without saying whether inner or outer is ``unspecified``, and neither."""

    code: str
    name: str
    outer: Size
    inner: Size
    notes: str
    unspecified: Size = Size()


@dataclass(frozen=True, slots=True)
class MaterialRuling:
    """What is known of one bottom under one treatment. Unknown carries the grade of common practice, the weaker.

    ``spared_by_firm_glue``: the caution holds only where the bottom is not glued down firmly.
    """

    ruling: Ruling
    condition: str
    source: str
    grade: Grade
    spared_by_firm_glue: bool = False
    cited: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PairRuling:
    """Two treatments that must not meet, whatever the bottom."""

    treatments: tuple[Treatment, Treatment]
    ruling: Ruling
    condition: str
    source: str
    grade: Grade
    cited: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PinRuling:
    """What becomes of pins of one metal: alone, in a ``bottom`` that attacks them, or under a ``treatment``."""

    metal: PinMetal
    ruling: Ruling
    condition: str
    source: str
    grade: Grade
    bottom: Bottom | None = None
    treatment: Treatment | None = None
    cited: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt people or specimens, in words for the person who does the work."""

    text: str
    source: str
    grade: Grade
    cited: tuple[str, ...] = ()

    def __str__(self) -> str:
        return self.text


class PestResistance(StrEnum):
    """How far a container keeps pests out. None keeps them out for certain, so there is no such word here."""

    RESISTANT = "resistant"
    PARTIAL = "partial"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class PestLevel:
    closure: Closure
    level: PestResistance
    reason: str
    source: str
    grade: Grade
    cited: tuple[str, ...] = ()


class NotInHandbook(LookupError):
    """Somebody asked for what the handbook has not; the message says what it has."""


class HandbookFault(ValueError):
    """A table of the handbook does not say what it must; the message says where and what is wanting."""
