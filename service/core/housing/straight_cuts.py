"""The layout of most worth among those that straight cuts take apart.

A straight cut runs from edge to edge of what it parts. Which layout of that kind is worth most is worked out for
every width and depth at once, cut by cut, until no further cut is of use (Gilmore & Gomory 1966, "The theory and
computation of knapsack functions", Operations Research 14).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from service.core.housing.columns import Sums, Worths
from service.core.housing.rooms import Piece, Put, Room

#: Beyond so many sums of lengths along a side only some are looked at.
_MOST_SUMS = 250
#: Each pass makes cuts the other way than the one before.
_MOST_PASSES = 10
_NEARLY = 1e-9

Places = NDArray[np.intp]


@dataclass(frozen=True)
class Side:
    """One side of a room: ``ends`` where trays can end, and where each of them falls less each other."""

    ends: NDArray[np.int_]
    left: Places
    """``left[at, end]`` is the place of the end less the one at ``at``, or of the next lower one."""

    @classmethod
    def of(cls, whole: int, lengths: Sequence[int]) -> "Side":
        kept = Sums(whole, tuple(sorted(set(lengths))), _MOST_SUMS)
        return cls(np.array(kept.kept), kept.back_by(kept.kept))

    @property
    def whole(self) -> int:
        """The place of the whole side."""
        return len(self.ends) - 1

    def place(self, length: int) -> int:
        return int(np.searchsorted(self.ends, length))


@dataclass(frozen=True, slots=True)
class Block:
    """A part of a room, ``width`` and ``depth`` as places on its sides."""

    x: int
    y: int
    width: int
    depth: int


class StraightCuts:
    """The best layouts of one room, for one set of worths after another."""

    def __init__(self, room: Room) -> None:
        self.room = room
        self.across = Side.of(room.width, [piece.width for piece in room.pieces])
        self.along = Side.of(room.depth, [piece.depth for piece in room.pieces])

    def weigh(self, worths: Sequence[float]) -> None:
        """Work out what every part of the room is worth, a tray of each kind being worth so much."""
        self._worths = worths
        table = self._of_single_trays()
        for number in range(_MOST_PASSES):
            upright = number % 2 == 0
            better = _parted(table if upright else table.T, self.across if upright else self.along)
            better = better if upright else better.T
            if number and np.array_equal(better, table):
                break
            table = np.ascontiguousarray(better)
        self.table = table

    def _of_single_trays(self) -> Worths:
        table = np.zeros((len(self.across.ends), len(self.along.ends)))
        for piece in self.room.pieces:
            part = table[self.across.place(piece.width) :, self.along.place(piece.depth) :]
            np.maximum(part, self._worths[piece.kind], out=part)
        return table

    @property
    def most(self) -> float:
        """What the whole room is worth."""
        return float(self.table[-1, -1])

    def laid(self, blocks: Sequence[Block]) -> tuple[Put, ...]:
        """The best layout of each block: its cuts are retraced down to trays."""
        waiting, puts = list(blocks), []
        while waiting:
            block = waiting.pop()
            if self.table[block.width, block.depth] > _NEARLY:
                if (piece := self._single_tray(block)) is not None:
                    puts.append(Put(block.x, block.y, piece))
                else:
                    waiting += self._cut(block)
        return tuple(puts)

    def _single_tray(self, block: Block) -> Piece | None:
        width, depth = self.across.ends[block.width], self.along.ends[block.depth]
        least = self.table[block.width, block.depth] - _NEARLY
        return next(
            (
                piece
                for piece in self.room.pieces
                if piece.width <= width and piece.depth <= depth and self._worths[piece.kind] >= least
            ),
            None,
        )

    def _cut(self, block: Block) -> tuple[Block, Block]:
        """The two parts that are worth as much as the whole."""
        beyond = self.across.left[1 : block.width, block.width]
        upright = self.table[1 : block.width, block.depth] + self.table[beyond, block.depth]
        behind = self.along.left[1 : block.depth, block.depth]
        lying = self.table[block.width, 1 : block.depth] + self.table[block.width, behind]
        if upright.max(initial=0) >= lying.max(initial=0):
            at = 1 + int(upright.argmax())
            x = block.x + int(self.across.ends[at])
            return replace(block, width=at), Block(x, block.y, int(beyond[at - 1]), block.depth)
        at = 1 + int(lying.argmax())
        y = block.y + int(self.along.ends[at])
        return replace(block, depth=at), Block(block.x, y, block.width, int(behind[at - 1]))


def _parted(table: Worths, side: Side) -> Worths:
    """What every part is worth when it may also be cut in two across ``side``, the first axis of the table."""
    better = np.array(table)
    for end in range(2, len(better)):
        others = side.left[1:end, end]
        # Each pair of parts once, the smaller first.
        pairs = np.count_nonzero(others >= np.arange(1, end))
        if pairs:
            both = better[1 : pairs + 1] + better[others[:pairs]]
            np.maximum(better[end], both.max(axis=0), out=better[end])
        np.maximum(better[end], better[end - 1], out=better[end])
    return better
