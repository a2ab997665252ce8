"""What may be asked of an arrangement, and what is answered: alternatives, each with its moves and its proof."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cached_property

from service.core.arrangement.inventory import DrawerStyle, SystematicSequence, Tray
from service.core.materials import Treatment

# What may be asked. Trays named here by key stand in the inventory; trays given whole are new to it.


@dataclass(frozen=True, slots=True)
class TakeIn:
    """Trays that arrive: new to the inventory, or in it and unplaced (named in ``unplaced``).

    ``treatments_used`` is what was used before on each lot of what is new, ``None`` where nobody said.
    """

    trays: tuple[Tray, ...] = ()
    unplaced: tuple[str, ...] = ()
    treatments_used: tuple[tuple[Treatment, ...] | None, ...] = (None,)


@dataclass(frozen=True, slots=True)
class NewTaxon:
    """A taxon that enters the sequence right ``after`` another; ``None`` is before all."""

    name: str
    after: str | None
    family: str = ""
    genus: str = ""


@dataclass(frozen=True, slots=True)
class InsertTaxa:
    """Taxa enter the sequence, with trays for them if there are any yet."""

    taxa: tuple[NewTaxon, ...]
    trays: tuple[Tray, ...] = ()
    unplaced: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MergeTaxa:
    """``taxa`` become one with ``into``: their trays bear its name, follow its own, and leave the sequence."""

    taxa: tuple[str, ...]
    into: str


@dataclass(frozen=True, slots=True)
class SplitPart:
    """A taxon that comes out of another: whole trays of it, and new trays for specimens picked out one by one."""

    taxon: NewTaxon
    trays: tuple[str, ...] = ()
    new_trays: tuple[Tray, ...] = ()
    specimens_picked_out: int = 0


@dataclass(frozen=True, slots=True)
class SplitTaxon:
    taxon: str
    parts: tuple[SplitPart, ...]


@dataclass(frozen=True, slots=True)
class ReorderTaxa:
    """From now on the collection is read in this sequence."""

    sequence: SystematicSequence


@dataclass(frozen=True, slots=True)
class EmptyCabinets:
    """Nothing is left standing in these cabinets."""

    cabinets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RestoreReserve:
    """Every drawer has its growth reserve again; ``reserve_percent`` for another one than the inventory's."""

    reserve_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class ChangeDrawerStyle:
    """What stands in drawers of the style ``leave`` goes into drawers of another, empty ones and new ones."""

    leave: str
    style: DrawerStyle


Question = (
    TakeIn | InsertTaxa | MergeTaxa | SplitTaxon | ReorderTaxa | EmptyCabinets | RestoreReserve | ChangeDrawerStyle
)


@dataclass(frozen=True, slots=True)
class ArrangementWishes:
    """``new_drawers`` is the style of drawers that may be bought, ``None`` for none; they go into free positions of
    cabinets that take them, and where these run out they are named as having no position yet. ``bench_places`` is
    how many trays may wait on a bench or in holders while others move: what the institution says, and else none.
    """

    new_drawers: DrawerStyle | None = None
    new_drawers_at_most: int | None = None
    bench_places: int = 0


class CannotBeArranged(ValueError):
    """No arrangement does what was asked, and why, in a sentence for the person who asked."""


# What is answered


@dataclass(frozen=True, slots=True)
class NewDrawer:
    """A drawer that has to be had; ``cabinet`` and ``position`` are ``None`` where there is no free position.

    ``behind`` is the drawer that it follows in reading order, ``None`` for the first of all.
    """

    key: str
    style: DrawerStyle
    cabinet: str | None = None
    position: int | None = None
    behind: str | None = None


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a drawer: the how-manieth tray it is, from 1, in reading order."""

    drawer: str
    place: int


@dataclass(frozen=True, slots=True)
class Move:
    """A tray that changes its drawer, or its rank among those that stay; ``from_`` of ``None`` is new or unplaced."""

    tray: str
    from_: Spot | None
    to: Spot


@dataclass(frozen=True, slots=True)
class DrawerAfter:
    """What stands in a drawer once all is done, in reading order.

    ``reserve_kept`` is ``None`` where nobody can say, because not even what stands there fits as it is drawn.
    """

    drawer: str
    trays: tuple[str, ...]
    reserve_kept: bool | None


class Aim(StrEnum):
    """What an alternative was looked for by."""

    FEWEST_MOVES = "fewest_moves"
    BETWEEN = "between"
    """Something of both."""
    FEWEST_DRAWERS = "fewest_drawers"


@dataclass(frozen=True, slots=True)
class Specimens:
    """How many specimens are touched how. ``uncounted_trays`` hold specimens that nobody has counted."""

    in_trays_that_stay: int
    in_trays_that_move: int
    picked_out_one_by_one: int
    uncounted_trays: int


@dataclass(frozen=True, slots=True)
class Hours:
    """Person-hours at the institution's own rates; ``None`` where one is ``missing``."""

    hours: Decimal | None
    cost: Decimal | None
    currency: str | None
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class Alternative:
    """One way to do it. ``after`` has every drawer whose contents change, in reading order.

    ``moved`` trays change their drawer, ``put_in`` trays had none, ``reset`` trays are lifted within their drawer.
    ``new_drawers`` and empty drawers that are put to use are ``drawers_opened``; ``drawers_emptied`` had trays.
    No plan with the drawers that stand and those that could be had has less than ``at_least`` for moved trays plus
    ``drawer_worth`` for each drawer opened.
    ``reserve_missing`` are drawers, of those that change, that keep less than their reserve.
    """

    aim: Aim
    moves: tuple[Move, ...]
    after: tuple[DrawerAfter, ...]
    moved: int
    put_in: int
    reset: int
    drawers_touched: int
    drawers_opened: int
    drawers_emptied: int
    new_drawers: tuple[NewDrawer, ...]
    drawer_worth: int
    at_least: int
    reserve_missing: tuple[str, ...]
    specimens: Specimens

    @property
    def positions_missing(self) -> int:
        """How many positions its new drawers would take that have none."""
        return sum(new.style.positions for new in self.new_drawers if new.position is None)

    @property
    def weighed(self) -> int:
        """What ``at_least`` is held against."""
        return self.moved + self.drawer_worth * self.drawers_opened

    @property
    def is_proved(self) -> bool:
        """No plan moves fewer, a drawer opened counting as ``drawer_worth`` moves, of those that fill drawers as
        :func:`service.core.arrangement.lines.furthest` says: no course is wider than the collection's widest tray."""
        return self.weighed == self.at_least

    @property
    def gap(self) -> int:
        """At most so many more than the fewest."""
        return self.weighed - self.at_least

    @cached_property
    def drawer_after(self) -> Mapping[str, DrawerAfter]:
        return {each.drawer: each for each in self.after}


@dataclass(frozen=True, slots=True)
class ArrangementPlan:
    """Alternatives from the fewest moves to the fewest drawers.

    ``sequence`` is the one that the collection is read in afterwards, ``renamed`` the trays that bear another taxon,
    ``new_trays`` those that were not in the inventory. ``stood`` is the fingerprint of what stood where
    (:func:`service.core.arrangement.standing.fingerprint`): when the inventory has another, somebody has moved
    something since. ``notes`` are sentences for the person who asked.
    """

    alternatives: tuple[Alternative, ...]
    sequence: SystematicSequence
    renamed: tuple[tuple[str, str], ...]
    new_trays: tuple[Tray, ...]
    stood: str
    notes: tuple[str, ...] = ()


# The walking list


class Errand(StrEnum):
    """Why a tray is picked up."""

    TO_ITS_PLACE = "to_its_place"
    OUT_OF_THE_WAY = "out_of_the_way"
    """It waits where there is room, until its place is free."""


@dataclass(frozen=True, slots=True)
class Step:
    """One tray is picked up and set down. Trays of both drawers close up or make room without being lifted.

    ``from_drawer`` of ``None``: from the bench, or from outside on its way in. ``to_drawer`` of ``None``: onto the
    bench. ``place`` is the how-manieth of its drawer the tray is once it stands there, ``after`` the tray before it.
    """

    number: int
    tray: str
    from_drawer: str | None
    to_drawer: str | None
    place: int | None
    after: str | None
    errand: Errand


@dataclass(frozen=True, slots=True)
class Trip:
    """Steps on one way: trays that go from one drawer (or the bench, or outside) to one other."""

    number: int
    from_drawer: str | None
    to_drawer: str | None
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class WalkingList:
    """An order of steps in which every tray finds room at each moment.

    ``bench_used`` is the most trays that wait on the bench at once; ``lifts`` counts steps, those out of the way too.
    ``drawers_handled`` counts how often a drawer is fetched, and is what grouping keeps low.
    """

    trips: tuple[Trip, ...]
    lifts: int
    out_of_the_way: int
    bench_used: int
    drawers_handled: int
    hours: Hours

    @property
    def steps(self) -> tuple[Step, ...]:
        return tuple(step for trip in self.trips for step in trip.steps)


class CannotBeWalked(ValueError):
    """There is no room to move in. ``bench_places`` would do, if known."""

    def __init__(self, message: str, bench_places: int | None = None) -> None:
        super().__init__(message)
        self.bench_places = bench_places
