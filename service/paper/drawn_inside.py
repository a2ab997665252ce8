"""The inside of a drawer from above, which every drawing of trays begins with; the front is below."""

from service.core.housing.tiling import Place
from service.core.measure.lengths import NM_PER_MM
from service.paper.panel import WALL
from service.paper.svg import SOLID, TRAY, Look, View


def draw_inside(view: View, width: float, depth: float, floor: Look = TRAY, wall: float = WALL) -> None:
    """Walls of ``wall`` sheet units round an inside of this size; the view's origin is its front left corner."""
    thick = view.units(wall)
    view.rect(-thick, -depth - thick, width + 2 * thick, depth + 2 * thick, SOLID, "wall")
    view.rect(0, -depth, width, depth, floor, "drawer-inside")


def corners(place: Place) -> tuple[float, float, float, float]:
    """A place as a rectangle of the view, which counts downwards from the back: left, back, width, depth."""
    width, deep = place.width_nm / NM_PER_MM, place.depth_nm / NM_PER_MM
    return place.x_nm / NM_PER_MM, -place.y_nm / NM_PER_MM - deep, width, deep
