"""How long the middle of a body takes to come to a temperature: transient conduction with a surface in air.

The exact series for a slab in a medium of constant temperature, and its product for a box (Incropera & DeWitt,
Fundamentals of Heat and Mass Transfer, chapter 5; the product for a box as in MacLean's equation for heating timber,
Wood Handbook, chapter 20). SI units throughout.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import cos, exp, inf, pi, sin

from scipy import optimize

#: Terms of the series. The first is enough after a while; at the very beginning forty leave less than a thousandth.
_TERMS = 40
SECONDS_PER_HOUR = 3_600.0
#: Nothing that anybody treats takes longer; beyond it there is no time to tell.
_LONGEST_H = 100_000.0


@dataclass(frozen=True, slots=True)
class Stuff:
    """``conductivity`` in W/mK, ``heat`` in J/m³K."""

    conductivity: float
    heat: float

    @property
    def diffusivity(self) -> float:
        """In m²/s."""
        return self.conductivity / self.heat


@dataclass(frozen=True, slots=True)
class Slab:
    """One pair of faces of a body: half the distance between them in metres, and what passes through them to the air,
    in W/m²K.
    """

    half_m: float
    surface: float


def middle(slabs: tuple[Slab, ...], stuff: Stuff, seconds: float) -> float:
    """The share of the first difference to the air that is left at the middle of the body; 1 at the beginning."""
    left = 1.0
    for slab in slabs:
        left *= _middle_of_slab(slab, stuff, seconds)
    return left


def hours_to(share: float, slabs: tuple[Slab, ...], stuff: Stuff) -> float | None:
    """After how many hours only ``share`` of the first difference is left at the middle; None is never.

    A share of 1 or more is there from the beginning; of 0 or less it is never reached.
    """
    if share >= 1:
        return 0.0
    if share <= 0:
        return None

    def surplus(hours: float) -> float:
        return middle(slabs, stuff, hours * SECONDS_PER_HOUR) - share

    until = 1.0
    while surplus(until) > 0:
        until *= 2
        if until > _LONGEST_H:
            return None
    return float(optimize.brentq(surplus, 0.0, until, xtol=1e-6))


def share_left(start_c: float, air_c: float, target_c: float) -> float:
    """Which share of the difference between body and air is left when the body is at the target.

    Where the body is at the air's temperature from the beginning there is no difference; it is then there or never.
    """
    if start_c == air_c:
        return inf if target_c == start_c else 0.0
    return (target_c - air_c) / (start_c - air_c)


def _middle_of_slab(slab: Slab, stuff: Stuff, seconds: float) -> float:
    if seconds <= 0:
        return 1.0
    fourier = stuff.diffusivity * seconds / slab.half_m**2
    terms = _series(slab.surface * slab.half_m / stuff.conductivity)
    return min(1.0, sum(factor * exp(-(root**2) * fourier) for root, factor in terms))


@lru_cache(maxsize=1_000)
def _series(biot: float) -> tuple[tuple[float, float], ...]:
    """The roots of z tan z = Bi and the factors that go with them."""
    roots = [_root(biot, number) for number in range(_TERMS)]
    return tuple((root, 4 * sin(root) / (2 * root + sin(2 * root))) for root in roots)


def _root(biot: float, number: int) -> float:
    low, high = number * pi, (number + 0.5) * pi
    edge = 1e-12 * (1 + high)
    return float(optimize.brentq(lambda z: z * sin(z) - biot * cos(z), low + edge * (number == 0), high - edge))


def first_root(biot: float) -> tuple[float, float]:
    """The first root and its factor, as textbooks tabulate them."""
    return _series(biot)[0]
