"""The foot of a drawer at the right-hand wall, enlarged until millimetres show."""

from service.core.measure.lengths import NM_PER_MM, written_mm
from service.paper.drawn_front import RUNNER
from service.paper.panel import LANE, WALL, Panel, new_panel
from service.paper.standing import Standing
from service.paper.svg import OUTLINE, OVERLAP, SMALL, SOLID, Look, View
from service.paper.wording import margin_words

_NO_EDGE = Look(0, fill="#f2f2f2", stroke="none")
#: In sheet units: how wide the corner is drawn, and how much of the drawer's side it shows.
_CORNER_UNITS, _CORNER_ABOVE = 230.0, 150.0
_ENLARGED = (2, 3, 4, 5, 6, 8, 10)
_CORNER_EDGE_MM = 6.0


def corner_panel(stand: Standing, name: str, u: float) -> Panel | None:
    room, width, ledge = stand.room_width, stand.width, stand.ledge
    if room is None or width is None:
        return None
    inward = max(ledge or 0.0, room - width, 0.0) + _CORNER_EDGE_MM
    outward = max(width - room, 0.0) + _CORNER_EDGE_MM / 2
    enlarged = max((step for step in _ENLARGED if step * (inward + outward) <= _CORNER_UNITS * u), default=None)
    if enlarged is None:
        return None
    panel = new_panel(name, f"Right-hand corner, {enlarged} × enlarged", u)
    view = panel.view(inward * enlarged / u + 16, _CORNER_ABOVE, enlarged)
    _draw_corner(view, stand, width - room, inward, outward)
    below = view.units(LANE * 4)
    view.scale_bar(-inward, below + view.units(SMALL), 10)
    panel.reach(
        (inward * enlarged / u + 16) * u + outward * enlarged + 170 * u,
        panel.top + (_CORNER_ABOVE + LANE * 4 + 2 * SMALL) * u,
    )
    return panel


def _draw_corner(view: View, stand: Standing, edge: float, inward: float, outward: float) -> None:
    """The origin is the foot of the right-hand wall, and the drawer's side is at ``edge``.

    Everything open to the left and above goes on from there.
    """
    ledge, above, under = stand.ledge, view.units(_CORNER_ABOVE - 10), view.units(12)
    view.rect(0, -above, max(outward, view.units(WALL)), above + under, SOLID, "wall")
    carrier = inward if stand.on_shelf else ledge
    if carrier is not None:
        middle = view.units(RUNNER.width / 2)
        view.line(-carrier, middle, 0, middle, RUNNER, "shelf" if stand.on_shelf else "runner")
    view.rect(-inward, -above, edge + inward, above, _NO_EDGE)
    if edge > 0:
        view.rect(0, -above, edge, above, OVERLAP, "overlap")
    view.line(edge, -above, edge, 0, OUTLINE, "drawer-side")
    view.line(-inward, 0, edge, 0, OUTLINE, "drawer-foot")
    margin = margin_words(round(-edge * NM_PER_MM))
    view.across(min(0, edge), max(0, edge), 0, under + view.units(LANE), margin)
    if ledge is not None:
        _bearing(view, edge, ledge, stand.loosest_mm or 0.0, under)


def _bearing(view: View, edge: float, ledge: float, loosest: float, under: float) -> None:
    """What still rests on the runner when the drawer is pushed against the other wall."""
    view.across(-ledge, 0, 0, under + view.units(2 * LANE), f"runner ledge {written_mm(ledge * NM_PER_MM)}")
    carried, at = ledge - loosest, under + view.units(3 * LANE)
    if edge > 0:
        return
    if carried <= 0:
        view.text(-ledge, at, "not carried by this runner", SMALL)
    elif loosest > -edge:
        # The drawing shows the largest drawer in the smallest opening; its own figure would flatter.
        view.text(-ledge, at, f"at worst carried on {written_mm(carried * NM_PER_MM)}", SMALL)
    else:
        view.across(-ledge, -ledge + carried, 0, at, f"carried on {written_mm(carried * NM_PER_MM)}")
