"""How the pieces of a line scatter, and the chance that one of them does not go into one opening."""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, lgamma, log, log1p, pi, sqrt

from scipy import integrate, special

from service.core.measure.sample import Sample

#: Where an integral is told to look closely, in spreads beside the mean.
_STEEP = (-6.0, -3.0, -1.0, 0.0, 1.0, 3.0, 6.0)
_RELATIVE_ERROR = 1e-9


@dataclass(frozen=True, slots=True)
class Exactly:
    """One length without any spread: a single piece whose size is known."""

    mean_nm: float

    @property
    def spread_nm(self) -> float:
        return 0.0

    def share_above(self, nm: float) -> float:
        return float(self.mean_nm > nm)

    def share_below(self, nm: float) -> float:
        return float(self.mean_nm < nm)


@dataclass(frozen=True, slots=True)
class Measured:
    """Pieces of which a sample was measured.

    The next piece is foretold by Student's t with the sample's own count, and wider than the sample by what its
    mean may be out: (next − mean) / (s √(1 + 1/n)) has n − 1 degrees of freedom (Montgomery & Runger, Applied
    Statistics and Probability for Engineers, prediction interval for a future observation).
    """

    sample: Sample

    @property
    def mean_nm(self) -> float:
        return self.sample.mean_nm

    @property
    def spread_nm(self) -> float:
        return self.sample.deviation_nm * sqrt(1 + 1 / self.sample.count)

    def share_above(self, nm: float) -> float:
        return float(special.stdtr(self.sample.count - 1, (self.mean_nm - nm) / self.spread_nm))

    def share_below(self, nm: float) -> float:
        return float(special.stdtr(self.sample.count - 1, (nm - self.mean_nm) / self.spread_nm))


@dataclass(frozen=True, slots=True)
class Within:
    """Pieces of which only limits are known: ``tolerance_nm``, more than zero, to either side.

    Nobody knows how they scatter between the limits, so every length there counts as likely as any other
    (JCGM 100:2008, “Guide to the expression of uncertainty in measurement”, 4.3.7).
    """

    mean_nm: float
    tolerance_nm: float

    @property
    def spread_nm(self) -> float:
        return self.tolerance_nm / sqrt(3)

    def share_above(self, nm: float) -> float:
        return min(1.0, max(0.0, (self.mean_nm + self.tolerance_nm - nm) / (2 * self.tolerance_nm)))

    def share_below(self, nm: float) -> float:
        return min(1.0, max(0.0, (nm - self.mean_nm + self.tolerance_nm) / (2 * self.tolerance_nm)))


Population = Exactly | Measured | Within


def chance_of_binding(thing: Population, opening: Population) -> float:
    """The chance that one thing, taken at random, is larger than one opening, taken at random.

    Each scatters by itself. A thing just as large as the opening still goes in.
    """
    if _averaged_first(thing) <= _averaged_first(opening):
        return _average(thing, opening.share_below, opening)
    return _average(opening, thing.share_above, thing)


def _averaged_first(population: Population) -> tuple[bool, bool, float]:
    """A length, limits, then whichever scatters less: over these the other's share is the smoothest to average."""
    return not isinstance(population, Exactly), isinstance(population, Measured), population.spread_nm


def _average(over: Population, share: Callable[[float], float], other: Population) -> float:
    match over:
        case Exactly():
            return share(over.mean_nm)
        case Within():
            return _over_limits(over, share, other)
        case Measured():
            return _over_sample(over, share)


def _over_limits(over: Within, share: Callable[[float], float], other: Population) -> float:
    least_nm, greatest_nm = over.mean_nm - over.tolerance_nm, over.mean_nm + over.tolerance_nm
    steep = [other.mean_nm + spreads * other.spread_nm for spreads in _STEEP]
    ends = (
        [other.mean_nm - other.tolerance_nm, other.mean_nm + other.tolerance_nm] if isinstance(other, Within) else []
    )
    points = [nm for nm in (*steep, *ends) if least_nm < nm < greatest_nm]
    area, _ = integrate.quad(share, least_nm, greatest_nm, points=points or None, limit=200, epsrel=_RELATIVE_ERROR)
    return min(1.0, max(0.0, float(area) / (greatest_nm - least_nm)))


def _over_sample(over: Measured, share: Callable[[float], float]) -> float:
    degrees = over.sample.count - 1
    # Student's density, written out: the library's checks its arguments anew at each of some hundred points.
    log_peak = lgamma((degrees + 1) / 2) - lgamma(degrees / 2) - log(degrees * pi) / 2

    def weighted(spreads: float) -> float:
        density = exp(log_peak - (degrees + 1) / 2 * log1p(spreads**2 / degrees))
        return density * share(over.mean_nm + spreads * over.spread_nm)

    area, _ = integrate.quad(weighted, -inf, inf, limit=200, epsabs=0, epsrel=_RELATIVE_ERROR)
    return min(1.0, max(0.0, float(area)))


def expected_to_bind(count: int, thing: Population, opening: Population, readings_nm: tuple[int, ...] = ()) -> float:
    """How many of ``count`` things are expected not to go in.

    Those that were measured are known; only the others are foretold. More readings than things are several
    readings of one thing, and then each thing is foretold.
    """
    foretold = chance_of_binding(thing, opening)
    if not readings_nm or len(readings_nm) > count:
        return count * foretold
    known = sum(chance_of_binding(Exactly(nm), opening) for nm in readings_nm)
    return known + (count - len(readings_nm)) * foretold
