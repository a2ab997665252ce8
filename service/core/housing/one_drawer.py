"""Do these trays lie in one drawer? Exact search: a layout, a proof that there is none, or no answer in time.

Every layout can be pushed to the front left and built up tray by tray so that each new tray stands in an inner corner
of the stairs that the trays before it form (Martello, Pisinger & Vigo 2000, "The three-dimensional bin packing
problem", Operations Research 48, corner points; in two dimensions none is missed). What lies under the stairs and is
no tray is lost; a search ends where more is lost than the drawer has to spare.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import Enum

from service.core.housing.rooms import Piece, Put

#: Where sides divide more finely than this, corners stay where they are: exact all the same, and slower.
_FINEST = 20_000
_STEPS_BETWEEN_LOOKS = 50

#: x, y of the inner corners from the back left to the front right
Corners = tuple[tuple[int, int], ...]


class Fits(Enum):
    YES = "yes"
    NO = "no"
    UNDECIDED = "undecided"


@dataclass
class DrawerSearch:
    """``pieces`` are tried in order, in no more than ``nodes`` steps, and none after ``should_stop`` says so."""

    width: int
    depth: int
    pieces: Sequence[Piece]
    nodes: int
    should_stop: Callable[[], bool] = lambda: False
    _failed: set[tuple[tuple[int, ...], Corners]] = field(default_factory=set)
    _puts: list[Put] = field(default_factory=list)

    def look(self, left: Sequence[int]) -> tuple[Fits, tuple[Put, ...]]:
        """Whether all of ``left``, the counts by kind, lie in the drawer, and how."""
        area = {piece.kind: piece.area for piece in self.pieces}
        if any(count and kind not in area for kind, count in enumerate(left)):
            return Fits.NO, ()
        self._failed.clear()
        self._puts.clear()
        self._across = _sums(self.width, [(piece.width, left[piece.kind]) for piece in self.pieces])
        self._along = _sums(self.depth, [(piece.depth, left[piece.kind]) for piece in self.pieces])
        corners = self._pushed([(0, 0)])
        spare = self._free_area(corners) - sum(area[kind] * count for kind, count in enumerate(left) if count)
        found = self._place(tuple(left), corners, spare) if spare >= 0 else Fits.NO
        return found, tuple(self._puts) if found is Fits.YES else ()

    def _place(self, left: tuple[int, ...], corners: Corners, spare: int) -> Fits:
        if not any(left):
            return Fits.YES
        if (left, corners) in self._failed:
            return Fits.NO
        self.nodes -= 1
        if self.nodes < 0 or (self.nodes % _STEPS_BETWEEN_LOOKS == 0 and self.should_stop()):
            return Fits.UNDECIDED
        answer = self._each_way(left, corners, spare)
        if answer is Fits.NO:
            self._failed.add((left, corners))
        return answer

    def _each_way(self, left: tuple[int, ...], corners: Corners, spare: int) -> Fits:
        free = self._free_area(corners)
        for piece in self.pieces:
            if not left[piece.kind]:
                continue
            rest = (*left[: piece.kind], left[piece.kind] - 1, *left[piece.kind + 1 :])
            usable = [(other.width, other.depth) for other in self.pieces if rest[other.kind]]
            for at, (x, y) in enumerate(corners):
                if x + piece.width > self.width or y + piece.depth > self.depth:
                    continue
                after = self._after(corners, at, piece, usable)
                lost = free - self._free_area(after) - piece.area
                if lost > spare and usable:
                    continue
                self._puts.append(Put(x, y, piece))
                answer = self._place(rest, after, spare - lost)
                if answer is not Fits.NO:
                    return answer
                self._puts.pop()
        return Fits.NO

    def _after(self, corners: Corners, at: int, piece: Piece, usable: Sequence[tuple[int, int]]) -> Corners:
        """The stairs with one more tray in corner ``at``, without corners that no tray left fits into."""
        right, back = corners[at][0] + piece.width, corners[at][1] + piece.depth
        after = [corner for corner in corners if corner[1] >= back]
        if not after or after[-1][1] != back:
            after.append((next(x for x, y in corners if y < back), back))
        beyond = [corner for corner in corners if corner[0] >= right]
        if not beyond or beyond[0][0] != right:
            after.append((right, next(y for x, y in reversed(corners) if x < right)))
        after += beyond
        wide, deep = self.width, self.depth
        return self._pushed(
            [(x, y) for x, y in after if any(width <= wide - x and depth <= deep - y for width, depth in usable)]
        )

    def _pushed(self, corners: list[tuple[int, int]]) -> Corners:
        """Corners moved on as far as no tray is missed: beyond them only sums of sides can be filled."""
        pushed: list[tuple[int, int]] = []
        for x, y in corners:
            corner = self.width - self._across[self.width - x], self.depth - self._along[self.depth - y]
            if pushed and pushed[-1][0] == corner[0]:
                pushed.pop()
            if not pushed or corner[1] < pushed[-1][1]:
                pushed.append(corner)
        return tuple(pushed)

    def _free_area(self, corners: Corners) -> int:
        """Area beyond the stairs: right of and behind one corner at least."""
        area, back = 0, self.depth
        for x, y in corners:
            area += (self.width - x) * (back - y)
            back = y
        return area


def _sums(whole: int, sides: Sequence[tuple[int, int]]) -> Sequence[int]:
    """For every length up to ``whole``, the largest sum of sides within it, each side so often as there are trays."""
    if whole > _FINEST:
        return range(whole + 1)
    reached, within = 1, (1 << (whole + 1)) - 1
    for side, count in sides:
        for _ in range(min(count, whole // side)):
            reached |= reached << side & within
    below, largest = [], 0
    for length in range(whole + 1):
        largest = length if reached >> length & 1 else largest
        below.append(largest)
    return below
