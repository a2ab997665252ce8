"""A container in its place, seen from above."""

from collections.abc import Iterator

from service.core.materials import plainly
from service.core.standards import Doorway
from service.paper.drawn_front import width_dimensions
from service.paper.panel import LANE, WALL, Panel, at_least, at_most, new_panel
from service.paper.standing import Standing, margin_label, way_round
from service.paper.svg import FAINT, HIDDEN, OUTLINE, OVERLAP, SMALL, SOLID, THING, View, text_width
from service.paper.wording import UNKNOWN


def plan_panel(stand: Standing, name: str, u: float) -> Panel:
    panel = new_panel(name, f"From above: {stand.name} {stand.room_name}{way_round(stand)}", u)
    deep = max(stand.depth or 0.0, stand.room_depth or 0.0)
    wide = max(stand.width or 0.0, stand.room_width or 0.0)
    view = panel.view(WALL + 6, deep / u + WALL + 8)
    _plan_room(view, stand)
    _plan_thing(view, stand)
    width_dimensions(view, stand)
    right = _plan_depths(view, stand, wide)
    panel.reach((WALL + 6) * u + right, panel.top + deep + (WALL + 18 + 3 * LANE + 12) * u)
    panel.notes(_plan_notes(stand))
    return panel


def _plan_room(view: View, stand: Standing) -> None:
    room, depth, wall = stand.room_width, stand.room_depth, view.units(WALL)
    if room is None or depth is None:
        if room is not None:
            view.line(0, 0, room, 0, OUTLINE, "opening-width")
        if depth is not None:
            view.line(0, -depth, 0, 0, OUTLINE, "opening-depth")
        return
    view.rect(-wall, -depth - wall, room + 2 * wall, wall, SOLID, "wall")
    for x in (-wall, room):
        view.rect(x, -depth, wall, depth, SOLID, "wall")
    view.rect(0, -depth, room, depth, FAINT, "opening")


def _plan_thing(view: View, stand: Standing) -> None:
    width, depth, room, room_depth = stand.width, stand.depth, stand.room_width, stand.room_depth
    if width is None or depth is None:
        if width is not None:
            view.line(0, 0, width, 0, OUTLINE, "drawer-width")
        if depth is not None:
            view.line(0, -depth, 0, 0, OUTLINE, "drawer-depth")
        return
    view.rect(0, -depth, width, depth, THING, "drawer")
    if room is not None and width > room:
        view.rect(room, -depth, width - room, depth, OVERLAP, "overlap")
    if room_depth is not None and depth > room_depth:
        view.rect(0, -depth, width, depth - room_depth, OVERLAP, "overlap")
    _runners_from_above(view, stand, width, depth)
    _own_front(view, stand, width, depth)


def _runners_from_above(view: View, stand: Standing, width: float, depth: float) -> None:
    room, ledge = stand.room_width, stand.ledge
    if room is None or ledge is None:
        return
    for x in (ledge, room - ledge):
        if x <= width:
            view.line(x, -min(depth, stand.room_depth or depth), x, 0, HIDDEN, "runner")


def _own_front(view: View, stand: Standing, width: float, depth: float) -> None:
    """Which side is the container's own front, where there is room to say so."""
    words = f"its own front: this side of the {stand.name}"
    needed = view.units(text_width(words, SMALL) + 60)
    if stand.turned and depth > needed:
        inset = (stand.ledge or 0.0) + view.units(SMALL + 12)
        view.text(inset, -depth / 2, words, SMALL, "middle", upright=True)
    elif not stand.turned and width > needed:
        view.text(width / 2, -view.units(12), words, SMALL, "middle")


def _plan_depths(view: View, stand: Standing, wide: float) -> float:
    opening = at_least("opening", stand.room.depth, "depth")
    thing = at_most(stand.name, stand.thing.depth, "depth")
    at, edge = wide + view.units(WALL + LANE), wide + view.units(WALL)
    sides = sorted(((stand.depth, thing), (stand.room_depth, opening)), key=lambda side: side[0] or 0.0)
    for value, label in sides:
        if value is None:
            view.text(at, -view.units(4), label, SMALL)
            at += view.units(text_width(label, SMALL))
        else:
            view.along(-value, 0, edge, at, label, clear_of=-(sides[0][0] or value))
            fits = value >= view.units(text_width(label, SMALL) + 4)
            at += 0 if fits else view.units(text_width(label, SMALL))
        at += view.units(LANE)
    if stand.room_depth is None or stand.depth is None:
        return at
    low, high = sorted((stand.room_depth, stand.depth))
    margin = margin_label(stand.room_depth, stand.depth)
    view.along(-high, -low, edge, at, margin, level=True)
    return at + view.units(text_width(margin, SMALL) + LANE)


def _plan_notes(stand: Standing) -> Iterator[str]:
    yield f"The front is below. The {stand.name} is pushed to the left and level with the front."
    if stand.ledge is not None:
        yield "Dashed: how far the runners reach under it."
    cabinet = stand.cabinet
    if cabinet is None:
        return
    if cabinet.doorway is Doorway.NARROWER:
        width, height = cabinet.door_width, cabinet.door_height
        sides = (
            at_least("width", width),
            at_least("height", height),
        )
        yield f"The doorway leaves less: {sides[0]}, {sides[1]}."
    else:
        yield f"Doorway: {plainly(cabinet.doorway) if cabinet.doorway else UNKNOWN}."
