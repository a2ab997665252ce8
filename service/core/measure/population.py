"""How the pieces of a line scatter, and the chance that one of them does not go into one opening."""

from collections.abc import Callable
from dataclasses import dataclass
from math import lgamma, log, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy import special

from service.core.measure.sample import Sample

#: One length or many, in nanometres, and the share of pieces that goes with each.
Lengths = NDArray[np.float64]
Shares = NDArray[np.float64]

#: Where an average is cut into pieces, in spreads beside a mean: close together near it, and ever wider out to where
#: even the tails of a sample of two pieces hold nothing any more.
_CUTS = np.array([0.0, *(side * 2.0**power for power in range(-2, 41) for side in (-1, 1))])
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, slots=True)
class Exactly:
    """One length without any spread: a single piece whose size is known."""

    mean_nm: float

    @property
    def spread_nm(self) -> float:
        return 0.0

    def share_above(self, nm: Lengths) -> Shares:
        return np.where(self.mean_nm > nm, 1.0, 0.0)

    def share_below(self, nm: Lengths) -> Shares:
        return np.where(self.mean_nm < nm, 1.0, 0.0)


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

    def share_above(self, nm: Lengths) -> Shares:
        return np.asarray(special.stdtr(self.sample.count - 1, (self.mean_nm - nm) / self.spread_nm))

    def share_below(self, nm: Lengths) -> Shares:
        return np.asarray(special.stdtr(self.sample.count - 1, (nm - self.mean_nm) / self.spread_nm))


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

    def share_above(self, nm: Lengths) -> Shares:
        return np.clip((self.mean_nm + self.tolerance_nm - nm) / (2 * self.tolerance_nm), 0.0, 1.0)

    def share_below(self, nm: Lengths) -> Shares:
        return np.clip((nm - self.mean_nm + self.tolerance_nm) / (2 * self.tolerance_nm), 0.0, 1.0)


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


def _average(over: Population, share: Callable[[Lengths], Shares], other: Population) -> float:
    """The other's share, averaged over all the lengths that ``over`` has."""
    match over:
        case Exactly():
            return float(share(np.asarray(over.mean_nm)))
        case Within():
            ends = over.mean_nm - over.tolerance_nm, over.mean_nm + over.tolerance_nm
            lengths, weights = _pieces(np.clip(_cuts(other), *ends), ends)
            average = weights @ share(lengths) / (ends[1] - ends[0])
        case Measured():
            cuts = np.concatenate([_cuts(over), _cuts(other)])
            lengths, weights = _pieces(cuts, (cuts.min(), cuts.max()))
            average = (weights * _density(over, lengths)) @ share(lengths)
    return min(1.0, max(0.0, float(average)))


def _cuts(population: Population) -> Lengths:
    """The lengths between which the population's share is smooth enough for a few points to follow."""
    cuts = population.mean_nm + population.spread_nm * _CUTS
    if isinstance(population, Within):
        return np.append(cuts, population.mean_nm + population.tolerance_nm * np.array([-1.0, 1.0]))
    return cuts


def _pieces(cuts: Lengths, ends: tuple[float, float]) -> tuple[Lengths, Lengths]:
    """Points and weights of Gauss's rule in every piece between two cuts."""
    edges = np.unique(np.concatenate([cuts, ends]))
    halves, middles = np.diff(edges) / 2, (edges[1:] + edges[:-1]) / 2
    return (middles[:, None] + halves[:, None] * _NODES).ravel(), (halves[:, None] * _WEIGHTS).ravel()


def _density(population: Measured, lengths: Lengths) -> Lengths:
    """Student's t per nanometre; the library's own checks its arguments at greater cost than it reckons."""
    degrees = population.sample.count - 1
    log_peak = lgamma((degrees + 1) / 2) - lgamma(degrees / 2) - log(degrees * pi) / 2
    distances = (lengths - population.mean_nm) / population.spread_nm
    return np.exp(log_peak - (degrees + 1) / 2 * np.log1p(distances**2 / degrees)) / population.spread_nm


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
