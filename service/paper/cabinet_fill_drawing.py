"""A cabinet from the front: how full each drawer is, what of it is reserve, and what stands in it."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from service.core.arrangement.inventory import Cabinet, Inventory, Tray
from service.core.arrangement.layout import Laid, laid_out
from service.core.arrangement.plan import Alternative, ArrangementPlan
from service.core.measure.lengths import NM_PER_MM
from service.paper.arranged_drawer import COMES
from service.paper.page import BODY_HEIGHT, BODY_TOP, BODY_WIDTH, new_page
from service.paper.sheet import MARGIN
from service.paper.svg import HIDDEN, RESERVE, SMALL, SOLID, Look, View, fold, text_width, view_on
from service.paper.tray_words import LEAST_LEGIBLE
from service.paper.where_it_stands import Whereabouts

_WALL, _NUMBERS, _OVER, _UNDER = 8.0, 40.0, 40.0, 16.0
#: Where opening or pitch is unknown, in sheet units, which is no scale.
_PLAIN_WIDTH, _PLAIN_PITCH = 240.0, 30.0
_LEAST_LANE = 90.0
_TAKEN = Look(0.8, fill="#d0d0d0")
_ROOM = Look(1.0, fill="#fff")
_FREE = Look(HIDDEN.width, HIDDEN.dash, fill="#fff")
_NOTE = "Bars are the drawer's inside, filled as far as its columns or rows reach. Positions count down each column."
_NO_SCALE = " Not to scale: nobody has stated the opening width and the pitch."


def cabinet_fill_drawing(
    inventory: Inventory,
    cabinet: str,
    plan: ArrangementPlan | None = None,
    alternative: Alternative | None = None,
    *,
    title: str = "",
) -> str:
    """The face of one cabinet as it stands, or as it will after an alternative, as an SVG sheet of A4 shape.

    Each drawer shows how far its trays reach, the reserve hatched and what is left white, and says beside it what is
    in it. Drawers that the alternative changes have a heavy edge. Free positions are dashed.

    :raises LookupError: when there is no such cabinet.
    """
    face = _Face(inventory, cabinet, plan, alternative)
    bar = 500 if face.to_scale else None
    about = [title, face.in_words()]
    head = f"{face.cabinet.name}, {'as it will be' if alternative else 'as it stands'}"
    page = new_page("cabinet-fill", face.u, head, about, 1, 1, bar_mm=bar)
    view = view_on(
        page.root,
        "cabinet-fill-face",
        (MARGIN + _NUMBERS + _WALL) * face.u,
        (BODY_TOP + _OVER) * face.u,
        mm_per_unit=face.u,
    )
    _draw_positions(view, face)
    for filled in face.drawers():
        _draw_drawer(view, face, filled)
    changed = [(COMES, "changes")] if alternative else []
    looks = [
        (_TAKEN, "taken up by trays"),
        (RESERVE, "reserve"),
        (_ROOM, "free"),
        *changed,
        (_FREE, "no drawer"),
        (SOLID, "wall"),
    ]
    page.legend(looks, _NOTE if face.to_scale else _NOTE + _NO_SCALE)
    return page.finished()


@dataclass(frozen=True)
class _Filled:
    """A drawer in its position, with its trays as they are laid out."""

    name: str
    position: int
    positions: int
    trays: tuple[Tray, ...]
    laid: Laid
    changes: bool

    @property
    def share(self) -> float | None:
        """How far trays reach; ``None`` where sizes say that they do not fit as they are read."""
        return self.laid.across / self.laid.inside.across if self.laid.fits or not self.trays else None

    def lines(self) -> tuple[str, ...]:
        """What may stand on the drawer, the fullest first."""
        trays = "1 tray" if len(self.trays) == 1 else f"{len(self.trays)} trays"
        share = "does not fit as read" if self.share is None else f"{self.share:.0%}"
        return f"{self.name} · {trays} · {share}", f"{self.name} · {share}", self.name

    def taxa(self) -> str:
        if not self.trays:
            return "empty"
        first, last = self.trays[0].taxon, self.trays[-1].taxon
        return first if first == last else f"{first} – {last}"


class _Face:
    """The cabinet with its scale; ``u`` is millimetres to a sheet unit."""

    def __init__(
        self, inventory: Inventory, cabinet: str, plan: ArrangementPlan | None, alternative: Alternative | None
    ) -> None:
        found = next((each for each in inventory.cabinets if each.key == cabinet), None)
        if found is None:
            raise LookupError(f"There is no cabinet {cabinet}.")
        self.cabinet: Cabinet = found
        self._inventory, self._alternative = inventory, alternative
        self._trays = {tray.key: tray for tray in (*inventory.trays, *(plan.new_trays if plan else ()))}

    @property
    def to_scale(self) -> bool:
        return self.cabinet.opening_width_nm is not None and self.cabinet.pitch_nm is not None

    @cached_property
    def u(self) -> float:
        if self.cabinet.opening_width_nm is None or self.cabinet.pitch_nm is None:
            return 1.0
        high = self.cabinet.positions_per_column * self.cabinet.pitch_nm / NM_PER_MM
        width = self.cabinet.opening_width_nm / NM_PER_MM
        across = BODY_WIDTH / self.cabinet.columns - _NUMBERS - 2 * _WALL
        return max(high / (BODY_HEIGHT - _OVER - _UNDER), width / min(across, 420.0))

    @property
    def width(self) -> float:
        """Of one column, in mm."""
        nm = self.cabinet.opening_width_nm
        return nm / NM_PER_MM if self.to_scale and nm is not None else _PLAIN_WIDTH

    @property
    def pitch(self) -> float:
        nm = self.cabinet.pitch_nm
        if self.to_scale and nm is not None:
            return nm / NM_PER_MM
        return min(_PLAIN_PITCH, (BODY_HEIGHT - _OVER - _UNDER) / self.cabinet.positions_per_column)

    @property
    def lane(self) -> float:
        """Room beside a column to say what stands in its drawers, in sheet units."""
        return BODY_WIDTH / self.cabinet.columns - _NUMBERS - 2 * _WALL - self.width / self.u - 8

    def corner(self, position: int) -> tuple[float, float]:
        column, row = divmod(position - 1, self.cabinet.positions_per_column)
        return column * BODY_WIDTH / self.cabinet.columns * self.u, row * self.pitch

    def drawers(self) -> Iterator[_Filled]:
        inventory, changed = self._inventory, self._alternative.drawer_after if self._alternative else {}
        for drawer in inventory.drawers:
            if drawer.cabinet == self.cabinet.key and drawer.position is not None:
                trays = inventory.trays_by_drawer[drawer.key]
                if drawer.key in changed:
                    trays = tuple(self._trays[key] for key in changed[drawer.key].trays)
                reserve = inventory.reserve_percent if drawer.reserve_percent is None else drawer.reserve_percent
                laid = laid_out(trays, drawer.style, reserve, inventory.reading_order, inventory.play_nm)
                positions = drawer.style.positions
                yield _Filled(drawer.name, drawer.position, positions, trays, laid, drawer.key in changed)
        yield from self._new_drawers()

    def _new_drawers(self) -> Iterator[_Filled]:
        inventory = self._inventory
        where = Whereabouts(inventory, self._alternative)
        for new in self._alternative.new_drawers if self._alternative else ():
            if new.cabinet == self.cabinet.key and new.position is not None and self._alternative is not None:
                trays = tuple(self._trays[key] for key in self._alternative.drawer_after[new.key].trays)
                laid = laid_out(
                    trays, new.style, inventory.reserve_percent, inventory.reading_order, inventory.play_nm
                )
                yield _Filled(where.name(new.key), new.position, new.style.positions, trays, laid, changes=True)

    def in_words(self) -> str:
        drawers = list(self.drawers())
        over = sum(1 for each in drawers if each.trays and not each.laid.keeps_reserve)
        empty = sum(1 for each in drawers if not each.trays)
        return (
            f"{'1 drawer' if len(drawers) == 1 else f'{len(drawers)} drawers'} in {self.cabinet.positions} positions,"
            f" {empty} without trays;"
            f" {over} keep less than their reserve."
        )


def _draw_positions(view: View, face: _Face) -> None:
    """Walls, and every position as if it were free."""
    wall, column = view.units(_WALL), face.cabinet.positions_per_column
    for first in range(1, face.cabinet.positions + 1, column):
        x, y = face.corner(first)
        view.rect(x - wall, y - wall, face.width + 2 * wall, column * face.pitch + 2 * wall, SOLID, "wall")
        view.rect(x, y, face.width, column * face.pitch, _ROOM, "opening")
    every = next(step for step in (1, 2, 5, 10, 20, 50, 100) if step * face.pitch / face.u >= LEAST_LEGIBLE + 3)
    for position in range(1, face.cabinet.positions + 1):
        x, y = face.corner(position)
        gap = view.units(1.5)
        view.rect(x + gap, y + gap, face.width - 2 * gap, face.pitch - 2 * gap, _FREE, "free")
        if (position - 1) % column % every == 0:
            middle = y + face.pitch / 2 + view.units(SMALL / 3)
            view.text(x - view.units(_WALL + 5), middle, str(position), SMALL, "end", bold=True)


def _draw_drawer(view: View, face: _Face, filled: _Filled) -> None:
    (x, y), gap = face.corner(filled.position), view.units(1.5)
    left, top = x + gap, y + gap
    width, height = face.width - 2 * gap, face.pitch * filled.positions - 2 * gap
    view.rect(left, top, width, height, _ROOM, "drawer")
    kept = width * filled.laid.inside.kept_free / filled.laid.inside.across
    if kept:
        view.rect(left + width - kept, top, kept, height, RESERVE, "reserve")
    if filled.share:
        view.rect(left, top, width * min(filled.share, 1.0), height, _TAKEN, "taken")
    if filled.changes:
        edge = view.units(COMES.width / 2)
        view.rect(left + edge, top + edge, width - 2 * edge, height - 2 * edge, Look(COMES.width), "changes")
    _write_on(view, face, filled, (left + width / 2, top + height / 2))


def _write_on(view: View, face: _Face, filled: _Filled, centre: tuple[float, float]) -> None:
    """How full it is on the drawer, and its taxa beside it, as far as they are legible."""
    high = face.pitch * filled.positions / face.u - 5
    size = min(SMALL, high / 1.1)
    if size < LEAST_LEGIBLE:
        return
    baseline = centre[1] + view.units(size / 3)
    room = face.width / face.u - 14
    line = next((line for line in filled.lines() if text_width(line, size) <= room), None)
    if line is not None:
        view.text(centre[0], baseline, line, size, "middle")
    if face.lane >= _LEAST_LANE:
        beside = fold(filled.taxa(), size, face.lane, most=1)
        x = face.corner(filled.position)[0] + face.width + view.units(_WALL + 8)
        view.text(x, baseline, (beside or [""])[0], size)
