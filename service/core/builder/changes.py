"""The smallest change that makes more systems take a size, by exact search over everything that can be cut.

A suggested size is the asker's own plus whole cuts along width, depth and height. Each box of accepted sizes holds a
block of these grid points, so that a table of differences, summed up along the three axes, tells at every point
how many systems take it. Then for each total of cuts the best point is looked up among all that there are. Nothing is
sampled and nothing is rounded: a suggested size lies inside the boxes that were counted for it.
"""

from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from service.core.builder.box import Sizes
from service.core.builder.field import Field, Numbers

MOST_CHANGES = 6


@dataclass(frozen=True, slots=True)
class Change:
    """What to change, what it comes to, and what it is worth.

    ``cuts`` are whole cuts along width, depth and height, below zero smaller. Of the ``taken_by`` systems that take
    ``size``, ``gained`` do not take the size as it was; ``lost`` took that one and do not take this.
    """

    cuts: Sizes
    size: Sizes
    taken_by: int
    gained: int
    lost: int


def smallest_changes(field: Field, size: Sizes, cut_nm: int, reach: int) -> tuple[Change, ...]:
    """Changes that more systems take than the size as it is, the smallest first.

    Looked at is every change of up to ``reach`` cuts along each axis. The first is the smallest of them that gains
    anything, by the sum of its cuts over the three axes. The others are worth the further cuts: among all changes of
    their total none is taken by more, and no mixture of a smaller and a larger one gains more for each cut. Of equal
    ones, the one along fewer axes is told.
    """
    counts, plan = _taken_by(field, size, cut_nm, reach), _plan(reach)
    best = np.maximum.reduceat(counts[plan.order], plan.starts)
    totals = _worth_telling(best)
    now = np.zeros(field.owners.max(initial=-1) + 1, dtype=bool)
    now[field.within(size)] = True
    return tuple(_change(field, now, size, cut_nm, plan.first(counts, total, int(best[total]))) for total in totals)


def _taken_by(field: Field, size: Sizes, cut_nm: int, reach: int) -> Numbers:
    """How many systems take each point of the grid, as one flat row in the order of :func:`_plan`."""
    at, reach_nm, along = np.array(size)[:, None], (reach + 1) * cut_nm, 2 * reach + 2
    near = np.clip(field.boxes.reshape(2, 3, -1) - at, -reach_nm, reach_nm).astype(np.int32)
    # Whole cuts from the size to the first grid point inside each box, and to the first one after it.
    first = np.maximum(-(-near[0] // cut_nm), -reach) + reach
    after = np.minimum(near[1] // cut_nm, reach) + reach + 1
    inside = (first < after).all(axis=0)
    strides = np.array((along**2, along, 1))[:, None]
    ends = first[:, inside] * strides, after[:, inside] * strides
    rises: list[Numbers] = []
    falls: list[Numbers] = []
    for corner in product((0, 1), repeat=3):
        width, depth, height = (ends[end][axis] for axis, end in enumerate(corner))
        (falls if sum(corner) % 2 else rises).append(width + depth + height)
    steps = np.bincount(np.concatenate(rises), minlength=along**3) - np.bincount(
        np.concatenate(falls), minlength=along**3
    )
    table = steps.reshape((along,) * 3)
    for axis in range(3):
        table = table.cumsum(axis=axis)
    return np.ascontiguousarray(table[:-1, :-1, :-1]).ravel()


def is_settled(found: tuple[Change, ...], reach: int) -> bool:
    """Whether looking further than ``reach`` could bring no smaller change that gains anything.

    A change beyond it takes more than ``reach`` cuts along one axis alone.
    """
    return bool(found) and sum(map(abs, found[0].cuts)) <= reach


@dataclass(frozen=True, slots=True)
class Plan:
    """The grid points by how much they change: ``order`` sorts them, ``starts`` is where each total begins."""

    cuts: Numbers
    order: Numbers
    starts: Numbers

    def first(self, counts: Numbers, total: int, taken_by: int) -> Sizes:
        """The cuts of the plainest point of this total that so many systems take."""
        end = self.starts[total + 1] if total + 1 < len(self.starts) else len(self.order)
        points = self.order[self.starts[total] : end]
        width, depth, height = (int(cut) for cut in self.cuts[points[counts[points] == taken_by][0]])
        return width, depth, height


@cache
def _plan(reach: int) -> Plan:
    """By total, then by how many axes change, then by the largest single change, then smaller before larger."""
    span = np.arange(-reach, reach + 1)
    cuts = np.stack(np.meshgrid(span, span, span, indexing="ij"), axis=-1).reshape(-1, 3)
    size = np.abs(cuts)
    totals = size.sum(axis=1)
    order = np.lexsort((cuts.sum(axis=1), size.max(axis=1), (size > 0).sum(axis=1), totals))
    starts = np.searchsorted(totals[order], np.arange(3 * reach + 1))
    return Plan(cuts, order, starts)


def _worth_telling(best: Numbers) -> list[int]:
    """The totals that gain: the smallest, and from there on the corners of the curve of gains that bulge outward."""
    gains = [total for total in range(1, len(best)) if best[total] > best[:total].max()]
    told: list[int] = gains[:1]
    corners: list[int] = []
    for total in [0, *gains]:
        while len(corners) > 1 and _bulges_in(best, corners[-2], corners[-1], total):
            corners.pop()
        corners.append(total)
    told += [total for total in corners[1:] if total not in told]
    return told[:MOST_CHANGES]


def _bulges_in(best: Numbers, before: int, middle: int, after: int) -> bool:
    """Whether the middle one gains no more for each cut than the way from before to after."""
    gain, further = int(best[middle] - best[before]), int(best[after] - best[middle])
    return gain * (after - middle) <= further * (middle - before)


def _change(field: Field, now: NDArray[np.bool_], size: Sizes, cut_nm: int, cuts: Sizes) -> Change:
    width, depth, height = (nm + number * cut_nm for nm, number in zip(size, cuts, strict=True))
    then = field.within((width, depth, height))
    kept = int(now[then].sum())
    taken_by = len(then) + field.everywhere
    return Change(cuts, (width, depth, height), taken_by, len(then) - kept, int(now.sum()) - kept)
