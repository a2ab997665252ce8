"""The fewest drawers for a handful of small trays, by trying everything on a unit grid."""

from functools import cache

from housing_cases import Trays

Sizes = tuple[tuple[int, int], ...]


def fewest_drawers(drawer: tuple[int, int], trays: Trays, *, may_turn: bool) -> int:
    """Over all ways to share the trays out, each share laid in every possible way."""
    each = tuple((width, depth) for width, depth, count in trays for _ in range(count))

    @cache
    def drawers(left: int) -> int:
        """For the trays whose bits are set: the first one with each set of others that lies with it in one drawer."""
        if not left:
            return 0
        first = left & -left
        shares = (first | others for others in _subsets(left ^ first))
        return min(1 + drawers(left & ~share) for share in shares if lies(share))

    def lies(share: int) -> bool:
        chosen = sorted((size for at, size in enumerate(each) if share >> at & 1), reverse=True)
        return _lie(tuple(chosen), 0, drawer, may_turn=may_turn)

    return drawers((1 << len(each)) - 1)


def _subsets(bits: int) -> list[int]:
    found, subset = [0], bits
    while subset:
        found.append(subset)
        subset = (subset - 1) & bits
    return found


def _lie(left: Sizes, taken: int, drawer: tuple[int, int], *, may_turn: bool) -> bool:
    if not left:
        return True
    boxes = (box for size in {left[0], left[0][:: -1 if may_turn else 1]} for box in _boxes(size, drawer))
    return any(not taken & box and _lie(left[1:], taken | box, drawer, may_turn=may_turn) for box in boxes)


def _boxes(size: tuple[int, int], drawer: tuple[int, int]) -> list[int]:
    """The cells that a tray takes, as bits, in each of its places."""
    columns = [((1 << size[0]) - 1) << x for x in range(drawer[0] - size[0] + 1)]
    rows = [range(y, y + size[1]) for y in range(drawer[1] - size[1] + 1)]
    return [sum(column << y * drawer[0] for y in row) for column in columns for row in rows]
