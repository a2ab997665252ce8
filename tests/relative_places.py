"""Whether a few trays lie in one drawer, by trying for each two which of them is left of or in front of the other.

It shares nothing with the service: no coordinates are tried, only orders, so it is right for any lengths. Four to the
power of the number of pairs, so for half a dozen trays.
"""

from itertools import combinations

Order = list[tuple[int, int]]


def lie_together(width: int, depth: int, trays: list[tuple[int, int]]) -> bool:
    pairs = list(combinations(range(len(trays)), 2))
    widths, depths = zip(*trays, strict=True)

    def decide(at: int, across: Order, along: Order) -> bool:
        if not (_fits(width, widths, across) and _fits(depth, depths, along)):
            return False
        if at == len(pairs):
            return True
        one, other = pairs[at]
        return any(
            decide(at + 1, [*across, order], along) or decide(at + 1, across, [*along, order])
            for order in ((one, other), (other, one))
        )

    return decide(0, [], [])


def _fits(whole: int, sides: tuple[int, ...], order: Order) -> bool:
    """Push each tray behind those before it until nothing moves, or something leaves the drawer."""
    starts = [0] * len(sides)
    moved = True
    while moved:
        if any(start + side > whole for start, side in zip(starts, sides, strict=True)):
            return False
        moved = False
        for before, after in order:
            if starts[after] < starts[before] + sides[before]:
                starts[after] = starts[before] + sides[before]
                moved = True
    return True
