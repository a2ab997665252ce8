"""What a housing plan is asked for, and what it answers: trays, drawers, every place, and the proof beside them."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from service.core.housing.certificate import Certificate, ColumnCertificate, WholeTrayCertificate
from service.core.housing.tiling import Place


@dataclass(frozen=True, slots=True)
class TraySize:
    """Like trays: one size, ``count`` of them.

    ``height_nm`` is the clear height that a tray takes with its pins; ``None`` is unknown. ``label`` is what
    stands on the tray. Unless ``may_turn``, its label faces the front. All trays whose ``together`` is the same
    word stand in one drawer. ``bottom_width_nm`` and ``bottom_depth_nm`` are the size of a tray's pinning bottom;
    where they are not known, the tray's own outline stands in for them.
    """

    code: str
    width_nm: int
    depth_nm: int
    count: int
    label: str = ""
    height_nm: int | None = None
    may_turn: bool = False
    together: str | None = None
    bottom_width_nm: int | None = None
    bottom_depth_nm: int | None = None

    @property
    def bottom_nm2(self) -> int:
        return (self.bottom_width_nm or self.width_nm) * (self.bottom_depth_nm or self.depth_nm)


@dataclass(frozen=True, slots=True)
class DrawerType:
    """A drawer that may be used. ``cost`` is what one more costs, in any whole unit; alike for all: fewest drawers.

    ``at_most`` is how many there are to be had, ``None`` for as many as needed; ``per_cabinet`` is how many
    positions a cabinet has for them. ``clear_height_nm`` is from the floor that trays stand on to the lid.
    """

    code: str
    inner_width_nm: int
    inner_depth_nm: int
    clear_height_nm: int | None = None
    cost: int = 1
    at_most: int | None = None
    per_cabinet: int | None = None


@dataclass(frozen=True, slots=True)
class HousingRequest:
    """Trays to be housed, and in what.

    ``reserve_percent`` of each drawer's inner area stays free as one clear strip: across the back over the whole
    width, or down the right side over the whole depth, whichever lets the drawer hold more. Reading runs from the
    front left, so the strip is where the next trays come. Slivers between trays are area too, but nobody can put a
    tray into them, so they do not count as reserve. A tray so large that it fits only into a whole drawer has
    that drawer to itself.

    ``play_nm`` is added to each tray's width and depth, so that it lifts out without moving its neighbours.
    """

    trays: tuple[TraySize, ...]
    drawers: tuple[DrawerType, ...]
    reserve_percent: Decimal = Decimal(0)
    play_nm: int = 0


class CannotBeHoused(ValueError):
    """No plan exists, and why, in a sentence for the person who asked."""


class LayoutClass(StrEnum):
    """Which layouts a proof speaks of."""

    ANY = "any_layout"
    COLUMNS = "column_layouts"
    """Columns side by side, each of rows one behind the other, each of trays side by side; or all that turned."""


@dataclass(frozen=True, slots=True)
class Strip:
    """The part of a drawer that stays free for growth."""

    x_nm: int
    y_nm: int
    width_nm: int
    depth_nm: int


@dataclass(frozen=True, slots=True)
class Placed:
    """One tray of the size ``tray`` in its place, play not included."""

    tray: str
    place: Place


@dataclass(frozen=True, slots=True)
class Layout:
    """What lies where in each of ``drawers`` like drawers of the type ``drawer``.

    ``reserve`` is the strip kept free: ``None`` without a growth reserve, or where one large tray has the whole
    drawer to itself.
    """

    drawer: str
    drawers: int
    placed: tuple[Placed, ...]
    reserve: Strip | None = None

    @property
    def counts(self) -> Counter[str]:
        """Trays of each size in one such drawer."""
        return Counter(each.tray for each in self.placed)


@dataclass(frozen=True, slots=True)
class DrawersUsed:
    """Drawers of one type: how many, the cabinets that they fill (``None``: not stated), and what they cost."""

    drawer: str
    count: int
    cabinets: int | None
    cost: int


@dataclass(frozen=True, slots=True)
class HousingPlan:
    """Where every tray goes, and how far from the least possible cost that may be.

    ``at_least`` is a cost that no plan goes below, whatever its layouts. ``certificate`` shows it to anyone who can
    add and multiply; where it is lower, ``whole_tray_certificate`` shows more but rests on a solver and on exhaustive
    searches, and where there is none either, an exhaustive search showed that one drawer does not do.
    ``at_least_in_columns`` is the least among plans of column layouts alone, ``None`` where that was not worked
    out. ``heights_unknown`` names sizes of tray and types of drawer whose height nobody
    stated: they were housed as if they fitted, and somebody has to look. ``parts_groups``: there are trays that stay
    together, and ``at_least`` was worked out as if they could part, so the least possible cost may well be higher.
    """

    layouts: tuple[Layout, ...]
    used: tuple[DrawersUsed, ...]
    cost: int
    at_least: int
    at_least_in_columns: int | None
    certificate: Certificate
    column_certificate: ColumnCertificate | None
    whole_tray_certificate: WholeTrayCertificate | None
    unit_cost: int | None
    bottom_sheet_nm2: int
    heights_unknown: tuple[str, ...] = ()
    stopped_early: bool = False
    parts_groups: bool = False

    @property
    def drawer_count(self) -> int:
        return sum(layout.drawers for layout in self.layouts)

    @property
    def is_proved(self) -> bool:
        """No plan at all costs less."""
        return self.cost == self.at_least

    @property
    def rests_on_search(self) -> bool:
        """Whether ``at_least`` takes more to check than adding up ``certificate``."""
        return self.at_least > self.certificate.at_least

    @property
    def proved_for(self) -> LayoutClass | None:
        """The widest class of layouts among which no plan costs less; ``None`` when that is not known of any."""
        if self.is_proved:
            return LayoutClass.ANY
        in_columns = self.at_least_in_columns
        return LayoutClass.COLUMNS if in_columns is not None and self.cost <= in_columns else None

    @property
    def drawers_above(self) -> int | None:
        """At most so many drawers above the fewest; ``None`` where drawers differ in cost: compare costs instead."""
        return None if self.unit_cost is None else (self.cost - self.at_least) // self.unit_cost

    @property
    def bottom_sheet_m2(self) -> Decimal:
        return Decimal(self.bottom_sheet_nm2).scaleb(-18)

    def drawer_by_drawer(self) -> Iterator[Layout]:
        """The layout of each single drawer, in the order of ``layouts``."""
        for layout in self.layouts:
            for _ in range(layout.drawers):
                yield layout


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the work has come: the cheapest plan so far, ``None`` before the first, and the bound so far."""

    stage: str
    best: int | None
    at_least: int
