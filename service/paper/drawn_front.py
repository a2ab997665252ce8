"""A container in its place, seen from the front."""

from collections.abc import Iterator

from service.core.measure.lengths import NM_PER_MM, written_mm
from service.paper.panel import LANE, WALL, Panel, at_least, at_most, new_panel
from service.paper.standing import Standing, margin_label, way_round
from service.paper.svg import HIDDEN, OUTLINE, OVERLAP, SMALL, SOLID, THING, Look, View, text_width
from service.paper.wording import UNKNOWN

#: A runner's thickness is not a fact we have: this many sheet units.
RUNNER = Look(4.5)


def front_panel(stand: Standing, name: str, u: float) -> Panel:
    panel = new_panel(name, f"Front view: {stand.name} {stand.room_name}{way_round(stand)}", u)
    step, height = stand.step or 0.0, stand.height or 0.0
    tall = max(stand.positions * step, height)
    wide = max(stand.width or 0.0, stand.room_width or 0.0)
    height_label = at_most(stand.name, stand.thing.height, "height")
    left = text_width(height_label, SMALL) + WALL + LANE + 14
    view = panel.view(left, tall / u + WALL + 16)
    _front_room(view, stand, tall)
    _front_thing(view, stand)
    width_dimensions(view, stand)
    right = _front_heights(view, stand, wide, height_label)
    panel.reach(left * u + right, panel.top + tall + (WALL + 16 + 4 * LANE) * u)
    panel.notes(_front_notes(stand))
    return panel


def _front_room(view: View, stand: Standing, tall: float) -> None:
    room, step, wall = stand.room_width, stand.step, view.units(WALL)
    if room is None:
        return
    if step is None:
        view.line(0, 0, room, 0, OUTLINE, "opening-width")
        return
    over, under = view.units(10), view.units(10)
    for x in (-wall, room):
        view.rect(x, -tall - over, wall, tall + over + under, SOLID, "wall")
    for position in range(stand.positions + 1):
        taken_out = 0 < position < stand.positions
        _support(view, stand, room, -position * step, HIDDEN if taken_out else RUNNER)


def _support(view: View, stand: Standing, room: float, y: float, look: Look) -> None:
    """What carries the container at this height: two runners, or a whole shelf. Their thickness is not to scale."""
    below = y + view.units(look.width / 2)
    if stand.on_shelf:
        view.line(0, below, room, below, look, "shelf")
    elif stand.ledge is not None:
        view.line(0, below, stand.ledge, below, look, "runner")
        view.line(room - stand.ledge, below, room, below, look, "runner")


def _front_thing(view: View, stand: Standing) -> None:
    width, height, room = stand.width, stand.height, stand.room_width
    if width is None or height is None:
        if width is not None:
            view.line(0, 0, width, 0, OUTLINE, "drawer-width")
        if height is not None:
            view.line(0, -height, 0, 0, OUTLINE, "drawer-height")
        return
    view.rect(0, -height, width, height, Look(THING.width, fill="#f2f2f2"), "drawer")
    if room is not None and width > room:
        view.rect(room, -height, width - room, height, OVERLAP, "overlap")
    _runners_in_the_way(view, stand, width)


def _runners_in_the_way(view: View, stand: Standing, width: float) -> None:
    """The runners that a high drawer reaches past: to be taken out, or else in its way."""
    room, step, ledge = stand.room_width, stand.step, stand.ledge
    if room is None or step is None or ledge is None:
        return
    fixed = stand.cabinet is not None and stand.cabinet.runners_removable is False
    for position in range(1, stand.positions):
        y, thick = -position * step, view.units(6)
        for x, reach in ((0.0, min(ledge, width)), (room - ledge, min(width, room) - room + ledge)):
            if reach <= 0:
                continue
            if fixed:
                view.rect(x, y - thick / 2, reach, thick, OVERLAP, "overlap")
            else:
                view.line(x, y, x + reach, y, HIDDEN, "runner-out")


def _front_heights(view: View, stand: Standing, wide: float, height_label: str) -> float:
    """The heights beside the front view; gives how far to the right they go."""
    at_left = -view.units(WALL + LANE)
    if stand.height is None:
        view.text(at_left, -view.units(4), height_label, SMALL, "end")
    else:
        view.along(-stand.height, 0, -view.units(WALL), at_left, height_label, left=True, level=True)
    at, edge = wide + view.units(WALL + LANE), wide + view.units(WALL)
    for top, label in _front_lanes(stand):
        if top is None:
            view.text(at, -view.units(4), label, SMALL)
        else:
            view.along(-top[1], -top[0], edge, at, label, level=True)
        at += view.units(text_width(label, SMALL) + LANE)
    return at


def _front_lanes(stand: Standing) -> Iterator[tuple[tuple[float, float] | None, str]]:
    step, height, count = stand.step, stand.height, stand.positions
    yield (None if step is None else (0, step)), at_least(stand.step_name, stand.pitch)
    if step is None:
        return
    if stand.takes_several and count > 1:
        yield (0, count * step), f"{count} positions {written_mm(count * step * NM_PER_MM)}"
    if height is not None:
        top = count * step if stand.takes_several else step
        low, high = sorted((height, top))
        yield (low, high), margin_label(top, height)


def _front_notes(stand: Standing) -> Iterator[str]:
    cabinet = stand.cabinet
    if cabinet is not None and not stand.on_shelf:
        ledge = cabinet.runner_ledge
        yield f"{at_least('Runner ledge', ledge)}."
        if stand.positions > 1:
            yield {
                True: "The dashed runners are taken out.",
                False: "The runners between cannot be taken out.",
                None: f"Whether runners can be taken out: {UNKNOWN}.",
            }[cabinet.runners_removable]
    if stand.note:
        yield stand.note


def width_dimensions(view: View, stand: Standing) -> None:
    opening = at_least("opening", stand.room.width, "width")
    thing = at_most(stand.name, stand.thing.width, "width")
    _widths(view, stand.room_width, stand.width, opening, thing, view.units(10))


def _widths(view: View, room: float | None, width: float | None, room_label: str, label: str, below: float) -> None:
    """The three dimensions under a view: the room, the thing, and what is between them."""
    sides = sorted(((width, label), (room, room_label)), key=lambda side: side[0] or 0.0)
    for lane, (value, text) in enumerate(sides, start=1):
        at = below + view.units(LANE * lane)
        if value is None:
            view.text(0, at, text, SMALL)
        else:
            view.across(0, value, below, at, text, clear_of=sides[0][0])
    if room is not None and width is not None:
        at, margin = below + view.units(LANE * 3), margin_label(room, width)
        low, high = sorted((room, width))
        before = low >= view.units(text_width(margin, SMALL) + LANE)
        view.across(low, high, below, at, margin, before=before)
