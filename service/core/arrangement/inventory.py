"""What stands where: rooms, cabinets, drawers and trays, in the order in which a collection is read.

Every thing has a ``key``, any text that is one thing's alone. Lengths are whole nanometres; ``None`` is unknown.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum, StrEnum
from functools import cached_property


class CurationLevel(IntEnum):
    """McGinley's scale in the eight levels of the update, from 1, specimens in danger, to 8, every label captured.

    The words of each level are in the handbook (``core/handbook/curation.py``).
    """

    CONSERVATION_PROBLEM = 1
    UNSORTED = 2
    SORTED_TO_LOANABLE_UNIT = 3
    IDENTIFIED_NOT_INCORPORATED = 4
    INCORPORATED_INADEQUATELY_CURATED = 5
    CURATION_COMPLETE = 6
    SPECIES_INVENTORIED = 7
    LABEL_DATA_CAPTURED = 8


class ReadingOrder(StrEnum):
    """How trays follow one another inside a drawer that is seen from above, its front below."""

    COLUMNS = "columns"
    """From the back left down to the front, then the next column to the right."""
    ROWS = "rows"
    """From the back left across to the right, then the next row towards the front."""


@dataclass(frozen=True, slots=True)
class Room:
    key: str
    name: str


@dataclass(frozen=True, slots=True)
class DrawerStyle:
    """One size of drawer: ``inner_width_nm`` across the front, ``inner_depth_nm`` from front to back.

    ``clear_height_nm`` is from the floor that trays stand on to the lid. A drawer takes up ``positions`` of its
    cabinet, one below the other.
    """

    code: str
    inner_width_nm: int
    inner_depth_nm: int
    clear_height_nm: int | None = None
    positions: int = 1


@dataclass(frozen=True, slots=True)
class Cabinet:
    """A cabinet. Positions count from 1, from the top of the left column down, column by column.

    ``takes`` names the styles of drawer that go in; empty is unknown. ``opening_width_nm`` (of one column) and
    ``pitch_nm`` are for drawings to scale.
    """

    key: str
    name: str
    room: str
    positions_per_column: int
    columns: int = 1
    takes: tuple[str, ...] = ()
    opening_width_nm: int | None = None
    pitch_nm: int | None = None

    @property
    def positions(self) -> int:
        return self.columns * self.positions_per_column


@dataclass(frozen=True, slots=True)
class Drawer:
    """A drawer in its place: in ``cabinet`` from ``position`` downwards, or in none.

    ``reserve_percent`` is what of its inside stays free for growth, where this is not the inventory's own figure.
    """

    key: str
    name: str
    style: DrawerStyle
    cabinet: str | None = None
    position: int | None = None
    reserve_percent: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    """A new drawer that is in use and waits outside for a position.

    It is read right behind the drawer ``behind``, ``None`` for the first of all. Its ``position`` is that of an old
    drawer that is being emptied; ``None``: there is none for it yet.
    """

    drawer: str
    behind: str | None
    cabinet: str | None = None
    position: int | None = None


@dataclass(frozen=True, slots=True)
class Tray:
    """A unit tray: outer size, what is in it, and where it stands.

    ``taxon`` is the name that the systematic sequence knows it by. ``place`` counts the trays of its drawer in
    reading order; what counts is the order of places and not that they have no holes. Without a drawer a tray is
    *unplaced*. ``specimens`` of ``None``: nobody has counted them.
    """

    key: str
    taxon: str
    width_nm: int
    depth_nm: int
    specimens: int | None = None
    level: CurationLevel | None = None
    label: str = ""
    height_nm: int | None = None
    drawer: str | None = None
    place: int | None = None


@dataclass(frozen=True, slots=True)
class Taxon:
    """One line of a systematic sequence. ``name`` is what stands on trays: of a species, a genus, or a family."""

    name: str
    family: str = ""
    genus: str = ""


@dataclass(frozen=True)
class SystematicSequence:
    """The order in which an institution keeps its taxa: its own, and the alphabet only where it says so."""

    taxa: tuple[Taxon, ...] = ()

    @cached_property
    def ranks(self) -> Mapping[str, int]:
        """The place of each name in the sequence, from 0; names as :func:`plain_name` writes them."""
        ranks: dict[str, int] = {}
        for rank, taxon in enumerate(self.taxa):
            ranks.setdefault(plain_name(taxon.name), rank)
        return ranks

    @cached_property
    def last_of_genus(self) -> Mapping[str, int]:
        """The place of the last taxon of each genus."""
        return {plain_name(taxon.genus or taxon.name.partition(" ")[0]): rank for rank, taxon in enumerate(self.taxa)}

    @cached_property
    def last_of_family(self) -> Mapping[str, int]:
        """The place of the last taxon of each family."""
        return {plain_name(taxon.family): rank for rank, taxon in enumerate(self.taxa) if taxon.family}

    def rank(self, name: str) -> int | None:
        """A number to sort names by. One that the sequence has not goes behind all of its genus, such as "Carabus
        sp.", or behind all of its family, such as "Carabidae indet." (common practice, no source); ``None`` where
        neither is there."""
        plain = plain_name(name)
        first_word = plain.partition(" ")[0]
        for step_behind, places in enumerate((self.ranks, self.last_of_genus, self.last_of_family)):
            place = places.get(first_word if step_behind else plain)
            if place is not None:
                return 3 * place + step_behind
        return None


def plain_name(name: str) -> str:
    """A name without what two people write differently: capitals, and spaces more than one."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class MovingRates:
    """How fast people of this institution work. ``None`` is unknown, and an estimate that needs it then is too.

    ``trays_moved_per_h`` go from one drawer to another; ``drawers_handled_per_h`` are fetched, opened, closed and
    put back.
    """

    trays_moved_per_h: Decimal | None = None
    drawers_handled_per_h: Decimal | None = None
    person_hour: Decimal | None = None
    currency: str | None = None


@dataclass(frozen=True)
class Inventory:
    """All that stands somewhere, or is to. Rooms and cabinets are in the order in which the collection is read.

    ``reserve_percent`` of each drawer's inside stays free for growth, at the end of its reading order: the columns
    at the right, or the rows at the front. ``play_nm`` is added to each tray's width and depth, so that it lifts out.

    Half-way through a plan new drawers are ``waiting`` outside, and the trays in ``meant``, by key, stand in passing
    in another order than this one.
    """

    cabinets: tuple[Cabinet, ...]
    drawers: tuple[Drawer, ...]
    trays: tuple[Tray, ...]
    sequence: SystematicSequence = SystematicSequence()
    rooms: tuple[Room, ...] = ()
    reading_order: ReadingOrder = ReadingOrder.COLUMNS
    reserve_percent: Decimal = Decimal(0)
    play_nm: int = 0
    rates: MovingRates = MovingRates()
    waiting: tuple[Waiting, ...] = ()
    meant: tuple[str, ...] = ()

    @cached_property
    def drawers_read(self) -> tuple[Drawer, ...]:
        """The drawers that stand in a cabinet, and those that wait to do so, in reading order."""
        cabinets = {cabinet.key: at for at, cabinet in enumerate(self.cabinets)}
        standing = [drawer for drawer in self.drawers if drawer.cabinet in cabinets and drawer.position is not None]
        read = sorted(standing, key=lambda drawer: (cabinets[drawer.cabinet or ""], drawer.position or 0))
        outside = {drawer.key: drawer for drawer in self.drawers if drawer.position is None}
        for each in self.waiting:
            if each.drawer in outside:
                keys = [drawer.key for drawer in read]
                read.insert(keys.index(each.behind) + 1 if each.behind in keys else 0, outside[each.drawer])
        return tuple(read)

    @cached_property
    def trays_by_drawer(self) -> Mapping[str, tuple[Tray, ...]]:
        """What stands in each drawer, in reading order; drawers with nothing in them too."""
        standing: dict[str, list[Tray]] = {drawer.key: [] for drawer in self.drawers}
        for tray in self.trays:
            if tray.drawer is not None:
                standing[tray.drawer].append(tray)
        return {key: tuple(sorted(trays, key=lambda tray: tray.place or 0)) for key, trays in standing.items()}

    @cached_property
    def unplaced(self) -> tuple[Tray, ...]:
        return tuple(tray for tray in self.trays if tray.drawer is None)

    def trays_read(self) -> Iterator[Tray]:
        """Every tray that stands in a cabinet, in reading order."""
        for drawer in self.drawers_read:
            yield from self.trays_by_drawer[drawer.key]

    def trays_in_order(self) -> list[Tray]:
        """The same in the order to be kept: trays that are ``meant`` to be read in another one take one another's
        places."""
        read = list(self.trays_read())
        known, meant = {tray.key: tray for tray in read}, set(self.meant)
        in_order = (known[key] for key in self.meant if key in known)
        return [next(in_order) if tray.key in meant else tray for tray in read]
