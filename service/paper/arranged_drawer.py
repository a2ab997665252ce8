"""One drawer of an arrangement from above: its trays in reading order, the reserve, and what is new or leaves."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from service.core.arrangement.inventory import DrawerStyle, ReadingOrder, Tray
from service.core.arrangement.layout import Laid
from service.core.housing.plan import TraySize
from service.core.measure.lengths import NM_PER_MM, written_mm
from service.paper.drawn_inside import corners, draw_inside
from service.paper.drawn_layout import LEFT_OVER
from service.paper.panel import LANE, WALL, Panel, new_panel
from service.paper.svg import BODY, RESERVE, TRAY, Look, View, text_width
from service.paper.tray_words import words_for, write

#: In black and white: what comes has a heavy edge, what goes a broken one, what is lifted within its drawer both.
COMES = Look(3.4, fill="#fff")
GOES = Look(1.6, (7, 5), fill="#fff")
LIFTED = Look(3.4, (9, 5), fill="#fff")
FRONT = "front of the drawer"


@dataclass(frozen=True)
class Shown:
    """A drawer at one moment. ``looks`` are those of trays that come, go or are lifted."""

    heading: str
    style: DrawerStyle
    order: ReadingOrder
    trays: tuple[Tray, ...]
    laid: Laid
    looks: Mapping[str, Look] = field(default_factory=dict)


def drawer_panel(shown: Shown, name: str, u: float) -> Panel:
    """The drawer to scale; where sizes say that its trays do not fit, the panel says so and lists them."""
    panel = new_panel(name, shown.heading, u)
    width, depth = shown.style.inner_width_nm / NM_PER_MM, shown.style.inner_depth_nm / NM_PER_MM
    view = panel.view(WALL + 4, depth / u + WALL)
    draw_inside(view, width, depth, LEFT_OVER)
    _reserve(view, shown)
    for number, (tray, place) in enumerate(zip(shown.trays, shown.laid.places, strict=False), start=1):
        x, y, wide, deep = corners(place)
        look = shown.looks.get(tray.key, TRAY)
        # A heavy edge is drawn inside the tray, so that neighbours keep theirs.
        inset = view.units(look.width / 2) if look is not TRAY else 0
        view.rect(x + inset, y + inset, wide - 2 * inset, deep - 2 * inset, look, "tray")
        _write(view, number, tray, (x + wide / 2, y + deep / 2), (wide, deep))
    at = view.units(WALL + LANE)
    view.across(0, width, view.units(WALL), at, f"inside {written_mm(shown.style.inner_width_nm)}")
    beside = width + view.units(WALL + LANE)
    view.along(-depth, 0, width + view.units(WALL), beside, f"inside {written_mm(shown.style.inner_depth_nm)}")
    view.text(0, at + view.units(LANE), FRONT, BODY, bold=True)
    widest = max(beside + view.units(16), view.units(text_width(FRONT, BODY, bold=True)))
    panel.reach((WALL + 4) * u + widest, panel.top + (WALL + 4) * u + depth + at + view.units(LANE + 8))
    panel.notes(_notes(shown))
    return panel


def _reserve(view: View, shown: Shown) -> None:
    """What stays free for growth: the columns at the right, or the rows at the front."""
    kept, inside = shown.laid.inside.kept_free / NM_PER_MM, shown.laid.inside
    if not kept:
        return
    width, depth = shown.style.inner_width_nm / NM_PER_MM, shown.style.inner_depth_nm / NM_PER_MM
    if shown.order is ReadingOrder.COLUMNS:
        view.rect(inside.usable / NM_PER_MM, -depth, kept, depth, RESERVE, "reserve")
    else:
        view.rect(0, -kept, width, kept, RESERVE, "reserve")


def _write(view: View, number: int, tray: Tray, centre: tuple[float, float], size: tuple[float, float]) -> None:
    as_size = TraySize(tray.key, tray.width_nm, tray.depth_nm, 1, label=tray.label or tray.taxon)
    room = size[0] * view.per_mm - 6, size[1] * view.per_mm - 4
    if (words := words_for(number, as_size, *room)) is not None:
        write(view, words, *centre)


def _notes(shown: Shown) -> Iterator[str]:
    laid, count = shown.laid, len(shown.trays)
    if count and not laid.fits:
        yield f"By their sizes these {count} trays do not fit as they are read, so they are not drawn: look at them."
        return
    taken = laid.across / laid.inside.across
    lines = "columns" if shown.order is ReadingOrder.COLUMNS else "rows"
    trays = "1 tray" if count == 1 else f"{count} trays"
    reserve = laid.inside.kept_free / laid.inside.across
    yield f"{trays}; {lines} take up {taken:.0%} of the inside, and {reserve:.0%} is reserve."
    if not laid.keeps_reserve:
        yield "The trays stand in the reserve."
