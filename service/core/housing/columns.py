"""The column layout of most worth: columns side by side, each of rows, each row of trays side by side.

Worked out exactly, from the inside out: what a row of each height is worth in a column of each width, what a column
of each width is worth, and what columns fill the room (P. C. Gilmore & R. E. Gomory 1965, "Multistage cutting stock
problems of two and more dimensions", Operations Research 13).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from service.core.housing.rooms import Filled, Piece, Put, Room

#: Beyond so many sums of lengths along a side only some are looked at: good layouts still, the best no longer proved.
MOST_SUMS = 500
_NOTHING = -1e18
_LEAST_GAIN = 1e-9

Worths = NDArray[np.float64]


@dataclass(frozen=True)
class Sums:
    """Where trays can end when they are pushed together from one side: sums of lengths, up to the whole length."""

    whole: int
    lengths: tuple[int, ...]
    most: int = MOST_SUMS

    @cached_property
    def every(self) -> list[int]:
        reached = {0}
        for length in sorted(self.lengths, reverse=True):
            more = reached
            while more and len(reached) <= 50 * self.most:
                more = {at + length for at in more if at + length <= self.whole} - reached
                reached |= more
        return sorted(reached | {self.whole})

    @cached_property
    def is_complete(self) -> bool:
        return len(self.every) <= self.most

    @cached_property
    def kept(self) -> list[int]:
        """All sums or, where these are too many, multiples of each length and some of the rest."""
        if self.is_complete:
            return self.every
        plain = {at for length in self.lengths for at in range(0, self.whole + 1, length)}
        rest = self.every[:: len(self.every) // (self.most // 2) + 1]
        return sorted(plain | set(rest) | {self.whole})

    def back_by(self, lengths: Sequence[int]) -> NDArray[np.intp]:
        """For each length and sum, where the sum less the length falls; −1 where it is less than nothing."""
        kept = np.array(self.kept)
        left = kept[None, :] - np.array(lengths)[:, None]
        places: NDArray[np.intp] = np.searchsorted(kept, left, side="right").astype(np.intp) - 1
        return places


class ColumnSearch:
    """The best column layouts of one room in one direction: columns stand side by side along its width."""

    def __init__(self, room: Room) -> None:
        self._pieces = room.pieces
        widths, self._depths = [piece.width for piece in room.pieces], sorted({piece.depth for piece in room.pieces})
        self._across, self._along = (
            Sums(room.width, tuple(sorted(set(widths)))),
            Sums(room.depth, tuple(self._depths)),
        )
        self.is_exact = self._across.is_complete and self._along.is_complete
        self._beside = self._across.back_by(widths)
        self._behind = self._along.back_by(self._depths)
        self._columns_beside = self._across.back_by(self._across.kept)
        self._fits_row = np.array([[piece.depth <= depth for depth in self._depths] for piece in room.pieces])

    def best(self, worths: Sequence[float]) -> tuple[float, tuple[Put, ...]]:
        """The layout of most worth, a tray of each piece being worth so much, and its worth."""
        each = np.array([worths[piece.kind] for piece in self._pieces])
        rows = self._rows(np.where(self._fits_row, each[:, None], _NOTHING))
        columns = self._columns(rows)
        worth = self._side_by_side(columns[-2])
        return float(worth[-2]), self._laid(each, rows, columns, worth)

    def _rows(self, worths: Worths) -> Worths:
        """Worth of a row by column width and by its own depth. The last line stands for less than nothing."""
        rows = np.zeros((len(self._across.kept) + 1, len(self._depths)))
        rows[-1] = _NOTHING
        for at in range(1, len(rows) - 1):
            np.maximum(rows[at - 1], (rows[self._beside[:, at]] + worths).max(axis=0), out=rows[at])
        return rows

    def _columns(self, rows: Worths) -> Worths:
        """Worth of a column by its depth and width."""
        by_depth = np.ascontiguousarray(rows[:-1].T)
        columns = np.zeros((len(self._along.kept) + 1, by_depth.shape[1]))
        columns[-1] = _NOTHING
        for at in range(1, len(columns) - 1):
            np.maximum(columns[at - 1], (columns[self._behind[:, at]] + by_depth).max(axis=0), out=columns[at])
        return columns

    def _side_by_side(self, column: Worths) -> Worths:
        worth = np.zeros(len(column) + 1)
        worth[-1] = _NOTHING
        for at in range(1, len(column)):
            worth[at] = max(worth[at - 1], (worth[self._columns_beside[1 : at + 1, at]] + column[1 : at + 1]).max())
        return worth

    def _laid(self, each: Worths, rows: Worths, columns: Worths, worth: Worths) -> tuple[Put, ...]:
        """Retrace the choices from the whole room down to trays."""
        puts: list[Put] = []
        at, x, column = len(worth) - 2, 0, columns[-2]
        while at > 0 and worth[at] > _LEAST_GAIN:
            if worth[at] <= worth[at - 1]:
                at -= 1
                continue
            choices = worth[self._columns_beside[1 : at + 1, at]] + column[1 : at + 1]
            chosen = 1 + int(choices.argmax())
            puts += self._column_laid(x, chosen, each, rows, columns)
            x += self._across.kept[chosen]
            at = int(self._columns_beside[chosen, at])
        return tuple(puts)

    def _column_laid(self, x: int, width: int, each: Worths, rows: Worths, columns: Worths) -> list[Put]:
        puts: list[Put] = []
        at, y = len(columns) - 2, 0
        while at > 0 and columns[at, width] > _LEAST_GAIN:
            if columns[at, width] <= columns[at - 1, width]:
                at -= 1
                continue
            chosen = int((columns[self._behind[:, at], width] + rows[width]).argmax())
            puts += self._row_laid(x, y, width, chosen, each, rows)
            y += self._depths[chosen]
            at = int(self._behind[chosen, at])
        return puts

    def _row_laid(self, x: int, y: int, at: int, row: int, each: Worths, rows: Worths) -> list[Put]:
        puts: list[Put] = []
        worths = np.where(self._fits_row[:, row], each, _NOTHING)
        while at > 0 and rows[at, row] > _LEAST_GAIN:
            if rows[at, row] <= rows[at - 1, row]:
                at -= 1
                continue
            chosen = int((rows[self._beside[:, at], row] + worths).argmax())
            puts.append(Put(x, y, self._pieces[chosen]))
            x += self._pieces[chosen].width
            at = int(self._beside[chosen, at])
        return puts


class ColumnPricing:
    """Both directions, for every room of a task."""

    def __init__(self, rooms: Sequence[Room]) -> None:
        self._searches = [
            (at, search, mirrored)
            for at, room in enumerate(rooms)
            if room.pieces
            for search, mirrored in ((ColumnSearch(room), False), (ColumnSearch(room.on_its_side), True))
        ]
        self.is_exact = all(search.is_exact for _, search, _ in self._searches)

    def best(self, worths: Sequence[float]) -> list[tuple[float, Filled]]:
        """The layout of most worth in each room and direction, with its worth."""
        found = []
        for room, search, mirrored in self._searches:
            worth, puts = search.best(worths)
            found.append((worth, Filled(room, tuple(put.mirrored for put in puts) if mirrored else puts)))
        return found


def homogeneous(room: int, piece: Piece, within: Room) -> Filled:
    """As many of one piece as lie side by side."""
    columns, rows = within.width // piece.width, within.depth // piece.depth
    return Filled(
        room,
        tuple(Put(x * piece.width, y * piece.depth, piece) for y in range(rows) for x in range(columns)),
    )
