"""How much a piece of wood, board or metal grows from one room's air to another's.

Every answer is a strain from a least to a greatest value, because how a board was sawn, how long its grain runs and
how a panel was made are seldom known better than that. Inside the moisture that the Wood Handbook's linear
equation was made for the figures are its own; outside, the answer is widened and says so; beyond what anybody
tabulated there is none. Wood moves with moisture alone here: what warmth adds along a drawer is some hundredths of a
millimetre at most.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from service.core.measure.dimension import Grade
from service.core.measure.moisture import Air, equilibrium_moisture_percent


class Direction(StrEnum):
    """Which way a length runs in the board that it is cut from."""

    ALONG = "along"
    ACROSS = "across"
    """Across the width of the board."""
    THICKNESS = "thickness"


class Sawing(StrEnum):
    """How a board was cut from the log."""

    FLAT = "flat"
    """The rings lie along its face: its width is tangential to them, and moves most."""
    QUARTER = "quarter"
    """The rings stand on its face: its width is radial."""


@dataclass(frozen=True, slots=True)
class Span:
    """From ``least`` to ``greatest``."""

    least: float
    greatest: float

    def __post_init__(self) -> None:
        if self.least > self.greatest:
            raise ValueError(f"{self.least} to {self.greatest} is no span; the least comes first.")

    @classmethod
    def around(cls, *values: float) -> "Span":
        return cls(min(values), max(values))

    def times(self, factor: float) -> "Span":
        return Span.around(self.least * factor, self.greatest * factor)

    def with_(self, other: "Span") -> "Span":
        """Both, and what lies between them."""
        return Span(min(self.least, other.least), max(self.greatest, other.greatest))


@dataclass(frozen=True, slots=True)
class Backed:
    """Two figures of one wood with their source: radial and tangential."""

    radial: float
    tangential: float
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Wood:
    """One wood.

    ``coefficients`` are the change per one per cent of moisture (Wood Handbook, table 13-5); ``shrinkage`` is from
    green to ovendry in per cent (tables 4-3 and 4-4), absent where no single row applies. ``fibre_saturation`` is
    the moisture in per cent below which it shrinks. ``disputed``: its two tables contradict each other, so both
    count.
    """

    code: str
    name: str
    coefficients: Backed
    shrinkage: Backed | None
    along: Span
    fibre_saturation: float
    disputed: bool = False


@dataclass(frozen=True, slots=True)
class Expansion:
    """A published expansion, as a span, with its source."""

    span: Span
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Panel:
    """A board made of wood, by its expansion per one per cent of relative humidity."""

    code: str
    name: str
    in_plane: Expansion
    thickness: Expansion | None


@dataclass(frozen=True, slots=True)
class Inert:
    """What takes up no water: metal, glass or plastic, by its expansion per kelvin."""

    code: str
    name: str
    per_kelvin: Expansion


Material = Wood | Panel | Inert


@dataclass(frozen=True, slots=True)
class Strain:
    """The change per unit of length. ``widened``: it lies outside the range that the published equation is for."""

    span: Span
    widened: bool = False
    rests_on_memory: bool = False


#: Moisture in per cent within which equation 13-2 holds (Wood Handbook, FPL-GTR-190, 2010, p. 13-17).
LINEAR_LEAST, LINEAR_GREATEST = 6.0, 14.0
#: The handbook's own word on its simple equations: they can be some 5 % too low (p. 13-18).
_TOO_LOW_BY = 1.05


def by_coefficient(length: float, coefficient: float, moisture_before: float, moisture_after: float) -> float:
    """Wood Handbook equation 13-2: the change of a length, in its own unit, between 6 and 14 % moisture."""
    return length * coefficient * (moisture_after - moisture_before)


def by_shrinkage(
    length: float, shrinkage_percent: float, moisture_before: float, moisture_after: float, saturation: float = 30.0
) -> float:
    """Wood Handbook equation 13-3, for wider ranges up to the fibre saturation point.

    The handbook writes 30 % for every wood. Redwood and the western cedars reproduce their own coefficients only
    with 22 %, and would move a quarter too little otherwise, so the point is a parameter here.
    """
    return (
        length
        * (moisture_after - moisture_before)
        / (saturation * 100 / shrinkage_percent - saturation + moisture_before)
    )


def strain(
    material: Material, direction: Direction, before: Air, after: Air, sawing: Sawing | None = None
) -> Strain | None:
    """What each unit of length gains from one air to the other; ``None`` where nobody published it."""
    if isinstance(material, Inert):
        return _times(material.per_kelvin, after.temperature_c - before.temperature_c)
    if not (before.is_tabulated and after.is_tabulated):
        return None
    if isinstance(material, Panel):
        return _panel_strain(material, direction, before, after)
    moisture = equilibrium_moisture_percent(before), equilibrium_moisture_percent(after)
    return _wood_strain(material, direction, *moisture, sawing)


def _panel_strain(panel: Panel, direction: Direction, before: Air, after: Air) -> Strain | None:
    per_percent = panel.thickness if direction is Direction.THICKNESS else panel.in_plane
    if per_percent is None:
        return None
    return _times(per_percent, after.relative_humidity_percent - before.relative_humidity_percent)


def _times(expansion: Expansion, change: float) -> Strain:
    return Strain(expansion.span.times(change), rests_on_memory=expansion.grade is Grade.FROM_MEMORY)


def _wood_strain(
    wood: Wood, direction: Direction, before: float, after: float, sawing: Sawing | None
) -> Strain | None:
    if max(before, after) > wood.fibre_saturation:
        return None
    widened = not all(LINEAR_LEAST <= moisture <= LINEAR_GREATEST for moisture in (before, after))
    if direction is Direction.ALONG:
        return Strain(wood.along.times(after - before), widened)
    linear = _either(wood.coefficients, direction, sawing, lambda figure: by_coefficient(1, figure, before, after))
    remembered = wood.coefficients.grade is Grade.FROM_MEMORY
    if not (widened or wood.disputed):
        return Strain(linear, rests_on_memory=remembered)
    if wood.shrinkage is None:
        return None
    wide = _either(
        wood.shrinkage,
        direction,
        sawing,
        lambda figure: by_shrinkage(1, figure, before, after, wood.fibre_saturation),
    )
    both = linear.with_(wide)
    remembered = remembered or wood.shrinkage.grade is Grade.FROM_MEMORY
    return Strain(both.with_(both.times(_TOO_LOW_BY)) if widened else both, widened, remembered)


def _either(figures: Backed, direction: Direction, sawing: Sawing | None, change: Callable[[float], float]) -> Span:
    """By the one figure that applies, or by both where nobody says how the board was sawn."""
    if direction is Direction.ACROSS and sawing is Sawing.FLAT:
        return Span.around(change(figures.tangential))
    if direction is Direction.ACROSS and sawing is Sawing.QUARTER:
        return Span.around(change(figures.radial))
    return Span.around(change(figures.radial), change(figures.tangential))
