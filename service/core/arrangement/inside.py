"""A drawer and its trays as lines see them: a line is a column, or where trays are read in rows, a row.

``along`` runs along a line, ``across`` from line to line; so whatever is true of columns is true of rows.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import floor

import numpy as np
from numpy.typing import NDArray

from service.core.arrangement.inventory import DrawerStyle, ReadingOrder, Tray

Ints = NDArray[np.int64]
#: Wider than any drawer, and longer.
TOO_WIDE = 1 << 60


@dataclass(frozen=True, slots=True)
class Inside:
    """A drawer as lines see it: ``along`` is the longest line, ``across`` what all lines may take together.

    ``kept_free`` is what of ``across`` is the growth reserve; ``height`` is clear under the lid, ``None`` unknown.
    """

    along: int
    across: int
    kept_free: int
    height: int | None

    @property
    def usable(self) -> int:
        return self.across - self.kept_free


@dataclass(frozen=True, slots=True)
class Sizes:
    """Trays in order as lines see them, ``play`` included; a height of 0 is unknown and taken to fit."""

    along: Ints
    across: Ints
    height: Ints
    play: int = 0

    def __len__(self) -> int:
        return len(self.along)

    @property
    def widest(self) -> int:
        """The widest tray by itself, without play."""
        return int(self.across.max(initial=self.play)) - self.play

    @property
    def may_stand_abreast(self) -> bool:
        """Whether any two that follow one another are together no wider than the widest."""
        return len(self) > 1 and int((self.across[:-1] + self.across[1:]).min()) - 2 * self.play <= self.widest

    @property
    def area(self) -> int:
        """What all trays cover, in whole numbers of any size."""
        return sum(long * wide for long, wide in zip(self.along.tolist(), self.across.tolist(), strict=True))

    def long_in(self, inside: Inside) -> Ints:
        """How long each tray is in a line of this drawer; one too high for the lid is longer than any line."""
        too_high = self.height > inside.height if inside.height is not None else np.zeros(len(self), dtype=bool)
        return np.where(too_high, inside.along + 1, self.along)


def inside_of(style: DrawerStyle, reserve_percent: Decimal, order: ReadingOrder) -> Inside:
    width, depth = style.inner_width_nm, style.inner_depth_nm
    along, across = (depth, width) if order is ReadingOrder.COLUMNS else (width, depth)
    return Inside(along, across, across - floor(across * (100 - reserve_percent) / 100), style.clear_height_nm)


def sizes_of(trays: Sequence[Tray], play_nm: int, order: ReadingOrder) -> Sizes:
    width = np.array([tray.width_nm + play_nm for tray in trays], dtype=np.int64)
    depth = np.array([tray.depth_nm + play_nm for tray in trays], dtype=np.int64)
    height = np.array([tray.height_nm or 0 for tray in trays], dtype=np.int64)
    return Sizes(*((depth, width) if order is ReadingOrder.COLUMNS else (width, depth)), height, play_nm)
