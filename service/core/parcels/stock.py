"""What an institution packs with: its inner boxes and cartons, its carriers, and how it pads."""

from dataclasses import dataclass

from service.core.errors import Invalid
from service.core.handbook.figures import figure


@dataclass(frozen=True, slots=True, order=True)
class Room:
    """Three lengths in nanometres: side to side, front to back, and floor to lid with the right side up."""

    width_nm: int
    depth_nm: int
    height_nm: int

    @property
    def volume_nm3(self) -> int:
        return self.width_nm * self.depth_nm * self.height_nm

    def grown(self, by_nm: int) -> "Room":
        """The same with ``by_nm`` more on every one of its six sides; less where it is below zero."""
        return Room(self.width_nm + 2 * by_nm, self.depth_nm + 2 * by_nm, self.height_nm + 2 * by_nm)

    def holds(self, other: "Room") -> bool:
        """Whether the other fits in upright, either way round."""
        return self.height_nm >= other.height_nm and (
            (self.width_nm >= other.width_nm and self.depth_nm >= other.depth_nm)
            or (self.width_nm >= other.depth_nm and self.depth_nm >= other.width_nm)
        )


@dataclass(frozen=True, slots=True)
class StockBox:
    """A box or carton of which there are ``count``, or as many as one likes where that is ``None``.

    ``inner`` is the free room with the lid on. ``mass_g`` is the empty box.
    """

    code: str
    name: str
    inner: Room
    outer: Room
    mass_g: int | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Carrier:
    """Who takes parcels, and on what terms: all of it the carrier's own tariff, as the institution wrote it down.

    A parcel is charged by the larger of its mass and its volume divided by ``divisor_cm3_per_kg``, rounded up to
    whole steps of ``step_g``. ``girth_and_length_nm`` limits the longest side and the girth around it together.
    """

    code: str
    name: str
    divisor_cm3_per_kg: int | None = None
    step_g: int | None = None
    most_mass_g: int | None = None
    longest_side_nm: int | None = None
    girth_and_length_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Contact:
    """Who is written to or rung up about a parcel. ``address`` is line by line, as on the parcel."""

    name: str = ""
    address: tuple[str, ...] = ()
    telephone: str | None = None
    email: str | None = None
    eori: str | None = None
    """The number that the customs of the European Union know a sender or receiver by."""


@dataclass(frozen=True, slots=True)
class PackingBench:
    """What an institution packs with. ``padding_g_per_l`` is what a litre of its padding weighs.

    ``checked_edition`` names the edition of the dangerous goods regulations that the institution itself has read.
    ``tariff_code`` is the customs code of preserved specimens where it is.
    """

    inner_boxes: tuple[StockBox, ...] = ()
    cartons: tuple[StockBox, ...] = ()
    carriers: tuple[Carrier, ...] = ()
    padding_nm: int | None = None
    padding_g_per_l: int | None = None
    checked_edition: str | None = None
    contact: Contact = Contact()
    tariff_code: str | None = None

    def __post_init__(self) -> None:
        if self.padding_nm is not None and self.padding_nm < least_padding_nm():
            least = figure("transit.padding_least")
            sentence = f"At least {least.nm / 1e6:g} mm of padding go on every side ({least.source})."
            raise Invalid("padding_mm", sentence)
        for field, boxes in (("inner_boxes", self.inner_boxes), ("cartons", self.cartons)):
            _check_boxes(field, boxes)
        _check_codes("carriers", [carrier.code for carrier in self.carriers])

    @property
    def padding(self) -> int:
        """Padding on every side, in nm: what the institution states, and never less than the published figure."""
        return self.padding_nm or least_padding_nm()

    def carrier(self, code: str) -> Carrier | None:
        return next((carrier for carrier in self.carriers if carrier.code == code), None)


def least_padding_nm() -> int:
    """The published padding on every side."""
    return figure("transit.padding_least").nm


def _check_boxes(field: str, boxes: tuple[StockBox, ...]) -> None:
    _check_codes(field, [box.code for box in boxes])
    for place, box in enumerate(boxes):
        if min(_sides(box.inner)) <= 0 or any(
            o < i for i, o in zip(_sides(box.inner), _sides(box.outer), strict=True)
        ):
            raise Invalid(f"{field}.{place}.outer", f"“{box.code}” is smaller outside than inside.")


def _sides(room: Room) -> tuple[int, int, int]:
    return (room.width_nm, room.depth_nm, room.height_nm)


def _check_codes(field: str, codes: list[str]) -> None:
    for place, code in enumerate(codes):
        if code in codes[:place]:
            raise Invalid(f"{field}.{place}.code", f"“{code}” is there twice; give each a code of its own.")
