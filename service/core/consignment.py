"""A consignment: what somebody offers or sends, container by container.

A line stands for any number of like containers. A field that is ``None`` was not stated.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.core.identifiers import Identifier
from service.core.materials import PinMetal, PinningBottom, Treatment
from service.core.measure.dimension import Dimension, Size
from service.core.measure.movement import Sawing
from service.core.standards import Axis, SetPoint


class ConsignmentKind(StrEnum):
    """What the sender has in mind."""

    GIFT = "gift"
    """It is to stay for good."""
    LOAN = "loan"
    """It is to come back."""
    EXCHANGE = "exchange"
    """Something else is to go the other way."""


class Container(StrEnum):
    """What is counted and carried as one."""

    DRAWER = "drawer"
    UNIT_TRAY = "unit_tray"
    """A small open tray, many of which share a drawer."""
    STORAGE_BOX = "storage_box"
    """A box that stands on a shelf."""


class Closure(StrEnum):
    """How a container shuts. None of them keeps every pest out."""

    FLANGED_LID = "flanged_lid"
    """A lid on a rabbet or over an inner flange that rises above the outer wall."""
    PLAIN_LID = "plain_lid"
    CARD_BOX = "card_box"
    """A box of card."""
    OPEN = "open"


class PestSigns(StrEnum):
    """What was seen of pests."""

    NONE_SEEN = "none_seen"
    """Somebody looked, and found none."""
    OLD_DAMAGE = "old_damage"
    """Damage, and nothing alive."""
    LIVE = "live"
    """Live pests."""


@dataclass(frozen=True, slots=True)
class Pins:
    """``depth`` is how far the pins go into the bottom; ``length`` is that of the longest pin in the line."""

    length: Dimension | None = None
    depth: Dimension | None = None
    metal: PinMetal | None = None


@dataclass(frozen=True, slots=True)
class TrayLot:
    """Unit trays of one size: ``count`` in the whole line, not per drawer."""

    count: int
    outer: Size = Size()
    base: Dimension | None = None
    bottom: PinningBottom | None = None
    specimens: int | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """Like containers under one line of the offer.

    ``outer`` and ``inner`` are one container's (for a unit tray, the tray's). ``lining`` is the pinning bottom of
    the container itself. ``trays`` are the unit trays inside drawers or boxes: ``()`` says there are none,
    ``None`` that nobody said. ``specimens`` counts the whole line. ``sender_climate`` is the air in which the
    containers have come to rest. ``along_grain`` and ``sawing`` say how they are made, as a drawer standard does.
    ``identifiers`` are what the sender's database calls the line.
    """

    container: Container
    count: int
    description: str = ""
    outer: Size = Size()
    inner: Size = Size()
    base: Dimension | None = None
    lining: PinningBottom | None = None
    trays: tuple[TrayLot, ...] | None = None
    pins: Pins = Pins()
    wood: str | None = None
    treatments_used: tuple[Treatment, ...] | None = None
    closure: Closure | None = None
    pest_signs: PestSigns | None = None
    specimens: int | None = None
    taxa: str | None = None
    condition: str | None = None
    sender_climate: SetPoint | None = None
    along_grain: tuple[Axis, ...] | None = None
    sawing: Sawing | None = None
    identifiers: tuple[Identifier, ...] | None = None

    def trays_to_move(self) -> tuple[TrayLot, ...] | None:
        """The unit trays of this line, be they the containers themselves or what the containers hold."""
        if self.container is Container.UNIT_TRAY:
            return (TrayLot(self.count, self.outer, self.base, self.lining, self.specimens),)
        return self.trays
