"""Lengths side by side along one side of a drawer: the largest sum of values."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

#: Finer divisions of a drawer's side than this are rounded, on the safe side.
FINEST = 6_000
_LEAST_GAIN = 1e-12


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a drawer, and the lengths that may lie along it, each at most so many times.

    A side in very fine units is made coarser. All lengths are rounded down for that, so whatever fits still fits:
    sums found are never too small, and bounds that rest on them hold.
    """

    whole: int
    lengths: tuple[int, ...]
    most: tuple[int, ...]

    @classmethod
    def of(cls, whole: int, lengths: Sequence[int], counts: Sequence[int]) -> "Side":
        coarser = -(-whole // FINEST)
        short = tuple(max(1, length // coarser) for length in lengths)
        room = whole // coarser
        most = tuple(min(count, whole // length) for count, length in zip(counts, lengths, strict=True))
        return cls(room, short, most)


def largest_sum(side: Side, values: Sequence[float]) -> tuple[float, list[int]]:
    """The most that values can add up to over lengths that fit, and how often each length is taken."""
    best = np.zeros(side.whole + 1)
    taken: list[tuple[int, int, NDArray[np.bool_]]] = []
    for item, (length, most) in enumerate(zip(side.lengths, side.most, strict=True)):
        if values[item] <= 0:
            continue
        for times in _parts(most):
            if times * length > side.whole:
                break
            with_it = best[: side.whole + 1 - times * length] + times * values[item]
            better = np.zeros(side.whole + 1, dtype=np.bool_)
            np.greater(with_it, best[times * length :] + _LEAST_GAIN, out=better[times * length :])
            best[times * length :] = np.where(better[times * length :], with_it, best[times * length :])
            taken.append((item, times, better))
    return float(best[-1]), _taken(side, taken)


def _parts(most: int) -> list[int]:
    """Numbers whose sums of some are all of 0 to ``most``: 1, 2, 4 and so on, and a rest."""
    parts, part = [], 1
    while most > 0:
        parts.append(min(part, most))
        most -= part
        part *= 2
    return parts


def _taken(side: Side, taken: list[tuple[int, int, NDArray[np.bool_]]]) -> list[int]:
    counts, at = [0] * len(side.lengths), side.whole
    for item, times, better in reversed(taken):
        if better[at]:
            counts[item] += times
            at -= times * side.lengths[item]
    return counts


def largest_whole_sum(side: Side, values: Sequence[int]) -> int:
    """The same in whole numbers, without any rounding."""
    best = np.zeros(side.whole + 1, dtype=np.int64)
    for value, length, most in zip(values, side.lengths, side.most, strict=True):
        for times in _parts(most):
            if times * length > side.whole:
                break
            np.maximum(
                best[times * length :],
                best[: side.whole + 1 - times * length] + times * value,
                out=best[times * length :],
            )
    return int(best[-1])
