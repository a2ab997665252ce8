"""Which boards, and which way of their grain, make up which dimension of a drawer."""

from dataclasses import dataclass

from service.core.consignment import Line
from service.core.handbook.timber import drawer_wall
from service.core.measure.growth import Part
from service.core.measure.movement import Direction, Sawing
from service.core.standards import Axis


@dataclass(frozen=True, slots=True)
class MakeUp:
    """How a drawer is put together.

    ``along_grain`` are the dimensions that run along the grain of their boards. ``walls_across`` are those that
    take in the thickness of two boards besides, as the width takes in both sides. ``sawing`` is that of the boards
    whose width is a dimension of the drawer; absent is unknown.
    """

    along_grain: tuple[Axis, ...] = (Axis.WIDTH, Axis.DEPTH)
    walls_across: tuple[Axis, ...] = (Axis.WIDTH,)
    sawing: Sawing | None = None
    wall_nm: int | None = None

    def parts(self, axis: Axis, length_nm: int, wall_nm: int) -> tuple[Part, ...]:
        """The boards that lie one after the other along one dimension of the drawer."""
        direction = Direction.ALONG if axis in self.along_grain else Direction.ACROSS
        walls_nm = min(2 * wall_nm, length_nm) if axis in self.walls_across else 0
        board = Part(length_nm - walls_nm, direction, self.sawing)
        return (board, Part(walls_nm, Direction.THICKNESS)) if walls_nm else (board,)


#: Front and back run from side to side, the sides from front to back, and all four stand on edge: their height is
#: the width of their boards (common practice).
FRAMED_DRAWER = MakeUp()


def make_up_of(line: Line) -> MakeUp:
    """How the containers of a line are put together: as stated, and else like a framed wooden drawer."""
    along_grain = FRAMED_DRAWER.along_grain if line.along_grain is None else line.along_grain
    return MakeUp(along_grain, sawing=line.sawing)


def wall_thickness_nm(line: Line, make_up: MakeUp) -> int:
    """How thick a side of the drawer is: as stated, as its outer and inner width leave it, or as is usual."""
    if make_up.wall_nm is not None:
        return make_up.wall_nm
    outer, inner = line.outer.width, line.inner.width
    if outer is not None and inner is not None and 0 < inner.value_nm < outer.value_nm:
        return (outer.value_nm - inner.value_nm) // 2
    return drawer_wall().nm
