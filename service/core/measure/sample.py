"""What the readings of some pieces say of all pieces like them.

Ten drawers out of two hundred give a mean and a spread, and both are only estimates: the true spread may well be
half as large again. The factors here widen the range by what the size of the sample demands, instead of taking
“two sigmas” for granted. Pieces are taken to scatter normally around their mean.
"""

from dataclasses import dataclass
from functools import cache
from math import sqrt

import numpy as np
from scipy import optimize, special, stats

from service.core.measure.lengths import NM_PER_INCH, NM_PER_MM

#: The marks that rules, callipers and steel tapes carry, coarse to fine.
_MARKS_NM = (
    *(NM_PER_MM, NM_PER_INCH // 16, NM_PER_MM // 2, NM_PER_INCH // 32, NM_PER_INCH // 64),
    *(NM_PER_MM // 10, NM_PER_MM // 20, NM_PER_MM // 50, NM_PER_MM // 100),
)

#: Beyond eight standard deviations of the mean nothing is left that the sixth decimal of a factor could show.
_REACH = 8.5
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(96)


class TooFewReadings(ValueError):
    """One reading says nothing about how far other pieces stray from it."""


@dataclass(frozen=True, slots=True)
class Range:
    """From ``least_nm`` to ``greatest_nm``."""

    least_nm: float
    greatest_nm: float


@dataclass(frozen=True, slots=True)
class Sample:
    """The readings of ``count`` pieces: their mean and their standard deviation (n − 1 in the divisor)."""

    count: int
    mean_nm: float
    deviation_nm: float

    def __post_init__(self) -> None:
        if self.count < 2:
            raise TooFewReadings(f"A spread takes two readings at least; there is {self.count}.")

    @classmethod
    def of(cls, readings_nm: tuple[int, ...]) -> "Sample":
        """From readings; the spread is never less than their own marks could have hidden.

        Readings that all agree do not say that the pieces do: a rule with a mark every millimetre leaves a
        standard deviation of 1 mm / √12 open (JCGM 100:2008, “Guide to the expression of uncertainty in
        measurement”, F.2.2.1).

        :raises TooFewReadings: when there are fewer than two.
        """
        count = len(readings_nm)
        if count < 2:
            raise TooFewReadings(f"A spread takes two readings at least; there is {count}.")
        hidden_nm = finest_mark_nm(readings_nm) / sqrt(12)
        return cls(count, float(np.mean(readings_nm)), max(float(np.std(readings_nm, ddof=1)), hidden_nm))

    def covering(self, share: float, confidence: float) -> Range:
        """The range that holds ``share`` of all pieces, with ``confidence`` that it truly does."""
        reach_nm = two_sided_factor(self.count, share, confidence) * self.deviation_nm
        return Range(self.mean_nm - reach_nm, self.mean_nm + reach_nm)

    def at_most(self, share: float, confidence: float) -> float:
        """The length in nanometres that ``share`` of all pieces do not exceed, with ``confidence``."""
        return self.mean_nm + one_sided_factor(self.count, share, confidence) * self.deviation_nm

    def at_least(self, share: float, confidence: float) -> float:
        """The length in nanometres that ``share`` of all pieces reach, with ``confidence``."""
        return self.mean_nm - one_sided_factor(self.count, share, confidence) * self.deviation_nm


def finest_mark_nm(readings_nm: tuple[int, ...]) -> int:
    """How far apart the marks were that the readings were taken by: the coarsest that explains them all."""
    return next((mark for mark in _MARKS_NM if all(nm % mark == 0 for nm in readings_nm)), 0)


@cache
def one_sided_factor(count: int, share: float, confidence: float) -> float:
    """How many standard deviations beyond the mean of ``count`` pieces one limit lies for ``share`` to keep to it.

    Exact, by the noncentral t distribution (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3).
    """
    shift = sqrt(count) * float(special.ndtri(share))
    return float(stats.nct.ppf(confidence, count - 1, shift)) / sqrt(count)


@cache
def two_sided_factor(count: int, share: float, confidence: float) -> float:
    """How many standard deviations on both sides of the mean of ``count`` pieces hold ``share`` of all of them.

    Exact: the factor at which the chance, over all samples of that size, to cover at least that share equals
    the confidence (ISO 16269-6:2014, annex F; Meeker, Hahn & Escobar 2017, Statistical Intervals, tables J.5).
    """
    off_centre = (_NODES + 1) / 2 * _REACH
    weights = _REACH * _WEIGHTS * stats.norm.pdf(off_centre)
    # The square of the half width, in true deviations, that covers the share from a mean that is off by so much.
    needed = stats.ncx2.ppf(share, 1, off_centre**2 / count)

    def lacking(factor: float) -> float:
        wide_enough = special.chdtrc(count - 1, (count - 1) * needed / factor**2)
        return float(weights @ wide_enough) - confidence

    return float(optimize.brentq(lacking, 1e-3, 1e6, xtol=1e-9))
