"""What a plan of parcels says."""

from dataclasses import dataclass

from service.core.parcels.pieces import Holds
from service.core.parcels.stock import Room
from service.core.transfers.notices import Notice


@dataclass(frozen=True, slots=True)
class Placed:
    """One thing in its place: its left front lower corner from that of the room it lies in, in nm, and its size as
    it lies. ``piece`` and ``number`` say which of how many; ``inner_box`` is the number of an inner box instead.
    """

    x_nm: int
    y_nm: int
    z_nm: int
    size: Room
    piece: str | None = None
    number: int | None = None
    inner_box: int | None = None


@dataclass(frozen=True, slots=True)
class InnerBox:
    """A lidded box with unit trays on its floor, one layer. ``code`` is the stock's; ``None`` is one to make.

    ``card_width_nm`` and ``card_depth_nm`` are the card that holds the heads down.
    """

    number: int
    code: str | None
    holds: Holds
    inner: Room
    outer: Room
    trays: tuple[Placed, ...]
    card_width_nm: int
    card_depth_nm: int
    braced: bool | None
    known_mass_g: int
    mass_unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Faces:
    """The padding on each side of what lies in a carton, in nm."""

    left_nm: int
    right_nm: int
    front_nm: int
    back_nm: int
    below_nm: int
    above_nm: int

    @property
    def least_nm(self) -> int:
        return min(self.left_nm, self.right_nm, self.front_nm, self.back_nm, self.below_nm, self.above_nm)


@dataclass(frozen=True, slots=True)
class Parcel:
    """An outer carton with what lies in it, bound together where it is more than one thing.

    ``known_mass_g`` counts what is known; ``mass_unknown`` says what is not. ``volumetric_g`` is by the carrier's
    divisor. ``chargeable_g`` is at least that much where a mass is unknown, and ``None`` without a divisor.
    """

    number: int
    code: str | None
    holds: Holds
    inner: Room
    outer: Room
    placed: tuple[Placed, ...]
    padding: Faces
    known_mass_g: int
    mass_unknown: tuple[str, ...]
    volumetric_g: int | None
    chargeable_g: int | None

    @property
    def is_bound(self) -> bool:
        return len(self.placed) > 1


@dataclass(frozen=True, slots=True)
class NotPacked:
    """A piece that the plan leaves out, and the fact that is missing."""

    piece: str
    why: str


@dataclass(frozen=True, slots=True)
class ParcelPlan:
    """``at_least`` is a number of parcels below which nothing holds what is packed, by volume and by mass."""

    parcels: tuple[Parcel, ...]
    inner_boxes: tuple[InnerBox, ...]
    instructions: tuple[str, ...]
    notices: tuple[Notice, ...]
    left_out: tuple[NotPacked, ...]
    at_least: int
    padding_nm: int
    carrier: str | None = None
