"""The receiver's drawer from above with every incoming tray in its place."""

from collections.abc import Iterator, Sequence

from service.core.fit.answer import TrayFit
from service.core.housing.tiling import Place
from service.core.measure.lengths import NM_PER_MM, written_mm
from service.core.standards import StorageSystem
from service.paper.drawn_inside import corners, draw_inside
from service.paper.panel import LANE, WALL, Panel, at_least, at_most, new_panel, smallest_mm
from service.paper.svg import RESERVE, SMALL, TRAY, View, text_width

#: Numbers in trays are left out below this many sheet units, where nobody could read them.
_LEAST_LEGIBLE = 9.0


def tray_panel(fit: TrayFit, system: StorageSystem, name: str, mm_per_unit: float) -> Panel:
    """The drawer's inside with the trays, their size, the play, what is kept free to grow, and what is left over.

    Only what the drawer's inner size and the tiling say is drawn; with an unknown inner size there is no drawer,
    and the panel says so.
    """
    standard = system.drawer(fit.drawer)
    inner = standard.inner if standard else None
    panel = new_panel(name, f"{_size_words(fit)} in drawer {fit.drawer}, from above", mm_per_unit)
    width = smallest_mm(inner.width) if inner else None
    depth = smallest_mm(inner.depth) if inner else None
    if inner is None or width is None or depth is None:
        sides = inner and (at_least("width", inner.width), at_least("depth", inner.depth))
        panel.notes([f"Inside of the drawer: {', '.join(sides) if sides else 'unknown'}.", *_tray_notes(fit)])
        return panel
    u = mm_per_unit
    left = _room_at_left(fit.tiling.places)
    view = panel.view(left, depth / u + WALL + LANE)
    draw_inside(view, width, depth)
    _trays(view, fit)
    _tray_dimensions(view, fit.tiling.places, depth)
    view.across(0, width, view.units(WALL), view.units(WALL + 2 * LANE), at_least("inside", inner.width))
    at = width + view.units(WALL + LANE)
    view.along(-depth, 0, width + view.units(WALL), at, at_least("inside", inner.depth))
    right = _left_over(view, fit.tiling.places, width, depth)
    panel.reach(left * u + max(right, at + 12 * u), panel.top + depth + (2 * WALL + 3 * LANE + 20) * u)
    panel.notes(_tray_notes(fit))
    return panel


def _size_words(fit: TrayFit) -> str:
    outer = fit.trays.outer
    sides = (at_most("", side).removesuffix(" mm") for side in (outer.width, outer.depth))
    return f"Trays {' × '.join(sides)} mm"


def in_order(places: Sequence[Place]) -> list[Place]:
    """Column by column from the left, each from the back to the front: the order the places are numbered in.

    Which places stay free is for the collection to choose; the last in this order are drawn so.
    """
    return sorted(places, key=lambda place: (place.x_nm, -place.y_nm))


def _trays(view: View, fit: TrayFit) -> None:
    ordered = in_order(fit.tiling.places)
    for number, place in enumerate(ordered, start=1):
        x, y, width, deep = corners(place)
        reserved = number > fit.usable_per_drawer
        view.rect(x, y, width, deep, RESERVE if reserved else TRAY, "tray reserve" if reserved else "tray")
        if not reserved:
            _number(
                view, number, len(ordered), (x + width / 2, y + deep / 2), (width * view.per_mm, deep * view.per_mm)
            )


def _number(view: View, number: int, highest: int, centre: tuple[float, float], room: tuple[float, float]) -> None:
    """The tray's number in the middle of it, at one size for the whole drawer."""
    size = min(SMALL, (room[0] - 4) / text_width(str(highest), 1), room[1] - 4)
    if size >= _LEAST_LEGIBLE:
        view.text(centre[0], centre[1] + view.units(size / 3), str(number), size, "middle")


def _tray_dimensions(view: View, places: Sequence[Place], depth: float) -> None:
    """The size of the first tray, over it and to its left."""
    if not places:
        return
    first = in_order(places)[0]
    x, y, wide, deep = corners(first)
    wall, aside = view.units(WALL), view.units(WALL + LANE / 2)
    view.across(x, x + wide, -depth - wall, -depth - aside, written_mm(first.width_nm))
    view.along(y, y + deep, -wall, -aside, written_mm(first.depth_nm), left=True)


def _room_at_left(places: Sequence[Place]) -> float:
    label = written_mm(in_order(places)[0].depth_nm) if places else ""
    return WALL + LANE + text_width(label, SMALL)


def _left_over(view: View, places: Sequence[Place], width: float, depth: float) -> float:
    """What the trays leave free to the right and at the back; gives how far to the right the labels go."""
    if not places:
        return width
    right = max((place.x_nm + place.width_nm) / NM_PER_MM for place in places)
    front = max((place.y_nm + place.depth_nm) / NM_PER_MM for place in places)
    wall, reach = view.units(WALL), width
    label = f"left over {written_mm((width - right) * NM_PER_MM)}"
    view.across(right, width, wall, view.units(WALL + LANE), label, before=True)
    label = f"left over {written_mm((depth - front) * NM_PER_MM)}"
    at = width + view.units(WALL + 2 * LANE)
    view.along(-depth, -front, width + wall, at, label, level=True)
    return max(reach, at + view.units(text_width(label, SMALL) + 20))


def play_nm(places: Sequence[Place]) -> int | None:
    """The gap between neighbours, side by side or behind each other; None where no tray has a neighbour."""
    across = [(place.x_nm, place.x_nm + place.width_nm) for place in places]
    along = [(place.y_nm, place.y_nm + place.depth_nm) for place in places]
    return min([*_gaps(across), *_gaps(along)], default=None)


def _gaps(spans: Sequence[tuple[int, int]]) -> Iterator[int]:
    """Between the end of each span and the nearest start at or after it."""
    starts = sorted({start for start, _ in spans})
    for end in {end for _, end in spans}:
        nearest = next((start for start in starts if start >= end), None)
        if nearest is not None:
            yield nearest - end


def _tray_notes(fit: TrayFit) -> Iterator[str]:
    count, usable = fit.tiling.count, fit.usable_per_drawer
    proof = "" if fit.tiling.is_proved else f" (no layout holds more than {fit.tiling.at_most})"
    yield f"{count} to a drawer{proof}; {usable} used, {count - usable} kept free to grow, and you choose which."
    play = play_nm(fit.tiling.places)
    yield f"Play between trays: {'unknown' if play is None else written_mm(play)}."
    drawers = "unknown" if fit.drawers is None else f"{fit.drawers:,}"
    yield f"{fit.trays.count:,} trays of this size in the consignment; drawers for them alone: {drawers}."
    yield f"Height of the tray: {at_most('', fit.trays.outer.height)}."
