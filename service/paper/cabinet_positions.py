"""Which drawer of a housing plan goes into which position of which cabinet."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from service.core.housing.plan import HousingPlan


@dataclass(frozen=True, slots=True)
class CabinetKind:
    """Cabinets alike, and the drawers that they take.

    ``takes`` gives each type of drawer with the positions that one of them takes up, one above the other. ``count``
    is how many such cabinets there are, ``None`` for as many as needed. ``taken`` names positions that have something
    in them already, as (cabinet, position), both from 1. Positions count from the top of the left column down, then
    column by column. ``opening_width_nm`` and ``pitch_nm`` are for the drawing: without both it is not to scale.
    """

    name: str
    takes: tuple[tuple[str, int], ...]
    positions_per_column: int
    columns: int = 1
    count: int | None = None
    taken: frozenset[tuple[int, int]] = frozenset()
    opening_width_nm: int | None = None
    pitch_nm: int | None = None

    @property
    def positions(self) -> int:
        return self.columns * self.positions_per_column


@dataclass(frozen=True, slots=True)
class InPosition:
    """One drawer of the plan in its cabinet: it takes up ``positions`` from the position ``first`` downwards."""

    drawer: int
    type: str
    layout: int
    first: int
    positions: int

    @property
    def last(self) -> int:
        return self.first + self.positions - 1


@dataclass(frozen=True, slots=True)
class FilledCabinet:
    """A cabinet with drawers of the plan; ``number`` counts the cabinets of its kind."""

    kind: CabinetKind
    number: int
    drawers: tuple[InPosition, ...] = ()

    @property
    def taken(self) -> frozenset[int]:
        """Positions that had something in them before."""
        return frozenset(position for cabinet, position in self.kind.taken if cabinet == self.number)

    @property
    def free(self) -> tuple[int, ...]:
        """Positions that stay free, from the first."""
        used = {at for each in self.drawers for at in range(each.first, each.last + 1)} | self.taken
        return tuple(at for at in range(1, self.kind.positions + 1) if at not in used)


@dataclass(frozen=True, slots=True)
class CabinetPlan:
    """All cabinets that receive drawers, in order, and the numbers of the drawers for which there is no position."""

    cabinets: tuple[FilledCabinet, ...]
    without_position: tuple[int, ...] = ()


def in_cabinets(plan: HousingPlan, kinds: Sequence[CabinetKind]) -> CabinetPlan:
    """Every drawer of the plan in the first cabinet that takes its type, drawers in order and never up again.

    A drawer that takes up several positions has them all in one column. One whose type no cabinet takes, or for
    which there is no room left, is named instead.
    """
    filling = [_Filling(kind) for kind in kinds]
    left: list[int] = []
    number = 0
    for at, layout in enumerate(plan.layouts, start=1):
        for _ in range(layout.drawers):
            number += 1
            drawer = InPosition(number, layout.drawer, at, 0, 0)
            if not any(each.put(drawer) for each in filling):
                left.append(number)
    return CabinetPlan(tuple(cabinet for each in filling for cabinet in each.cabinets()), tuple(left))


class _Filling:
    """Cabinets of one kind while drawers are set into them from the top of the first."""

    def __init__(self, kind: CabinetKind) -> None:
        self.kind = kind
        self.each = dict(kind.takes)
        self.cabinet, self.position = 1, 1
        self.put_in: dict[int, list[InPosition]] = {}

    def put(self, drawer: InPosition) -> bool:
        positions = self.each.get(drawer.type)
        if positions is None or not 0 < positions <= self.kind.positions_per_column:
            return False
        for cabinet, first in self._places(positions):
            placed = replace(drawer, first=first, positions=positions)
            self.put_in.setdefault(cabinet, []).append(placed)
            self.cabinet, self.position = cabinet, placed.last + 1
            return True
        return False

    def _places(self, positions: int) -> Iterator[tuple[int, int]]:
        """Free places for so many positions, from where the last drawer went."""
        column, first_taken = self.kind.positions_per_column, self.position
        last_known = max([self.cabinet, *(cabinet for cabinet, _ in self.kind.taken)])
        last = last_known + 1 if self.kind.count is None else self.kind.count
        for cabinet in range(self.cabinet, last + 1):
            taken = {position for at, position in self.kind.taken if at == cabinet}
            for first in range(first_taken, self.kind.positions - positions + 2):
                in_one_column = (first - 1) // column == (first + positions - 2) // column
                if in_one_column and not taken.intersection(range(first, first + positions)):
                    yield cabinet, first
            first_taken = 1

    def cabinets(self) -> Iterator[FilledCabinet]:
        for number, drawers in self.put_in.items():
            yield FilledCabinet(self.kind, number, tuple(drawers))
