"""Layouts of blocks: a drawer cut in two, or in five round a centre, and each block again.

The five blocks stand as in a pinwheel (Morabito & Morales 1998, "A simple and effective recursive procedure for the
manufacturer's pallet loading problem", J. Operational Research Society 49). Every block is worked out once, looked
into one level deeper at a time, and left alone as soon as it holds what its upper bound allows.
"""

from collections.abc import Callable, Iterator

from service.core.housing.most_trays import most_trays
from service.core.housing.smaller_numbers import Laid, Problem
from service.core.housing.sums import Sums

#: x, y, width, depth of a block within the block that it is cut from
Block = tuple[int, int, int, int]
#: width and depth of a block
Size = tuple[int, int]
#: area left over in a block of a width and depth
EmptyArea = Callable[[int, int], int]


def grid(problem: Problem, lies: bool) -> list[Laid]:
    """All trays the same way, in rows."""
    tray_width, tray_depth = (problem.long, problem.short) if lies else (problem.short, problem.long)
    columns, rows = problem.width // tray_width, problem.depth // tray_depth
    return [Laid(x * tray_width, y * tray_depth, lies) for y in range(rows) for x in range(columns)]


def simple_layout(problem: Problem, lies_rather: bool) -> list[Laid]:
    """One grid, or two side by side: most trays first, then the most trays the way they are rather laid."""
    ways = sorted(_one_or_two_grids(problem, lies_rather), key=lambda way: way[0], reverse=True)
    _, x, y, first_lies = ways[0]
    first = Problem(x or problem.width, y or problem.depth, problem.long, problem.short)
    rest = Problem(problem.width - x, problem.depth - y, problem.long, problem.short)
    layout = grid(first, first_lies)
    if x or y:
        layout += [Laid(x + tray.x, y + tray.y, not first_lies) for tray in grid(rest, not first_lies)]
    return layout


def _one_or_two_grids(problem: Problem, lies_rather: bool) -> Iterator[tuple[tuple[int, int], int, int, bool]]:
    """Each as ((trays, those laid as they rather are), x of the cut, y of the cut, whether the first grid lies)."""

    def counts(first: int, lies: bool, rest: int) -> tuple[int, int]:
        return first + rest, first if lies == lies_rather else rest

    width, depth = problem.width, problem.depth
    for lies in (lies_rather, not lies_rather):
        along_width, along_depth = (problem.long, problem.short) if lies else (problem.short, problem.long)
        columns, rows = width // along_width, depth // along_depth
        yield counts(columns * rows, lies, 0), 0, 0, lies
        for row in range(1, rows + 1):
            rest = (width // along_depth) * ((depth - row * along_depth) // along_width)
            yield counts(row * columns, lies, rest), 0, row * along_depth, lies
        for column in range(1, columns + 1):
            rest = ((width - column * along_width) // along_depth) * (depth // along_width)
            yield counts(column * rows, lies, rest), column * along_width, 0, lies


class BlockSearch:
    """Block layouts of one problem, found within ``work`` steps; the same steps every time."""

    def __init__(self, problem: Problem, lies_rather: bool, work: int) -> None:
        self.problem = problem
        self.work = work
        self._lies_rather = lies_rather
        self._sums = Sums(problem, max(problem.width, problem.depth))
        self._at_most: dict[Size, int] = {}
        self._held: dict[Size, int] = {}
        self._looked_into: dict[Size, int] = {}
        self._cut: dict[Size, tuple[Block, ...]] = {}

    def best(self, at_most: int) -> list[Laid]:
        """The best layout found before the work was used up, or the first that holds ``at_most``."""
        whole = (self.problem.width, self.problem.depth)
        self._at_most[self._tight(*whole)] = at_most
        depth = 0
        while self.work > 0 and self._most_held(*whole, depth) < at_most and depth < _DEEPEST:
            depth += 1
        return list(self._laid(0, 0, *whole))

    def _tight(self, width: int, depth: int) -> Size:
        return self._sums.below[width], self._sums.below[depth]

    def _bound(self, width: int, depth: int) -> int:
        size = self._tight(width, depth)
        if size not in self._at_most:
            tight = Problem(*size, self.problem.long, self.problem.short)
            self._at_most[size] = most_trays(tight) if 0 not in size else 0
        return self._at_most[size]

    def _empty_at_least(self, width: int, depth: int) -> int:
        """Area of a block that no layout can fill."""
        return width * depth - self._bound(width, depth) * self.problem.tray_area

    def _empty_so_far(self, width: int, depth: int) -> int:
        """Area of a block that its best layout so far leaves over."""
        size = self._tight(width, depth)
        held = self._held.get(size)
        if held is None:
            held = self._held[size] = self._grids(*size)
        return width * depth - held * self.problem.tray_area

    def _grids(self, width: int, depth: int) -> int:
        long, short = self.problem.long, self.problem.short
        return max((width // long) * (depth // short), (width // short) * (depth // long))

    def _most_held(self, width: int, depth: int, levels: int) -> int:
        """Trays in a block when it may be cut ``levels`` times over."""
        size = self._tight(width, depth)
        held = self._held.setdefault(size, self._grids(*size))
        if levels <= self._looked_into.get(size, 0) or held == self._bound(*size):
            return held
        for cut in self._cuts(*size, self._empty_at_least if levels > 1 else self._empty_so_far):
            self._try(size, cut, levels - 1)
            if self._held[size] == self._bound(*size) or self.work <= 0:
                break
        else:
            self._looked_into[size] = levels
        return self._held[size]

    def _try(self, size: Size, cut: tuple[Block, ...], levels: int) -> None:
        """Keep the cut when its blocks together hold more than anything before."""
        possible = sum(self._bound(width, depth) for _, _, width, depth in cut)
        for _, _, width, depth in cut:
            if possible <= self._held[size]:
                return
            possible += self._most_held(width, depth, levels) - self._bound(width, depth)
        if possible > self._held[size]:
            self._held[size], self._cut[size] = possible, cut

    def _cuts(self, width: int, depth: int, empty: EmptyArea) -> Iterator[tuple[Block, ...]]:
        """Ways to cut a block whose parts could still hold more than the best so far."""
        yield from self._in_two(width, depth)
        yield from self._in_five(width, depth, empty)

    def _in_two(self, width: int, depth: int) -> Iterator[tuple[Block, ...]]:
        for y in self._sums.starts(depth)[1:]:
            self.work -= 1
            if 2 * y <= depth:
                yield (0, 0, width, depth - y), (0, depth - y, width, y)
        for x in self._sums.starts(width)[1:]:
            self.work -= 1
            if 2 * x <= width:
                yield (0, 0, width - x, depth), (width - x, 0, x, depth)

    def _in_five(self, width: int, depth: int, empty: EmptyArea) -> Iterator[tuple[Block, ...]]:
        """Front left, front right, back right and back left round a centre: x1 < x2 and y1 < y2."""
        size = (width, depth)
        xs, ys = self._sums.starts(width)[1:], self._sums.starts(depth)[1:]
        for y1 in ys:
            for x2 in xs:
                if self.work <= 0:
                    return
                self.work -= 1
                spare = width * depth - (self._held[size] + 1) * self.problem.tray_area
                spare_left = spare - empty(x2, y1)
                if spare_left >= 0:
                    yield from self._round_corner(size, x2, y1, spare_left, empty)

    def _round_corner(
        self, size: Size, x2: int, y1: int, spare: int, empty: EmptyArea
    ) -> Iterator[tuple[Block, ...]]:
        """The cuts in five whose front left block is x2 x y1, with no more than ``spare`` area lost in the others.

        x1 + x2 <= width loses nothing: else turn the drawer half round and push the blocks to the left again.
        """
        width, depth = size
        xs, ys = self._sums.starts(width)[1:], self._sums.starts(depth)[1:]
        x1_most = min(x2 - 1, width - x2)
        lefts = [(x1, lost) for x1 in xs if x1 <= x1_most and (lost := empty(x1, depth - y1)) <= spare]
        for y2 in ys:
            if y2 <= y1:
                continue
            self.work -= 1 + len(lefts)
            spare_here = spare - empty(width - x2, y2)
            for x1, lost in lefts:
                spare_back = spare_here - lost
                if spare_back < 0:
                    continue
                spare_back -= empty(width - x1, depth - y2)
                if spare_back >= 0 and spare_back >= empty(x2 - x1, y2 - y1):
                    yield (
                        (0, 0, x2, y1),
                        (x2, 0, width - x2, y2),
                        (x1, y2, width - x1, depth - y2),
                        (0, y1, x1, depth - y1),
                        (x1, y1, x2 - x1, y2 - y1),
                    )

    def _laid(self, x: int, y: int, width: int, depth: int) -> Iterator[Laid]:
        size = self._tight(width, depth)
        if size not in self._cut:
            for tray in self._grid_in(*size):
                yield Laid(x + tray.x, y + tray.y, tray.lies)
        for block_x, block_y, block_width, block_depth in self._cut.get(size, ()):
            yield from self._laid(x + block_x, y + block_y, block_width, block_depth)

    def _grid_in(self, width: int, depth: int) -> list[Laid]:
        block = Problem(width, depth, self.problem.long, self.problem.short)
        return max(grid(block, self._lies_rather), grid(block, not self._lies_rather), key=len)


#: levels of blocks within blocks; deeper has never found a tray more
_DEEPEST = 6
