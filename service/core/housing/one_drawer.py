"""Do these trays lie in one drawer? Exact search: a layout, a proof that there is none, or no answer in time.

Every layout can be pushed to the front left and built up tray by tray so that each new tray stands in an inner corner
of the stairs that the trays before it form (Martello, Pisinger & Vigo 2000, "The three-dimensional bin packing
problem", Operations Research 48, corner points; in two dimensions none is missed). What lies under the stairs and is
no tray is lost; a search ends where more is lost than the drawer has to spare.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum

from service.core.housing.rooms import Piece, Put

#: x, y of the inner corners from the back left to the front right
Corners = tuple[tuple[int, int], ...]


class Fits(Enum):
    YES = "yes"
    NO = "no"
    UNDECIDED = "undecided"


@dataclass
class DrawerSearch:
    """``pieces`` are tried in order, in no more than ``nodes`` steps."""

    width: int
    depth: int
    pieces: Sequence[Piece]
    nodes: int
    _failed: set[tuple[tuple[int, ...], Corners]] = field(default_factory=set)
    _puts: list[Put] = field(default_factory=list)

    def look(self, left: Sequence[int]) -> tuple[Fits, tuple[Put, ...]]:
        """Whether all of ``left`` lie in the drawer, and how."""
        area = {piece.kind: piece.area for piece in self.pieces}
        spare = self.width * self.depth - sum(area.get(kind, 0) * count for kind, count in enumerate(left))
        if spare < 0 or any(count and kind not in area for kind, count in enumerate(left)):
            return Fits.NO, ()
        self._failed.clear()
        self._puts.clear()
        found = self._place(tuple(left), ((0, 0),), spare)
        return found, tuple(self._puts) if found is Fits.YES else ()

    def _place(self, left: tuple[int, ...], corners: Corners, spare: int) -> Fits:
        if not any(left):
            return Fits.YES
        if (left, corners) in self._failed:
            return Fits.NO
        self.nodes -= 1
        if self.nodes < 0:
            return Fits.UNDECIDED
        answer = self._each_way(left, corners, spare)
        if answer is Fits.NO:
            self._failed.add((left, corners))
        return answer

    def _each_way(self, left: tuple[int, ...], corners: Corners, spare: int) -> Fits:
        for piece in self.pieces:
            if not left[piece.kind]:
                continue
            rest = (*left[: piece.kind], left[piece.kind] - 1, *left[piece.kind + 1 :])
            usable = [other for other in self.pieces if rest[other.kind]]
            for at, (x, y) in enumerate(corners):
                if x + piece.width > self.width or y + piece.depth > self.depth:
                    continue
                after, lost = self._after(corners, at, piece, usable)
                if lost > spare:
                    continue
                self._puts.append(Put(x, y, piece))
                answer = self._place(rest, after, spare - lost)
                if answer is not Fits.NO:
                    return answer
                self._puts.pop()
        return Fits.NO

    def _after(self, corners: Corners, at: int, piece: Piece, usable: Sequence[Piece]) -> tuple[Corners, int]:
        """The stairs with one more tray in corner ``at``, and the area that is newly lost under them."""
        x, y = corners[at]
        right, back = x + piece.width, y + piece.depth
        before = [corner for corner in corners if corner[1] >= back]
        beyond = [corner for corner in corners if corner[0] >= right]
        first_x = next(cx for cx, cy in corners if cy < back)
        last_y = next(cy for cx, cy in reversed(corners) if cx < right)
        after = [*before]
        if not before or before[-1][1] != back:
            after.append((first_x, back))
        elif before[-1][1] == back:
            pass
        if not beyond or beyond[0][0] != right:
            after.append((right, last_y))
        after += beyond
        kept = tuple(corner for corner in after if self._is_of_use(corner, usable)) if usable else ()
        lost = self._free_area(corners) - self._free_area(kept) - piece.area if usable else 0
        return kept, lost

    def _is_of_use(self, corner: tuple[int, int], usable: Sequence[Piece]) -> bool:
        wide, deep = self.width - corner[0], self.depth - corner[1]
        return any(piece.width <= wide and piece.depth <= deep for piece in usable)

    def _free_area(self, corners: Corners) -> int:
        """Area beyond the stairs: right of and behind one corner at least."""
        area, back = 0, self.depth
        for x, y in corners:
            area += (self.width - x) * (back - y)
            back = y
        return area
