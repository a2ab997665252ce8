"""A storage system: what one institution's cabinets take, its drawers hold and its rooms allow.

These are the contents of one revision. A field that is ``None`` is not known; no rule may read it as fine.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from service.core.materials import Bottom, PinningBottom, Treatment
from service.core.measure.dimension import Dimension, Size
from service.core.measure.movement import Sawing


class Support(StrEnum):
    """What carries a drawer inside its cabinet."""

    SIDE_RUNNERS = "side_runners"
    """Runners on the side walls."""
    SHELF = "shelf"
    """A shelf under the whole drawer."""


class Axis(StrEnum):
    """A direction of a drawer."""

    WIDTH = "width"
    """Side to side along the front."""
    DEPTH = "depth"
    """Front to back."""
    HEIGHT = "height"


class Doorway(StrEnum):
    """What stands in front of the drawer positions."""

    NO_DOOR = "no_door"
    CLEARS_OPENING = "clears_opening"
    """The open door leaves the whole width and height of the positions free."""
    NARROWER = "narrower"
    """Hinges, a post or a frame leave less than the positions have: see the door's own width and height."""


@dataclass(frozen=True, slots=True)
class Cabinet:
    """One kind of cabinet and how many of it there are.

    ``opening`` is the clear space of one column of positions: between the side walls, from the front edge to the
    back, and from the lowest runner to the top. ``made_for`` names the drawer standard that the runners were set
    for; where the opening was never measured, that drawer's outer size stands in for it. ``runner_ledge`` is how
    far a runner stands out from the wall. ``material`` is what the case is made of.
    """

    code: str
    name: str
    count: int
    columns: int = 1
    opening: Size = Size()
    pitch: Dimension | None = None
    positions_per_column: int | None = None
    support: Support | None = None
    runner_ledge: Dimension | None = None
    runners_removable: bool | None = None
    doorway: Doorway | None = None
    door_width: Dimension | None = None
    door_height: Dimension | None = None
    made_for: str | None = None
    free_positions: int | None = None
    material: str | None = None


@dataclass(frozen=True, slots=True)
class DrawerStandard:
    """A drawer that the institution uses. ``inner.height`` is from the bare floor to the underside of the lid.

    ``along_grain`` are the outer dimensions that run along the grain of their boards, ``sawing`` how the boards were
    cut whose width is one.
    """

    code: str
    name: str
    outer: Size = Size()
    inner: Size = Size()
    lining: PinningBottom | None = None
    wood: str | None = None
    along_grain: tuple[Axis, ...] | None = None
    style: str | None = None
    sawing: Sawing | None = None


@dataclass(frozen=True, slots=True)
class TrayStandard:
    """One size of unit tray. ``base`` is the thickness of its board under the pinning bottom."""

    code: str
    name: str
    outer: Size = Size()
    inner: Size = Size()
    base: Dimension | None = None
    bottom: PinningBottom | None = None


@dataclass(frozen=True, slots=True)
class TraySeries:
    """Sizes of unit tray that were made to divide a drawer between them.

    ``play_nm`` is added to each side of a tray, so that it lifts out without moving its neighbours.
    ``may_turn`` says whether a tray may lie with its label to the side.
    """

    code: str
    name: str
    trays: tuple[TrayStandard, ...]
    play_nm: int | None = None
    may_turn: bool = False


@dataclass(frozen=True, slots=True)
class BoxShelf:
    """Room for storage boxes: the clear space of one shelf, and how many boxes it still takes, if known."""

    code: str
    name: str
    clear: Size = Size()
    free_places: int | None = None


class Ruling(StrEnum):
    """What is known of a bottom under a treatment."""

    OK = "ok"
    """The bottom bears it."""
    CAUTION = "caution"
    """It bears it on a condition."""
    INCOMPATIBLE = "incompatible"
    """The treatment attacks the bottom."""
    UNKNOWN = "unknown"
    """Nothing was found on it, which is never the same as fine."""


@dataclass(frozen=True, slots=True)
class OwnFinding:
    """An institution's own experience of a bottom under a treatment, which for its own checks comes first."""

    bottom: Bottom
    treatment: Treatment
    ruling: Ruling
    note: str


@dataclass(frozen=True, slots=True)
class MaterialsPolicy:
    """What may come in, and what it will be treated with. ``accepted_bottoms`` of ``None``: no policy stated."""

    accepted_bottoms: tuple[Bottom, ...] | None = None
    treatments: tuple[Treatment, ...] | None = None
    own_findings: tuple[OwnFinding, ...] = ()
    quarantine: str | None = None


@dataclass(frozen=True, slots=True)
class SetPoint:
    """Room air: at one end of the year's swing, in one month, or where something has come to rest."""

    temperature_c: float
    relative_humidity_percent: float
    month: int | None = None


@dataclass(frozen=True, slots=True)
class RoomClimate:
    """The year in a room. ``monthly`` are twelve values, January first, and go before the two ends."""

    driest: SetPoint | None = None
    dampest: SetPoint | None = None
    monthly: tuple[SetPoint, ...] | None = None


@dataclass(frozen=True, slots=True)
class CostRates:
    """What housing costs this institution, in its own currency and at its own pace. Absent is unknown."""

    currency: str | None = None
    drawer: Decimal | None = None
    tray: Decimal | None = None
    bottom_sheet_per_m2: Decimal | None = None
    cabinet_position: Decimal | None = None
    person_hour: Decimal | None = None
    drawers_placed_per_h: Decimal | None = None
    trays_moved_per_h: Decimal | None = None
    specimens_moved_per_h: Decimal | None = None
    specimens_per_drawer: Decimal | None = None


@dataclass(frozen=True, slots=True)
class StorageSystem:
    """The contents of one revision of one institution's storage system."""

    cabinets: tuple[Cabinet, ...] = ()
    drawers: tuple[DrawerStandard, ...] = ()
    tray_series: tuple[TraySeries, ...] = ()
    box_shelves: tuple[BoxShelf, ...] = ()
    materials: MaterialsPolicy = MaterialsPolicy()
    climate: RoomClimate = RoomClimate()
    growth_reserve_percent: Decimal | None = None
    lid_air_gap_nm: int | None = None
    rates: CostRates = CostRates()

    def drawer(self, code: str) -> DrawerStandard | None:
        return next((drawer for drawer in self.drawers if drawer.code == code), None)
