"""A request as the search sees it: kinds of tray that are alike to it, and the rooms that trays may take.

Lengths are in the largest unit that divides every side of every tray, where a tray's play is part of its size.
Sides add up to whole units only, so what a drawer has beyond its last whole unit is no loss.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import gcd

from service.core.housing.plan import CannotBeHoused, DrawerType, HousingRequest, Strip, TraySize


@dataclass(frozen=True, slots=True, order=True)
class Kind:
    """Trays that nobody can tell apart in a layout. Play included; ``drawers`` are the types that are high enough."""

    width: int
    depth: int
    may_turn: bool
    drawers: tuple[int, ...]
    together: str


@dataclass(frozen=True, slots=True)
class Piece:
    """A kind of tray, one way round."""

    kind: int
    width: int
    depth: int
    turned: bool

    @property
    def area(self) -> int:
        return self.width * self.depth


@dataclass(frozen=True)
class Room:
    """The part of one type of drawer that trays may take, and the pieces that fit there."""

    drawer: int
    width: int
    depth: int
    cost: int
    pieces: tuple[Piece, ...]
    strip: Strip | None = None

    @cached_property
    def on_its_side(self) -> "Room":
        """Width and depth exchanged, for methods that work in one direction."""
        pieces = tuple(Piece(piece.kind, piece.depth, piece.width, piece.turned) for piece in self.pieces)
        return Room(self.drawer, self.depth, self.width, self.cost, pieces)

    @property
    def area(self) -> int:
        return self.width * self.depth


@dataclass(frozen=True, slots=True)
class Put:
    """A piece in its place."""

    x: int
    y: int
    piece: Piece

    @property
    def mirrored(self) -> "Put":
        """The same with width and depth exchanged."""
        piece = Piece(self.piece.kind, self.piece.depth, self.piece.width, self.piece.turned)
        return Put(self.y, self.x, piece)


@dataclass(frozen=True)
class Filled:
    """A room with trays in it."""

    room: int
    puts: tuple[Put, ...]

    @cached_property
    def counts(self) -> Counter[int]:
        return Counter(put.piece.kind for put in self.puts)


@dataclass(frozen=True, slots=True)
class Alone:
    """Trays of a kind that fits no room beside a growth reserve, only a whole drawer, which each has to itself."""

    kind: Kind
    count: int
    drawer: int
    turned: bool


@dataclass(frozen=True)
class Task:
    """``counts`` trays of each kind to go into rooms; ``limits`` are how many drawers there are of each type.

    ``at_cost`` is what all costs were divided by.
    """

    request: HousingRequest
    unit: int
    kinds: tuple[Kind, ...]
    counts: tuple[int, ...]
    rooms: tuple[Room, ...]
    limits: tuple[int | None, ...]
    alone: tuple[Alone, ...]
    at_cost: int

    @cached_property
    def areas(self) -> tuple[int, ...]:
        return tuple(kind.width * kind.depth for kind in self.kinds)

    @cached_property
    def cost_alone(self) -> int:
        return sum(alone.count * self.request.drawers[alone.drawer].cost for alone in self.alone)

    @cached_property
    def trays_of(self) -> dict[Kind, tuple[TraySize, ...]]:
        """The sizes of tray, as they were asked for, that are of one kind."""
        trays: dict[Kind, list[TraySize]] = {}
        for tray in self.request.trays:
            trays.setdefault(kind_of(tray, self.request, self.unit), []).append(tray)
        return {kind: tuple(each) for kind, each in trays.items()}


def task_for(request: HousingRequest) -> Task:
    """The request in the search's own numbers, in one order whatever order it was written in.

    :raises CannotBeHoused: when a tray fits no drawer, or a figure makes no sense.
    """
    _check(request)
    request = _in_one_order(request)
    unit = gcd(*(side + request.play_nm for tray in request.trays for side in (tray.width_nm, tray.depth_nm))) or 1
    counts: Counter[Kind] = Counter()
    for tray in request.trays:
        if tray.count:
            counts[kind_of(tray, request, unit)] += tray.count
    kinds = tuple(sorted(kind for kind in counts if _fits_a_room(kind, request, unit)))
    alone = tuple(_alone(kind, counts[kind], request, unit) for kind in sorted(set(counts) - set(kinds)))
    at_cost = gcd(*(drawer.cost for drawer in request.drawers))
    rooms = _rooms(request, kinds, unit, at_cost)
    limits = _limits(request, alone)
    return Task(request, unit, kinds, tuple(counts[kind] for kind in kinds), rooms, limits, alone, at_cost)


def part_of(task: Task, counts: Sequence[int]) -> tuple[Task, tuple[int, ...]]:
    """A task of fewer trays, and the number that each of its kinds has in the whole."""
    kept = tuple(kind for kind, count in enumerate(counts) if count)
    new = {old: at for at, old in enumerate(kept)}
    rooms = tuple(
        replace(
            room, pieces=tuple(replace(piece, kind=new[piece.kind]) for piece in room.pieces if piece.kind in new)
        )
        for room in task.rooms
    )
    kinds = tuple(task.kinds[kind] for kind in kept)
    return replace(task, kinds=kinds, counts=tuple(counts[kind] for kind in kept), rooms=rooms, alone=()), kept


def kind_of(tray: TraySize, request: HousingRequest, unit: int) -> Kind:
    high_enough = tuple(at for at, drawer in enumerate(request.drawers) if _is_high_enough(drawer, tray))
    width, depth = (tray.width_nm + request.play_nm) // unit, (tray.depth_nm + request.play_nm) // unit
    return Kind(width, depth, tray.may_turn and width != depth, high_enough, tray.together or "")


def usable_parts(drawer: DrawerType, reserve_percent: object) -> tuple[tuple[int, int, Strip | None], ...]:
    """Width and depth in nm that trays may take, and the strip that stays free, for each way to keep the reserve."""
    share = 1 - Fraction(str(reserve_percent)) / 100
    width, depth = drawer.inner_width_nm, drawer.inner_depth_nm
    if share == 1:
        return ((width, depth, None),)
    less_width, less_depth = int(width * share), int(depth * share)
    at_side = Strip(less_width, 0, width - less_width, depth)
    at_back = Strip(0, less_depth, width, depth - less_depth)
    return (width, less_depth, at_back), (less_width, depth, at_side)


def _is_high_enough(drawer: DrawerType, tray: TraySize) -> bool:
    """A height that nobody stated rules nothing out here; the plan names it."""
    clear, height = drawer.clear_height_nm, tray.height_nm
    return clear is None or height is None or height <= clear


def _check(request: HousingRequest) -> None:
    if not request.drawers:
        raise CannotBeHoused("No type of drawer was given to house the trays in.")
    if not 0 <= request.reserve_percent < 100:
        raise CannotBeHoused(
            f"A growth reserve of {request.reserve_percent} % leaves no drawer; give 0 to under 100."
        )
    if request.play_nm < 0:
        raise CannotBeHoused("The play of a tray is less than nothing; it must be 0 mm or more.")
    for drawer in request.drawers:
        if min(drawer.inner_width_nm, drawer.inner_depth_nm) <= 0 or drawer.cost <= 0:
            raise CannotBeHoused(f"Drawer “{drawer.code}” needs an inner width, an inner depth and a cost above 0.")
    for tray in request.trays:
        if min(tray.width_nm, tray.depth_nm) <= 0 or tray.count < 0:
            raise CannotBeHoused(f"Tray “{tray.code}” needs a width and a depth above 0, and a count of 0 or more.")
    _check_codes([drawer.code for drawer in request.drawers], "drawer")
    _check_codes([tray.code for tray in request.trays], "tray")


def _check_codes(codes: list[str], what: str) -> None:
    twice = sorted(code for code, times in Counter(codes).items() if times > 1)
    if twice:
        raise CannotBeHoused(f"Two of the {what}s have the code “{twice[0]}”; each needs its own.")


def _in_one_order(request: HousingRequest) -> HousingRequest:
    """Trays and drawers in an order of their own, so that the order in which they were written changes nothing."""
    drawers = sorted(request.drawers, key=lambda drawer: (drawer.cost, drawer.code))
    return replace(request, trays=tuple(sorted(request.trays, key=lambda tray: tray.code)), drawers=tuple(drawers))


def _rooms(request: HousingRequest, kinds: tuple[Kind, ...], unit: int, at_cost: int) -> tuple[Room, ...]:
    rooms = []
    for at, drawer in enumerate(request.drawers):
        for width, depth, strip in usable_parts(drawer, request.reserve_percent):
            pieces = _pieces(kinds, at, width // unit, depth // unit)
            rooms.append(Room(at, width // unit, depth // unit, drawer.cost // at_cost, pieces, strip))
    return tuple(rooms)


def _pieces(kinds: tuple[Kind, ...], drawer: int, width: int, depth: int) -> tuple[Piece, ...]:
    pieces = []
    for number, kind in enumerate(kinds):
        if drawer in kind.drawers:
            pieces.append(Piece(number, kind.width, kind.depth, turned=False))
            if kind.may_turn:
                pieces.append(Piece(number, kind.depth, kind.width, turned=True))
    return tuple(piece for piece in pieces if piece.width <= width and piece.depth <= depth)


def _fits_a_room(kind: Kind, request: HousingRequest, unit: int) -> bool:
    return any(
        _pieces((kind,), drawer, width // unit, depth // unit)
        for drawer in kind.drawers
        for width, depth, _ in usable_parts(request.drawers[drawer], request.reserve_percent)
    )


def _alone(kind: Kind, count: int, request: HousingRequest, unit: int) -> Alone:
    """In the cheapest type of drawer that one such tray fits."""
    for at, drawer in enumerate(request.drawers):
        pieces = _pieces((kind,), at, drawer.inner_width_nm // unit, drawer.inner_depth_nm // unit)
        if pieces and not kind.together:
            return Alone(kind, count, at, pieces[0].turned)
    code = next(tray.code for tray in request.trays if tray.count and kind_of(tray, request, unit) == kind)
    if not kind.drawers:
        raise CannotBeHoused(f"Tray “{code}” is too high for every type of drawer.")
    raise CannotBeHoused(f"Tray “{code}” with its play fits into none of the drawers that are high enough for it.")


def _limits(request: HousingRequest, alone: Sequence[Alone]) -> tuple[int | None, ...]:
    taken = Counter[int]()
    for each in alone:
        taken[each.drawer] += each.count
    for at, drawer in enumerate(request.drawers):
        if drawer.at_most is not None and taken[at] > drawer.at_most:
            raise CannotBeHoused(
                f"{taken[at]} large trays need a drawer “{drawer.code}” each, and there are {drawer.at_most}."
            )
    return tuple(
        None if drawer.at_most is None else drawer.at_most - taken[at] for at, drawer in enumerate(request.drawers)
    )
