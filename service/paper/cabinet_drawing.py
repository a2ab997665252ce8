"""Cabinets from the front: which drawer of a housing plan goes where."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.core.housing.plan import HousingPlan, HousingRequest
from service.core.measure.lengths import NM_PER_MM
from service.paper.cabinet_positions import CabinetKind, CabinetPlan, FilledCabinet, InPosition
from service.paper.drawer_contents import contents_panels
from service.paper.numbered_drawers import listed
from service.paper.page import BODY_HEIGHT, BODY_TOP, BODY_WIDTH, Page, list_page, new_page, side_by_side
from service.paper.plan_words import drawers_words
from service.paper.sheet import GUTTER, MARGIN
from service.paper.svg import BODY, HIDDEN, LINE_SPACING, SMALL, SOLID, Look, View, fold, text_width, view_on
from service.paper.tray_words import LEAST_LEGIBLE

#: In sheet units: a cabinet's walls, the room for position numbers beside a column, and for words over and under it.
_WALL, _NUMBERS, _OVER, _UNDER = 8.0, 34.0, 2 * BODY * LINE_SPACING + 6, 3 * SMALL * LINE_SPACING
#: Where width or pitch is unknown: a position of this many sheet units, which is no scale.
_PLAIN_WIDTH, _PLAIN_PITCH = 170.0, 26.0
_DRAWER = Look(1.6, fill="#f2f2f2")
_IN_USE = Look(1.2, fill="#bbb")
_FREE = Look(HIDDEN.width, HIDDEN.dash, fill="#fff")
_NOTE = "Positions count from the top of the left column down, column by column."
_NO_SCALE = " A cabinet not to scale is one whose opening width or pitch nobody has stated."


def cabinet_drawings(
    plan: HousingPlan, cabinets: CabinetPlan, *, title: str = "", request: HousingRequest | None = None
) -> tuple[str, ...]:
    """The cabinets of ``in_cabinets(plan, kinds)`` with every position, as SVG sheets of A4 shape.

    Cabinets whose opening width and pitch are known are to one scale; others have positions of one size and say so.
    Drawers are grey blocks as high as the positions that they take up, free positions are dashed and say "free".
    ``title`` says whose trays they are. With the ``request`` the last sheets list what is in each drawer.
    """
    u = _mm_per_unit(cabinets.cabinets)
    sheets = list(_on_sheets([_Front(cabinet, u) for cabinet in cabinets.cabinets]))
    left = cabinets.without_position
    placed = f"{plan.drawer_count - len(left):,} of {drawers_words(plan.drawer_count)}" if left else "All drawers"
    about = [title, f"{placed} of the plan in {_cabinets(len(cabinets.cabinets))}."]
    if left:
        about.append(f"No position for {drawers_words(len(left))}: {listed(left)}.")
    lists = list(side_by_side(list(contents_panels(request, plan, cabinets)))) if request else []
    fronts = sheets or [[]]
    of = len(fronts) + len(lists)
    types = len({layout.drawer for layout in plan.layouts}) > 1
    faces = (_sheet(each, about, u, (at, of), types) for at, each in enumerate(fronts, start=1))
    contents = (
        list_page(each, f"cabinets-{at}", "What is in each drawer", about, at, of)
        for at, each in enumerate(lists, start=len(fronts) + 1)
    )
    return (*faces, *contents)


def _cabinets(count: int) -> str:
    return f"{count:,} cabinet" if count == 1 else f"{count:,} cabinets"


@dataclass(frozen=True, slots=True)
class _Front:
    """A cabinet as it is drawn; ``u`` is millimetres to a sheet unit."""

    cabinet: FilledCabinet
    u: float

    @property
    def kind(self) -> CabinetKind:
        return self.cabinet.kind

    @property
    def to_scale(self) -> bool:
        return _known(self.kind) is not None

    @property
    def width(self) -> float:
        """One column, in mm."""
        known = _known(self.kind)
        return known[0] if known else _PLAIN_WIDTH * self.u

    @property
    def pitch(self) -> float:
        """One position, in mm."""
        known = _known(self.kind)
        return known[1] if known else self._plain_pitch * self.u

    @property
    def _plain_pitch(self) -> float:
        return min(_PLAIN_PITCH, (BODY_HEIGHT - _OVER - _UNDER - 2 * _WALL) / self.kind.positions_per_column)

    @property
    def units(self) -> tuple[float, float]:
        """Width and height with all that is written round it, in sheet units."""
        columns = self.kind.columns * (self.width / self.u + _NUMBERS) + (self.kind.columns + 1) * _WALL
        height = self.kind.positions_per_column * self.pitch / self.u
        return columns, height + _OVER + _UNDER + 2 * _WALL

    def corner(self, position: int) -> tuple[float, float]:
        """The top left corner of a position, in mm from the top left one."""
        column, row = divmod(position - 1, self.kind.positions_per_column)
        return column * (self.width + (_NUMBERS + _WALL) * self.u), row * self.pitch


def _known(kind: CabinetKind) -> tuple[float, float] | None:
    if kind.opening_width_nm is None or kind.pitch_nm is None:
        return None
    return kind.opening_width_nm / NM_PER_MM, kind.pitch_nm / NM_PER_MM


def _mm_per_unit(cabinets: Sequence[FilledCabinet]) -> float:
    """So many that the highest cabinet fits a sheet, and the widest."""
    room = BODY_HEIGHT - _OVER - _UNDER - 2 * _WALL
    needed = []
    for kind in {cabinet.kind for cabinet in cabinets}:
        if (known := _known(kind)) is not None:
            across = BODY_WIDTH - kind.columns * _NUMBERS - (kind.columns + 1) * _WALL
            high = kind.positions_per_column * known[1] / room
            # No smaller than needed to read what stands on a drawer, and no larger than a hand.
            needed.append(max(high, kind.columns * known[0] / across, known[0] / (2 * _PLAIN_WIDTH)))
    return max(needed, default=1.0)


def _on_sheets(fronts: Sequence[_Front]) -> Iterator[list[tuple[_Front, float, float]]]:
    """Cabinets side by side in rows, as many to a sheet as it holds, each with its place in the body."""
    sheet: list[tuple[_Front, float, float]] = []
    x = y = row = 0.0
    for front in fronts:
        width, height = front.units
        if x and x + width > BODY_WIDTH:
            x, y, row = 0.0, y + row, 0.0
        if sheet and y + height > BODY_HEIGHT + 1e-6:
            yield sheet
            sheet, x, y, row = [], 0.0, 0.0, 0.0
        sheet.append((front, x, y))
        x, row = x + width + GUTTER / 2, max(row, height)
    if sheet:
        yield sheet


def _sheet(
    fronts: Sequence[tuple[_Front, float, float]], about: list[str], u: float, sheet: tuple[int, int], types: bool
) -> str:
    any_to_scale = any(front.to_scale for front, _, _ in fronts)
    bar = 500 if any_to_scale else None
    page = new_page(f"cabinets-{sheet[0]}", u, "Cabinets from the front", about, *sheet, bar_mm=bar)
    for at, (front, x, y) in enumerate(fronts, start=1):
        _draw(page, front, f"cabinets-{sheet[0]}-{at}", (MARGIN + x, BODY_TOP + y), types)
    in_use = [(_IN_USE, "in use already")] if any(front.cabinet.taken for front, _, _ in fronts) else []
    looks = [(_DRAWER, "drawer of this plan: its number · its layout"), (_FREE, "free position"), *in_use]
    note = _NOTE if all(front.to_scale for front, _, _ in fronts) else _NOTE + _NO_SCALE
    page.legend([*looks, (SOLID, "wall (thickness not to scale)")], note)
    return page.finished()


def _draw(page: Page, front: _Front, name: str, corner: tuple[float, float], types: bool) -> None:
    u, (left, top), cabinet = page.u, corner, front.cabinet
    head = fold(f"{front.kind.name}, no. {cabinet.number}", BODY, front.units[0] - 16, bold=True, most=2)
    page.paper.paragraph(left * u, (top + BODY) * u, head, BODY, bold=True)
    view = view_on(page.root, name, (left + _NUMBERS + _WALL) * u, (top + _OVER + _WALL) * u, mm_per_unit=u)
    _walls(view, front)
    for position in cabinet.free:
        _block(view, front, (position, 1), _FREE, (("free",),), "free")
    for position in sorted(cabinet.taken):
        _block(view, front, (position, 1), _IN_USE, (("in use",),), "in-use")
    for drawer in cabinet.drawers:
        _block(view, front, (drawer.first, drawer.positions), _DRAWER, _said_of(drawer, types), "drawer")
    _position_numbers(view, front)
    below = top + front.units[1] - _UNDER + SMALL
    page.paper.paragraph(left * u, below * u, list(_under(front)), SMALL)


def _walls(view: View, front: _Front) -> None:
    wall, height = view.units(_WALL), front.kind.positions_per_column * front.pitch
    for column in range(front.kind.columns):
        x = front.corner(column * front.kind.positions_per_column + 1)[0]
        view.rect(x - wall, -wall, front.width + 2 * wall, height + 2 * wall, SOLID, "wall")
        view.rect(x, 0, front.width, height, Look(1.0, fill="#fff"), "opening")


def _said_of(drawer: InPosition, types: bool) -> tuple[tuple[str, ...], ...]:
    """What may stand on a drawer, in lines, the fullest first."""
    number, layout = f"Drawer {drawer.drawer}", f"layout {drawer.layout}"
    both, short = f"{number} · {layout}", f"{drawer.drawer} · {layout}"
    typed = ((f"{both} · {drawer.type}",), (both, drawer.type)) if types else ()
    return (*typed, (both,), (short,), (number,), (str(drawer.drawer),))


def _block(
    view: View, front: _Front, at: tuple[int, int], look: Look, choices: Sequence[tuple[str, ...]], role: str
) -> None:
    """What stands in so many positions from this one, with the fullest of the ``choices`` that is legible there."""
    first, positions = at
    x, y = front.corner(first)
    height, gap = front.pitch * positions, view.units(1.5)
    view.rect(x + gap, y + gap, front.width - 2 * gap, height - 2 * gap, look, role)
    room = view.per_mm * front.width - 10, view.per_mm * height - 5
    middle = x + front.width / 2, y + height / 2
    # Smaller type before fewer words, but the smallest only where nothing else can be read.
    sizes = [(lines, size) for lines in choices for size in (SMALL, 11.0)]
    for lines, size in (*sizes, *((lines, LEAST_LEGIBLE) for lines in choices)):
        if max(text_width(line, size) for line in lines) <= room[0] and len(lines) * size * 1.2 - 2 <= room[1]:
            _write(view, lines, size, *middle)
            return


def _write(view: View, lines: Sequence[str], size: float, x: float, y: float) -> None:
    for at, line in enumerate(lines):
        off = (at - (len(lines) - 1) / 2) * size * 1.2 + size / 3
        view.text(x, y + view.units(off), line, size, "middle")


def _position_numbers(view: View, front: _Front) -> None:
    """Beside the positions; where they are too low for it, only some have theirs."""
    pitch = view.per_mm * front.pitch
    every = next(step for step in (1, 2, 5, 10, 20, 50, 100, 1000) if step * pitch >= LEAST_LEGIBLE + 3)
    size = min(SMALL, every * pitch - 3)
    column = front.kind.positions_per_column
    for position in range(1, front.kind.positions + 1):
        if (position - 1) % column % every == 0:
            x, y = front.corner(position)
            middle = y + front.pitch / 2 + view.units(size / 3)
            view.text(x - view.units(_WALL + 5), middle, str(position), size, "end", bold=True)


def _under(front: _Front) -> Iterator[str]:
    """Under a cabinet: what stays free; and what is where, as far as no drawer could be written on."""
    free, room = front.cabinet.free, front.units[0] - 16
    yield from fold(f"{len(free):,} free: {listed(free)}" if free else "none free", SMALL, room, most=1)
    if not front.to_scale:
        yield "not to scale"
    elif front.pitch / front.u < LEAST_LEGIBLE * 1.2 + 3:
        drawers = front.cabinet.drawers
        numbers, positions = listed([each.drawer for each in drawers]), listed([each.first for each in drawers])
        yield from fold(f"drawers {numbers} from positions {positions}", SMALL, room, most=2)
