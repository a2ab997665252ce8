"""A section through one pin: floor, tray, pinning bottom, pin, head, and the lid over it, enlarged."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.core.consignment import Container, Line, TrayLot
from service.core.fit.answer import LineAnswer
from service.core.fit.findings import Verdict
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import NM_PER_MM, written_mm
from service.core.standards import StorageSystem
from service.paper.panel import LANE, Panel, at_least, at_most, largest_mm, new_panel, smallest_mm
from service.paper.svg import (
    FAINT,
    HIDDEN,
    LINE_SPACING,
    OUTLINE,
    OVERLAP,
    SMALL,
    SOFT,
    SOLID,
    Look,
    View,
    text_width,
)
from service.paper.wording import UNKNOWN, margin_words

#: In sheet units: how high the section is at most, how wide its layers are, and where their dimensions stand.
_SECTION_UNITS, _LAYER_UNITS, _CHAIN = 340.0, 150.0, 34.0
_ENLARGED = (1, 2, 3, 4, 5, 6, 8)
_PIN, _TRAY_WALL, _GLASS = Look(1.8), Look(3.0), 10.0


@dataclass(frozen=True, slots=True)
class Stack:
    """What stands over each other under the lid.

    ``lined`` says that a lining lies under the tray; without a tray the lining is the bottom that the pins go into,
    and there is no base.
    """

    place: str
    in_tray: bool
    lined: bool
    lining: Dimension | None
    clear_height: Dimension | None
    base: Dimension | None
    bottom: Dimension | None
    tray_height: Dimension | None
    pin_length: Dimension | None
    pin_depth: Dimension | None
    air_gap_nm: int | None

    @property
    def footing(self) -> float | None:
        """Where the tray stands above the drawer's floor."""
        return largest_mm(self.lining) if self.in_tray and self.lined else 0.0

    @property
    def floor(self) -> float | None:
        """Where the pinning bottom starts above the drawer's floor."""
        base = largest_mm(self.base) if self.in_tray else 0.0
        return None if base is None or self.footing is None else self.footing + base

    @property
    def rim(self) -> float | None:
        """The upper edge of the tray above the drawer's floor."""
        height = largest_mm(self.tray_height)
        return None if not self.in_tray or height is None or self.footing is None else self.footing + height

    @property
    def surface(self) -> float | None:
        bottom = largest_mm(self.bottom)
        return None if self.floor is None or bottom is None else self.floor + bottom

    @property
    def point(self) -> float | None:
        """The pin's point; never under the pinning bottom, whose board it does not go into."""
        depth = smallest_mm(self.pin_depth)
        if self.surface is None or self.floor is None or depth is None:
            return None
        return max(self.floor, self.surface - depth)

    @property
    def head(self) -> float | None:
        length = largest_mm(self.pin_length)
        return None if self.point is None or length is None else self.point + length

    @property
    def lid(self) -> float | None:
        return smallest_mm(self.clear_height)


def stacks(line: Line, answer: LineAnswer, system: StorageSystem) -> list[Stack]:
    """One for each different tray of the line, in the drawer that it is to stand in; or the line's own lining.

    Lines that go straight in keep their own lids; trays that move come under the receiver's.
    """
    lots = line.trays_to_move() or ()
    if not lots:
        return [_own_lining(line, system)]
    moves = line.container is Container.UNIT_TRAY or answer.verdict is not Verdict.AS_IT_IS
    places = [_receivers(lot, answer, system) if moves else _own_lining(line, system) for lot in lots]
    return list(dict.fromkeys(_with_tray(stack, lot, line) for stack, lot in zip(places, lots, strict=True)))


def _own_lining(line: Line, system: StorageSystem) -> Stack:
    place = f"its own {'box' if line.container is Container.STORAGE_BOX else 'drawer'}"
    lining = line.lining.thickness if line.lining else None
    clear, pins, gap = line.inner.height, line.pins, system.lid_air_gap_nm
    return Stack(
        place, False, line.lining is not None, lining, clear, None, lining, None, pins.length, pins.depth, gap
    )


def _receivers(lot: TrayLot, answer: LineAnswer, system: StorageSystem) -> Stack:
    """The drawer that serves this size of tray best, still without the tray."""
    code = next((fit.drawer for fit in answer.tray_fits if fit.trays == lot), answer.drawer)
    standard = system.drawer(code) if code else None
    place = f"drawer {standard.code}" if standard else "the receiver's drawer"
    lined = standard is not None and standard.lining is not None
    lining = standard.lining.thickness if standard and standard.lining else None
    clear, gap = standard.inner.height if standard else None, system.lid_air_gap_nm
    return Stack(place, False, lined, lining, clear, None, None, None, None, None, gap)


def _with_tray(stack: Stack, lot: TrayLot, line: Line) -> Stack:
    return replace(
        stack,
        in_tray=True,
        base=lot.base,
        bottom=lot.bottom.thickness if lot.bottom else None,
        tray_height=lot.outer.height,
        pin_length=line.pins.length,
        pin_depth=line.pins.depth,
    )


def pin_panel(stack: Stack, name: str, mm_per_unit: float) -> Panel:
    """The section, drawn as far up as the facts go; whatever is unknown is named beside it."""
    u = mm_per_unit
    tallest = max(stack.lid or 0.0, stack.head or 0.0, stack.rim or 0.0, stack.surface or 0.0)
    enlarged = max((step for step in _ENLARGED if step * tallest <= _SECTION_UNITS * u), default=1)
    heading = f"Section under the lid of {stack.place}" + (f", {enlarged} × enlarged" if tallest else "")
    panel = new_panel(name, heading, u)
    if not tallest:
        panel.notes(_nothing_known(stack))
        return panel
    left = _room_at_left(stack)
    view = panel.view(left, tallest * enlarged / u + _GLASS + LANE, enlarged)
    _layers(view, stack)
    _pin(view, stack)
    _lid(view, stack)
    _heights_at_left(view, stack)
    right = _heights_at_right(view, stack)
    below = view.units(SMALL + 2 * LANE)
    view.scale_bar(0, below, 10)
    panel.reach(
        left * u + right * enlarged, panel.top + (_GLASS + LANE + SMALL + 2 * LANE + 8) * u + tallest * enlarged
    )
    panel.notes(_pin_notes(stack))
    return panel


def _layers(view: View, stack: Stack) -> None:
    wide = view.units(_LAYER_UNITS)
    view.rect(-view.units(20), 0, wide + view.units(40), view.units(_GLASS), SOLID, "floor")
    if stack.in_tray and stack.footing:
        view.rect(-view.units(20), -stack.footing, wide + view.units(40), stack.footing, SOFT, "lining")
    base = largest_mm(stack.base)
    if stack.in_tray and stack.floor is not None and base:
        view.rect(0, -stack.floor, wide, base, SOLID, "base")
    bottom = largest_mm(stack.bottom)
    if stack.surface is not None and bottom is not None:
        view.rect(0, -stack.surface, wide, bottom, SOFT, "bottom")
    if stack.rim is not None and stack.footing is not None:
        view.line(0, -stack.rim, 0, -stack.footing, _TRAY_WALL, "tray-wall")


def _pin(view: View, stack: Stack) -> None:
    if stack.point is None or stack.head is None:
        return
    x = view.units(_LAYER_UNITS * 0.6)
    view.line(x, -stack.point, x, -stack.head, _PIN, "pin")
    view.dot(x, -stack.head, 3.5, "pin-head")


def _lid(view: View, stack: Stack) -> None:
    lid, wide = stack.lid, view.units(_LAYER_UNITS)
    if lid is None:
        return
    x, across = -view.units(20), wide + view.units(40)
    view.rect(x, -lid - view.units(_GLASS), across, view.units(_GLASS), Look(1.2, fill="#fff"), "glass")
    view.line(x, -lid, x + across, -lid, OUTLINE, "lid")
    if stack.air_gap_nm:
        gap = stack.air_gap_nm / NM_PER_MM
        view.line(x, -lid + gap, x + across, -lid + gap, HIDDEN, "air-gap")
    if stack.head is not None and stack.head > lid:
        view.rect(wide * 0.5, -stack.head, wide * 0.2, stack.head - lid, OVERLAP, "overlap")


def _layer_heights(stack: Stack) -> Iterator[tuple[float | None, float | None, str]]:
    """Each layer from the floor up: where it starts and ends, and its label."""
    if stack.in_tray and stack.lined:
        yield 0.0, stack.footing, at_most("lining", stack.lining, "thickness")
    if stack.in_tray:
        yield stack.footing, stack.floor, at_most("tray base", stack.base, "thickness")
    yield stack.floor, stack.surface, at_most("bottom" if stack.in_tray else "lining", stack.bottom, "thickness")


def _heights_at_left(view: View, stack: Stack) -> None:
    """The layers in one chain of dimensions, their labels kept apart, and the tray's rim beyond them."""
    at, labels_at, lowest = -view.units(_CHAIN), -view.units(_CHAIN + 26), view.units(SMALL / 2)
    for low, high, label in _layer_heights(stack):
        middle = lowest
        if low is not None and high is not None and high > low:
            view.along(-high, -low, 0, at, "")
            middle = min(-(low + high) / 2, lowest)
            view.line(at, -(low + high) / 2, labels_at + view.units(4), middle, FAINT)
        view.text(labels_at, middle + view.units(SMALL / 3), label, SMALL, "end")
        lowest = middle - view.units(SMALL * LINE_SPACING)
    if stack.in_tray:
        _rim(view, stack, labels_at - view.units(_labels_width(stack) + 10))


def _labels_width(stack: Stack) -> float:
    return max(text_width(label, SMALL) for _, _, label in _layer_heights(stack))


def _rim(view: View, stack: Stack, at: float) -> None:
    rim, label = stack.rim, at_most("tray", stack.tray_height, "height")
    if rim is None or stack.footing is None:
        view.text(at, -view.units(SMALL * 4), label, SMALL, "end")
    else:
        view.along(-rim, -stack.footing, 0, at, label, left=True)


def _room_at_left(stack: Stack) -> float:
    rim = text_width(at_most("tray", stack.tray_height, "height"), SMALL) + 20 if stack.in_tray else 0
    return _CHAIN + 26 + _labels_width(stack) + 20 + rim


def _heights_at_right(view: View, stack: Stack) -> float:
    """Pin in the bottom and room over the head, then the pin, then the clear height; gives how far right they go."""
    edge = view.units(_LAYER_UNITS)
    at = edge + view.units(2 * LANE)
    depth, over = at_least("pin goes in", stack.pin_depth, "how far:"), _clearance(stack)
    widths = [view.units(text_width(label, SMALL)) for label in (depth, over)]
    low, high = _pin_in_bottom(view, stack, edge, at, depth), _over_the_head(stack)
    apart = abs(low - (high or stack.lid or view.units(3 * SMALL))) >= view.units(2 * SMALL)
    over_at = at if apart else at + widths[0] + view.units(LANE)
    if high is None or stack.head is None or stack.lid is None:
        view.text(
            over_at, view.units(1.5 * SMALL) - stack.lid if stack.lid else -view.units(2.5 * SMALL), over, SMALL
        )
    else:
        view.along(-max(stack.head, stack.lid), -min(stack.head, stack.lid), edge, over_at, over, level=True)
    at = max(at + widths[0], over_at + widths[1]) + view.units(LANE)
    pin = (stack.point, stack.head), at_most("pin", stack.pin_length, "length")
    lid = (0.0, stack.lid), at_least("clear height", stack.clear_height)
    for (low_end, high_end), label in (pin, lid):
        at = _tall(view, (low_end, high_end), edge, at + view.units(LANE / 2), label)
    return at


def _pin_in_bottom(view: View, stack: Stack, edge: float, at: float, label: str) -> float:
    """How far the pin goes into the bottom; gives the height of the label."""
    if stack.point is None or stack.surface is None:
        view.text(at, -view.units(SMALL / 2), label, SMALL)
        return view.units(SMALL / 2)
    if stack.surface > stack.point:
        view.along(-stack.surface, -stack.point, edge, at, label, level=True)
    else:
        view.text(at, view.units(SMALL / 3) - stack.surface, label, SMALL)
    return (stack.surface + stack.point) / 2


def _over_the_head(stack: Stack) -> float | None:
    """The height of the middle between head and lid."""
    return None if stack.head is None or stack.lid is None else (stack.head + stack.lid) / 2


def _clearance(stack: Stack) -> str:
    if stack.head is None or stack.lid is None:
        return f"over the head {UNKNOWN}"
    return margin_words(round((stack.lid - stack.head) * NM_PER_MM))


def _tall(view: View, ends: tuple[float | None, float | None], edge: float, at: float, label: str) -> float:
    """A dimension in a lane of its own; gives where the next lane may start."""
    low, high = ends
    width = view.units(text_width(label, SMALL))
    if low is None or high is None:
        # Only the label is drawn: its figure is known or not, but where it would stand is unknown.
        view.text(at, -view.units(5 * SMALL), label, SMALL)
        return at + width + view.units(LANE / 2)
    view.along(-high, -low, edge, at, label)
    upright = high - low >= width + view.units(4)
    return at + view.units(LANE / 2) + (0 if upright else width)


def _nothing_known(stack: Stack) -> Iterator[str]:
    yield "Nothing is drawn, since no height is known:"
    yield from (f"{label}." for _, _, label in _layer_heights(stack))
    yield f"{at_most('pin', stack.pin_length, 'length')}."
    yield f"{at_least('clear height', stack.clear_height)}."


def _pin_notes(stack: Stack) -> Iterator[str]:
    yield "Heights are to scale; widths, the pin's head and the glass are not."
    if stack.air_gap_nm is not None:
        yield f"Dashed: {written_mm(stack.air_gap_nm)} of air is wanted between heads and lid."
    if stack.head is None:
        yield "The pin is not drawn: how high it stands is unknown."
