"""Where one more tray would still go into a drawer of a plan."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from service.core.housing.plan import DrawerType, HousingRequest, Layout, TraySize

#: With more trays than this in a drawer nobody looks for a gap, and looking would take long.
_MOST_TRAYS = 500
#: left, front, right and back of what is taken, in nm
_Box = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class Gap:
    """A free place: its corner nearest the front left, and the largest tray that it takes. Play is not in it."""

    x_nm: int
    y_nm: int
    width_nm: int
    depth_nm: int

    @property
    def rank(self) -> tuple[int, int, int]:
        """Larger before smaller, then nearer the front, then nearer the left."""
        return self.width_nm * self.depth_nm, -self.y_nm, -self.x_nm

    def takes(self, tray: TraySize) -> bool:
        lies = tray.width_nm <= self.width_nm and tray.depth_nm <= self.depth_nm
        return lies or (tray.may_turn and tray.depth_nm <= self.width_nm and tray.width_nm <= self.depth_nm)


def gap_for_another(request: HousingRequest, layout: Layout, drawer: DrawerType) -> Gap | None:
    """The largest gap outside the reserve that takes at least one size of tray of this request."""
    if len(layout.placed) > _MOST_TRAYS:
        return None
    low_enough = [tray for tray in request.trays if _goes_under_the_lid(tray, drawer)]
    best: Gap | None = None
    # Most gaps are slivers: a look at the area first spares holding every tray against them.
    for gap in _gaps(request, layout, drawer):
        if (best is None or gap.rank > best.rank) and any(gap.takes(tray) for tray in low_enough):
            best = gap
    return best


def _goes_under_the_lid(tray: TraySize, drawer: DrawerType) -> bool:
    heights = tray.height_nm, drawer.clear_height_nm
    return heights[0] is None or heights[1] is None or heights[0] <= heights[1]


def _gaps(request: HousingRequest, layout: Layout, drawer: DrawerType) -> Iterator[Gap]:
    play = request.play_nm
    taken = list(_taken(layout, play))
    xs = sorted({0, drawer.inner_width_nm, *(side for left, _, right, _ in taken for side in (left, right))})
    ys = sorted({0, drawer.inner_depth_nm, *(side for _, front, _, back in taken for side in (front, back))})
    free = _free_cells(xs, ys, taken)
    for left, front, right, back in _free_boxes(free):
        width, depth = xs[right] - xs[left] - play, ys[back] - ys[front] - play
        if width > 0 and depth > 0:
            yield Gap(xs[left], ys[front], width, depth)


def _taken(layout: Layout, play: int) -> Iterator[_Box]:
    for each in layout.placed:
        place = each.place
        yield place.x_nm, place.y_nm, place.x_nm + place.width_nm + play, place.y_nm + place.depth_nm + play
    if (strip := layout.reserve) is not None:
        yield strip.x_nm, strip.y_nm, strip.x_nm + strip.width_nm, strip.y_nm + strip.depth_nm


def _free_cells(xs: Sequence[int], ys: Sequence[int], taken: Iterable[_Box]) -> list[list[bool]]:
    """For every cell between neighbouring sides, row by row from the front: whether nothing stands in it."""
    column, row = {x: at for at, x in enumerate(xs)}, {y: at for at, y in enumerate(ys)}
    free = [[True] * (len(xs) - 1) for _ in ys[1:]]
    for left, front, right, back in taken:
        for y in range(row[front], row[back]):
            free[y][column[left] : column[right]] = [False] * (column[right] - column[left])
    return free


def _free_boxes(free: Sequence[Sequence[bool]]) -> Iterator[_Box]:
    """Every free box that grows no further to the left, right or front, in cells."""
    depths = [0] * (len(free[0]) if free else 0)
    for y, cells in enumerate(free):
        depths = [depth + 1 if is_free else 0 for depth, is_free in zip(depths, cells, strict=True)]
        open_boxes: list[tuple[int, int]] = []
        for x, depth in enumerate([*depths, 0]):
            left = x
            while open_boxes and open_boxes[-1][1] >= depth:
                left, deep = open_boxes.pop()
                if deep:
                    yield left, y + 1 - deep, x, y + 1
            open_boxes.append((left, depth))
