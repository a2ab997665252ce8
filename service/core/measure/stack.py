"""Tolerances that meet in one gap: what they come to at worst, and what they come to as a rule.

The worst case adds them all up and is certain. The root of the sum of squares takes it that they are independent
and centred, so that not all go the same way at once (Scholz, F. 1995, Tolerance Stack Analysis Methods, Boeing).
Known movements, such as swelling, are no tolerances: they are added with their sign and never belong here.
"""

from dataclasses import dataclass
from math import hypot


@dataclass(frozen=True, slots=True)
class Stack:
    """A gap and the plus-or-minus of everything that it lies between, in nanometres."""

    gap_nm: float
    tolerances_nm: tuple[float, ...]

    @property
    def worst_case_nm(self) -> float:
        return sum(abs(tolerance) for tolerance in self.tolerances_nm)

    @property
    def root_sum_square_nm(self) -> float:
        return hypot(*self.tolerances_nm)

    @property
    def least_gap_nm(self) -> float:
        """What is left when everything goes the wrong way at once; below zero it binds."""
        return self.gap_nm - self.worst_case_nm

    @property
    def likely_least_gap_nm(self) -> float:
        """What is left by the root of the sum of squares."""
        return self.gap_nm - self.root_sum_square_nm
