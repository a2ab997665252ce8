"""Fill a room tray by tray: the next one goes to the lowest place of the line of edges that the others form.

After the best-fit heuristic of Burke, Kendall & Whitwell 2004, "A new placement heuristic for the orthogonal
stock-cutting problem", Operations Research 52.
"""

from collections.abc import Callable, Sequence

from service.core.housing.rooms import Piece, Put

#: Picks one of the pieces that fit a gap of this width and depth below the back of the room; they come in order.
Pick = Callable[[list[Piece], int], Piece]


def first(fitting: list[Piece], gap: int) -> Piece:  # noqa: ARG001 - a Pick
    """The first in order."""
    return fitting[0]


def exact_first(fitting: list[Piece], gap: int) -> Piece:
    """The first that closes the gap, or else the first in order."""
    return next((piece for piece in fitting if piece.width == gap), fitting[0])


def widest(fitting: list[Piece], gap: int) -> Piece:  # noqa: ARG001 - a Pick
    """The one that closes the gap most, the earlier where two do."""
    return max(fitting, key=lambda piece: piece.width)


PICKS: tuple[Pick, ...] = (first, exact_first, widest)


def fill(width: int, depth: int, pieces: Sequence[Piece], left: list[int], pick: Pick) -> list[Put]:
    """Put trays into an empty room while any fits, by order of ``pieces``; takes them out of ``left``."""
    starts, backs, puts = [0], [0], []
    ends = [width]
    while pieces:
        back = min(backs)
        at = backs.index(back)
        gap, above = ends[at] - starts[at], depth - back
        fitting = [piece for piece in pieces if piece.width <= gap and piece.depth <= above and left[piece.kind]]
        if fitting:
            piece = pick(fitting, gap)
            left[piece.kind] -= 1
            puts.append(Put(_put_beside_the_higher(starts, ends, backs, at, piece), back, piece))
            if not left[piece.kind]:
                pieces = [other for other in pieces if left[other.kind]]
        elif not _close(starts, ends, backs, at):
            break
    return puts


def _put_beside_the_higher(starts: list[int], ends: list[int], backs: list[int], at: int, piece: Piece) -> int:
    """Against the higher of its two neighbours, the wall being the highest; returns x."""
    start, end, back = starts[at], ends[at], backs[at]
    to_left = at == 0 or (at + 1 < len(starts) and backs[at - 1] >= backs[at + 1])
    x = start if to_left else end - piece.width
    parts = [(start, x, back), (x, x + piece.width, back + piece.depth), (x + piece.width, end, back)]
    parts = [part for part in parts if part[0] < part[1]]
    starts[at : at + 1], ends[at : at + 1], backs[at : at + 1] = map(list, zip(*parts, strict=True))
    _join(starts, ends, backs, at, at + len(parts) - 1)
    return x


def _join(starts: list[int], ends: list[int], backs: list[int], first_part: int, last_part: int) -> None:
    """Neighbours of one height become one."""
    for at in range(min(last_part + 1, len(starts) - 1), max(first_part, 1) - 1, -1):
        if backs[at] == backs[at - 1]:
            ends[at - 1] = ends[at]
            del starts[at], ends[at], backs[at]


def _close(starts: list[int], ends: list[int], backs: list[int], at: int) -> bool:
    """Give up a gap that no tray fits: raise it to its lower neighbour. False when the room is full."""
    if len(starts) == 1:
        return False
    sides = [backs[beside] for beside in (at - 1, at + 1) if 0 <= beside < len(backs)]
    backs[at] = min(sides)
    _join(starts, ends, backs, at, at)
    return True
