"""Things laid side by side on a floor, either way round, by the skyline heuristic of the housing plans."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.housing.rooms import Piece as Tray
from service.core.housing.skyline import PICKS, fill

#: A width and a depth, in nm.
Flat = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Laid:
    """One thing on a floor: which one, and where it lies."""

    which: int
    x: int
    y: int
    width: int
    depth: int


def lay(width: int, depth: int, things: Sequence[Flat]) -> list[Laid]:
    """As many of the things as one of a few orders brings onto the floor; the order that covers most of it."""
    kinds = sorted(set(things), key=lambda flat: (-flat[0] * flat[1], flat))
    counts = [things.count(kind) for kind in kinds]
    pieces = [piece for at, kind in enumerate(kinds) for piece in _ways(at, kind)]
    best: list[Laid] = []
    for order in (pieces, sorted(pieces, key=lambda piece: -piece.width), sorted(pieces, key=lambda p: -p.depth)):
        for pick in PICKS:
            laid = _named(things, kinds, fill(width, depth, order, list(counts), pick))
            if _covered(laid) > _covered(best):
                best = laid
            if len(best) == len(things):
                return best
    return best


def _ways(at: int, kind: Flat) -> list[Tray]:
    width, depth = kind
    turned = [] if width == depth else [Tray(at, depth, width, turned=True)]
    return [Tray(at, width, depth, turned=False), *turned]


def _covered(laid: list[Laid]) -> int:
    return sum(each.width * each.depth for each in laid)


def _named(things: Sequence[Flat], kinds: list[Flat], puts: Sequence[object]) -> list[Laid]:
    """Puts by kind as things by their own number, the first of a kind first."""
    waiting = {kind: [at for at, thing in enumerate(things) if thing == kind][::-1] for kind in kinds}
    return [
        Laid(waiting[kinds[put.piece.kind]].pop(), put.x, put.y, put.piece.width, put.piece.depth)  # type: ignore[attr-defined]
        for put in puts
    ]
