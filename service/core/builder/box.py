"""Boxes of sizes: from a least to a most along width, depth and height, and what is left when one is cut out."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

Sizes = tuple[int, int, int]
"""Width, depth and height in nanometres."""

#: A system whose kinds of cabinet overlap in more ways than this has a slip in it; what comes later is left out.
MOST_PIECES = 400


@dataclass(frozen=True, slots=True)
class Box:
    """All sizes from ``least`` to ``most``, both included."""

    least: Sizes
    most: Sizes

    @property
    def is_empty(self) -> bool:
        return any(least > most for least, most in zip(self.least, self.most, strict=True))

    def holds(self, size: Sizes) -> bool:
        return all(least <= one <= most for least, one, most in zip(self.least, size, self.most, strict=True))

    def meets(self, other: "Box") -> bool:
        return all(
            max(a, b) <= min(c, d) for a, b, c, d in zip(self.least, other.least, self.most, other.most, strict=True)
        )

    def along(self, axis: int, least: int, most: int) -> "Box":
        """The same box with another extent along one axis."""
        return Box(_with(self.least, axis, least), _with(self.most, axis, most))


def _with(sizes: Sizes, axis: int, nm: int) -> Sizes:
    width, depth, height = (nm if place == axis else one for place, one in enumerate(sizes))
    return width, depth, height


def without(box: Box, other: Box) -> Iterator[Box]:
    """What is left of a box when another is cut out of it: up to six pieces that do not meet."""
    if not box.meets(other):
        yield box
        return
    for axis in range(3):
        below = box.along(axis, box.least[axis], other.least[axis] - 1)
        above = box.along(axis, other.most[axis] + 1, box.most[axis])
        yield from (piece for piece in (below, above) if not piece.is_empty)
        box = box.along(axis, max(box.least[axis], other.least[axis]), min(box.most[axis], other.most[axis]))


def apart(boxes: Iterable[Box]) -> Iterator[tuple[int, Box]]:
    """The same sizes in pieces of which no two meet, each with the place of the box that it was cut from.

    Where boxes meet, the earlier one keeps what they share. So whoever holds a size holds it in one piece, and pieces
    can be counted where owners are meant.
    """
    kept: list[Box] = []
    pieces = 0
    for place, box in enumerate(boxes):
        left = [] if box.is_empty else [box]
        for earlier in kept:
            left = [piece for whole in left for piece in without(whole, earlier)]
        pieces += len(left)
        if pieces > MOST_PIECES:
            return
        kept.append(box) if left else None
        yield from ((place, piece) for piece in left)
