"""The boxes of sizes that many storage systems take, as numbers to search at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.core.builder.box import Sizes

Numbers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Field:
    """Boxes of accepted sizes, one a column: least width, depth and height, then most; and whose each is.

    No two boxes of one owner meet (see ``box.apart``), so that boxes at a point are owners. ``everywhere`` counts
    owners besides, whose box holds every size that is looked at: no change wins or loses them.
    """

    boxes: Numbers
    owners: Numbers
    everywhere: int = 0

    def at(self, size: Sizes) -> Numbers:
        """The places of the boxes that hold a size."""
        holds = np.ones(len(self.owners), dtype=bool)
        for least, nm, most in zip(self.boxes[:3], size, self.boxes[3:], strict=True):
            holds &= (least <= nm) & (nm <= most)
        return np.flatnonzero(holds)

    def within(self, size: Sizes) -> Numbers:
        """Whose boxes hold a size, each owner once and without those from everywhere."""
        found: Numbers = self.owners[self.at(size)]
        return found

    def taken_by(self, size: Sizes) -> int:
        """How many take a size, those from everywhere too."""
        return len(self.at(size)) + self.everywhere

    def closest(self, size: Sizes, most: int) -> Numbers:
        """Who takes a size, without those from everywhere: whoever leaves it the least play comes first."""
        there = self.at(size)
        play = self.boxes[3, there] - size[0] + self.boxes[4, there] - size[1]
        found: Numbers = self.owners[there][np.lexsort((self.owners[there], play))][:most]
        return found


def numbered(ids: NDArray[np.void]) -> tuple[Numbers, Numbers]:
    """A number for each id of two 64-bit halves, the same for the same, and where the first of each number stands.

    Sorting by one half alone is half the work; where that leaves unlike ids beside each other, both are sorted by.
    """
    high, low = (ids[half].astype(np.uint64) for half in ("high", "low"))
    order = np.argsort(low)
    like_low, like_high = (half[order][1:] == half[order][:-1] for half in (low, high))
    if (like_low & ~like_high).any():
        order = np.lexsort((high, low))
        like_low, like_high = (half[order][1:] == half[order][:-1] for half in (low, high))
    first = np.ones(len(order), dtype=bool)
    first[1:] = ~(like_low & like_high)
    numbers = np.empty(len(order), dtype=np.int64)
    numbers[order] = first.cumsum() - 1
    return numbers, order[first]
