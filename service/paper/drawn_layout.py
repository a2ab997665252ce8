"""One drawer of a housing plan from above, with every tray in its place."""

from collections.abc import Iterator

from service.core.housing.plan import DrawerType, HousingRequest, Layout, Placed, Strip, TraySize
from service.core.measure.lengths import NM_PER_MM, written_mm
from service.paper.drawn_inside import corners, draw_inside
from service.paper.numbered_drawers import Numbers
from service.paper.panel import LANE, WALL, Panel, new_panel
from service.paper.room_left import Gap, gap_for_another
from service.paper.svg import ARROW_LENGTH, BODY, RESERVE, SMALL, TRAY, Look, View, text_width
from service.paper.tray_words import Words, bare_mm, number_for, words_for, write

#: What no tray covers and nobody reserved: a grey that a black and white printer keeps apart from white.
LEFT_OVER = Look(1.1, fill="#d9d9d9")
FRONT = "front of the drawer"


def layout_panel(
    request: HousingRequest, layout: Layout, drawer: DrawerType, numbers: Numbers, name: str, u: float
) -> Panel:
    """The drawer with its trays, the reserve, and what is left over, each with its size."""
    panel = new_panel(name, f"From above: inside of drawer type {drawer.code}", u)
    depth = drawer.inner_depth_nm / NM_PER_MM
    left = WALL + 4 + _overhang(layout, drawer, u)
    view = panel.view(left, depth / u + WALL)
    draw_layout(view, layout, drawer, numbers)
    if (gap := gap_for_another(request, layout, drawer)) is not None:
        _write_gap(view, gap)
    below = _dimensions_below(view, layout, drawer)
    right = _dimensions_beside(view, layout, drawer)
    panel.reach(left * u + right, panel.top + (WALL + 4) * u + depth + below)
    panel.notes(_notes(request, layout, gap))
    return panel


def draw_layout(
    view: View, layout: Layout, drawer: DrawerType, numbers: Numbers, wall: float = WALL, in_full: bool = True
) -> None:
    """Walls, trays and reserve alone; ``in_full`` writes labels and sizes into the trays, else only numbers."""
    draw_inside(view, drawer.inner_width_nm / NM_PER_MM, drawer.inner_depth_nm / NM_PER_MM, LEFT_OVER, wall)
    if layout.reserve is not None:
        x, y, width, deep = _strip_corners(layout.reserve)
        view.rect(x, y, width, deep, RESERVE, "reserve")
    for placed in layout.placed:
        view.rect(*corners(placed.place), TRAY, "tray")
    for placed in layout.placed:
        _write_tray(view, placed, *numbers[placed.tray], in_full)


def _strip_corners(strip: Strip) -> tuple[float, float, float, float]:
    width, deep = strip.width_nm / NM_PER_MM, strip.depth_nm / NM_PER_MM
    return strip.x_nm / NM_PER_MM, -strip.y_nm / NM_PER_MM - deep, width, deep


def _write_tray(view: View, placed: Placed, number: int, tray: TraySize, in_full: bool) -> None:
    x, y, width, deep = corners(placed.place)
    turned = placed.place.turned
    along, across = (deep, width) if turned else (width, deep)
    room = (along * view.per_mm, across * view.per_mm)
    words = words_for(number, tray, *room) if in_full else number_for(number, *room)
    if words is not None:
        write(view, words, x + width / 2, y + deep / 2, upright=turned)


def _write_gap(view: View, gap: Gap) -> None:
    """The largest tray that would still go in, where there is room to say so."""
    x, y = gap.x_nm / NM_PER_MM, -(gap.y_nm + gap.depth_nm) / NM_PER_MM
    width, deep = gap.width_nm / NM_PER_MM, gap.depth_nm / NM_PER_MM
    words = Words(("free", gap_words(gap)), SMALL)
    needed = view.units(text_width(gap_words(gap), SMALL) + 6), view.units(3 * SMALL)
    if needed[0] <= width and needed[1] <= deep:
        write(view, words, x + width / 2, y + deep / 2)
    elif needed[0] <= deep and needed[1] <= width:
        write(view, words, x + width / 2, y + deep / 2, upright=True)


def gap_words(gap: Gap) -> str:
    return f"{bare_mm(gap.width_nm)} × {written_mm(gap.depth_nm)}"


def _ends(layout: Layout, drawer: DrawerType) -> tuple[int, int, int, int]:
    """How far trays go to the right and to the back, and how far they may; the reserve begins there."""
    right = max((each.place.x_nm + each.place.width_nm for each in layout.placed), default=0)
    back = max((each.place.y_nm + each.place.depth_nm for each in layout.placed), default=0)
    strip = layout.reserve
    room_right, room_back = drawer.inner_width_nm, drawer.inner_depth_nm
    if strip is not None and strip.x_nm > 0:
        room_right = strip.x_nm
    elif strip is not None:
        room_back = strip.y_nm
    return right, room_right, back, room_back


def _dimensions_below(view: View, layout: Layout, drawer: DrawerType) -> float:
    """What is left over and kept free to the right, and the inside; gives how far down they go."""
    right, room, _, _ = _ends(layout, drawer)
    at = view.units(WALL)
    for start, end, label in _spans(right, room, drawer.inner_width_nm):
        at += view.units(LANE)
        view.across(start / NM_PER_MM, end / NM_PER_MM, view.units(WALL), at, label, before=True)
    at += view.units(LANE)
    view.across(0, drawer.inner_width_nm / NM_PER_MM, view.units(WALL), at, _inside(drawer.inner_width_nm))
    at += view.units(LANE)
    view.text(0, at, FRONT, BODY, bold=True)
    return at + view.units(8)


def _overhang(layout: Layout, drawer: DrawerType, u: float) -> float:
    """How far labels under a narrow drawer stand out to its left, in sheet units."""
    right, room, _, _ = _ends(layout, drawer)
    spans = _spans(right, room, drawer.inner_width_nm)
    starts = [start / NM_PER_MM / u - text_width(label, SMALL) - 2 * ARROW_LENGTH - 4 for start, _, label in spans]
    return -min(starts, default=0.0) if min(starts, default=0.0) < 0 else 0.0


def _dimensions_beside(view: View, layout: Layout, drawer: DrawerType) -> float:
    """The same in depth; gives how far to the right they go."""
    _, _, back, room = _ends(layout, drawer)
    width = drawer.inner_width_nm / NM_PER_MM
    edge, at = width + view.units(WALL), width + view.units(WALL + LANE)
    at += _along(view, 0, drawer.inner_depth_nm, edge, at, _inside(drawer.inner_depth_nm), clear_of=back)
    for start, end, label in _spans(back, room, drawer.inner_depth_nm):
        at += view.units(LANE)
        at += _along(view, start, end, edge, at, label)
    beside_the_width = width + view.units(text_width(_inside(drawer.inner_width_nm), SMALL) + 3 * ARROW_LENGTH)
    return max(at + view.units(16), beside_the_width, view.units(text_width(FRONT, BODY, bold=True)))


def _along(
    view: View, start: int, end: int, edge: float, at: float, label: str, clear_of: int | None = None
) -> float:
    """A dimension in depth; gives how far its label stands out to the right."""
    crossed = None if clear_of is None else -clear_of / NM_PER_MM
    view.along(-end / NM_PER_MM, -start / NM_PER_MM, edge, at, label, clear_of=crossed)
    room = view.units(text_width(label, SMALL) + 4)
    return 0.0 if (end - start) / NM_PER_MM >= room else room + view.units(4)


def _spans(end: int, room: int, inside: int) -> Iterator[tuple[int, int, str]]:
    if room > end:
        yield end, room, f"left over {written_mm(room - end)}"
    if inside > room:
        yield room, inside, f"reserve {written_mm(inside - room)}"


def _inside(nm: int) -> str:
    return f"inside {written_mm(nm)}"


def _notes(request: HousingRequest, layout: Layout, gap: Gap | None) -> Iterator[str]:
    yield f"Play added to each tray in width and depth: {written_mm(request.play_nm)}."
    if gap is not None:
        beside = ", and the reserve stays free" if layout.reserve is not None else ""
        yield f"One more tray of up to {gap_words(gap)} would go in{beside}."
    turned = sum(each.place.turned for each in layout.placed)
    if turned:
        yield f"{turned} of {len(layout.placed)} trays stand turned a quarter; their writing does so too."
