"""A drawer before and after an arrangement, side by side and to one scale, to lay beside it while one works."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from xml.etree import ElementTree as ET

from service.core.arrangement.inventory import DrawerStyle, Inventory, Tray
from service.core.arrangement.layout import laid_out
from service.core.arrangement.plan import Alternative, ArrangementPlan, Move
from service.core.measure.lengths import NM_PER_MM
from service.paper.arranged_drawer import COMES, GOES, LIFTED, Shown, drawer_panel
from service.paper.drawn_layout import LEFT_OVER
from service.paper.listing import Column, Row, list_panels
from service.paper.page import LINES_OF_LIST
from service.paper.panel import Panel
from service.paper.sheet import MARGIN, best_width, stand_together
from service.paper.svg import (
    BODY,
    LINE_SPACING,
    OUTLINE,
    RESERVE,
    SMALL,
    TITLE,
    TRAY,
    Look,
    View,
    blank_sheet,
    finish,
    fold,
)
from service.paper.where_it_stands import Whereabouts

_LONGER_SIDE_UNITS, _STRIP_AND_LEGEND, _TRAY_ROOM, _PLACE_ROOM = 560.0, 230.0, 190.0, 260.0
_COLUMNS = (Column("Tray", bold=True), Column("From"), Column("To"), Column("Specimens", figures=True))


def drawer_change_drawing(
    inventory: Inventory, plan: ArrangementPlan, alternative: Alternative, drawer: str, *, title: str = ""
) -> str:
    """The drawer as it stands and as it will, as an SVG sheet; its viewBox counts millimetres of the drawer.

    What comes has a heavy edge, what goes a broken one, what is lifted within the drawer a heavy broken one; the
    reserve is hatched. A list says where each of them comes from and goes to. ``title`` says whose drawers they are.

    :raises LookupError: when the alternative does not change that drawer.
    """
    if drawer not in alternative.drawer_after:
        raise LookupError(f"Nothing changes in drawer {drawer}.")
    change = _Change(inventory, plan, alternative, drawer)
    u = max(change.style.inner_width_nm, change.style.inner_depth_nm) / NM_PER_MM / _LONGER_SIDE_UNITS
    name = "drawer-change"
    panels: list[Panel] = [
        drawer_panel(change.before(), f"{name}-before", u),
        drawer_panel(change.after(), f"{name}-after", u),
        *list_panels(_COLUMNS, list(change.rows()), "What is lifted", f"{name}-list", u, LINES_OF_LIST),
    ]
    width = best_width(panels, u, _STRIP_AND_LEGEND)
    head = change.where.drawer_words(drawer).replace("drawer", "Drawer", 1)
    root = blank_sheet(name, head, f"{title} {change.in_words()}".strip())
    paper = View(ET.SubElement(root, "g", {"id": f"{name}-sheet"}), f"{name}-sheet", 1 / u)
    top = _title_strip(paper, head, [title, change.in_words()], width)
    bottom = stand_together(root, panels, top + 24 * u, width, u)
    bottom = _legend(paper, bottom + 24 * u, width)
    return finish(root, width, bottom + MARGIN * u, u)


class _Change:
    """One drawer of an alternative, and what becomes of its trays."""

    def __init__(self, inventory: Inventory, plan: ArrangementPlan, alternative: Alternative, drawer: str) -> None:
        self._inventory, self._drawer = inventory, drawer
        self._trays = {tray.key: tray for tray in (*inventory.trays, *plan.new_trays)}
        self._after = alternative.drawer_after[drawer].trays
        self.where = Whereabouts(inventory, alternative)
        self.style: DrawerStyle = self.where.styles[drawer]
        own = next((each.reserve_percent for each in inventory.drawers if each.key == drawer), None)
        self._reserve: Decimal = inventory.reserve_percent if own is None else own
        self._come = [move for move in alternative.moves if move.to.drawer == drawer and not self._within(move)]
        self._go = [move for move in alternative.moves if self._from(move) == drawer and not self._within(move)]
        self._lifted = [move for move in alternative.moves if move.to.drawer == drawer and self._within(move)]

    def _from(self, move: Move) -> str | None:
        return None if move.from_ is None else move.from_.drawer

    def _within(self, move: Move) -> bool:
        return self._from(move) == move.to.drawer

    def before(self) -> Shown:
        standing = self._inventory.trays_by_drawer.get(self._drawer, ())
        looks = {move.tray: GOES for move in self._go} | {move.tray: LIFTED for move in self._lifted}
        return self._shown("As it stands", standing, looks)

    def after(self) -> Shown:
        looks = {move.tray: COMES for move in self._come} | {move.tray: LIFTED for move in self._lifted}
        return self._shown("Afterwards", tuple(self._trays[key] for key in self._after), looks)

    def _shown(self, heading: str, trays: tuple[Tray, ...], looks: Mapping[str, Look]) -> Shown:
        order, play = self._inventory.reading_order, self._inventory.play_nm
        laid = laid_out(trays, self.style, self._reserve, order, play)
        return Shown(heading, self.style, order, trays, laid, looks)

    def rows(self) -> Iterator[Row]:
        for move in (*self._go, *self._come, *self._lifted):
            tray = self._trays[move.tray]
            source = "outside" if move.from_ is None else self.where.place_words(move.from_)
            yield [
                fold(tray.label or tray.taxon, SMALL, _TRAY_ROOM, bold=True, most=2),
                fold(source, SMALL, _PLACE_ROOM, most=2),
                fold(self.where.place_words(move.to), SMALL, _PLACE_ROOM, most=2),
                ["?" if tray.specimens is None else f"{tray.specimens:,}"],
            ]

    def in_words(self) -> str:
        parts = [(len(self._come), "come"), (len(self._go), "go"), (len(self._lifted), "are lifted within it")]
        said = ", ".join(f"{count} {what}" for count, what in parts if count)
        return f"Trays: {said or 'none changes'}."


def _title_strip(paper: View, head: str, sentences: list[str], width: float) -> float:
    u, left = paper.units(1), MARGIN * paper.units(1)
    room = width / u - 2 * MARGIN - 220
    y = paper.paragraph(left, left + TITLE * u, fold(head, TITLE, room, bold=True, most=2), TITLE, bold=True)
    for sentence in sentences:
        y = paper.paragraph(left, y, fold(sentence, BODY, room, most=2))
    paper.scale_bar(width - left - 180 * u, left + (TITLE + 10) * u, 100)
    bottom = max(y, left + 60 * u)
    paper.line(left, bottom, width - left, bottom, OUTLINE)
    return bottom


def _legend(paper: View, y: float, width: float) -> float:
    u = paper.units(1)
    looks = (
        (TRAY, "stays"),
        (COMES, "comes"),
        (GOES, "goes"),
        (LIFTED, "is lifted within the drawer"),
        (RESERVE, "reserve, kept free to grow"),
        (LEFT_OVER, "left over"),
    )
    x = MARGIN * u
    for look, label in looks:
        x = paper.swatch(x, y, look, label)
    note = "To scale, seen from above, print at any size. Numbers count trays as they are read, from the back left."
    return paper.paragraph(
        MARGIN * u, y + BODY * LINE_SPACING * u + 6 * u, fold(note, SMALL, width / u - 2 * MARGIN), SMALL
    )
