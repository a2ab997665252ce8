"""What is to travel: drawers, trays and boxes, with what decides how they are packed."""

from dataclasses import dataclass
from enum import StrEnum

from service.core.consignment import Container
from service.core.errors import Invalid
from service.core.materials import Treatment
from service.core.parcels.stock import Room


class Holds(StrEnum):
    """What is inside. Each travels in parcels of its own: glass that breaks free among pins ruins a loan."""

    PINNED = "pinned"
    """Pinned specimens."""
    DRY = "dry"
    """Unmounted and dry: in papers, envelopes, layers."""
    SLIDES = "slides"
    """Microscope slides."""
    FLUID = "fluid"
    """Vials, in a preserving liquid."""


@dataclass(frozen=True, slots=True)
class Fluid:
    """The liquid in one piece: how many vials or bags, and how much free liquid is in each at most.

    ``name`` is the liquid and ``un_number`` its number on the list of dangerous goods, as the sender states them.
    """

    inner_count: int | None = None
    millilitres_each: float | None = None
    name: str | None = None
    un_number: str | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """``count`` like things to pack. ``lines`` are the transfer's lines inside, ``outer`` one thing's outer size.

    ``mass_g`` is one thing's mass with what is in it. ``heavy_bodied``: specimens that have to be braced by pins
    beside them. ``fumigants`` are chemicals that lie in it now; ``None`` of anything is that nobody stated it.
    """

    key: str
    container: Container
    count: int
    lines: tuple[str, ...] = ()
    outer: Room | None = None
    mass_g: int | None = None
    holds: Holds | None = None
    heavy_bodied: bool | None = None
    fumigants: tuple[Treatment, ...] | None = None
    fluid: Fluid | None = None


def check_pieces(pieces: tuple[Piece, ...], lines: frozenset[str]) -> None:
    """Refuse pieces that nobody could find again.

    :raises Invalid: naming the first piece and field at fault.
    """
    seen: set[str] = set()
    for place, piece in enumerate(pieces):
        if piece.key in seen:
            raise Invalid(f"pieces.{place}.key", f"“{piece.key}” is there twice; give each piece a name of its own.")
        seen.add(piece.key)
        if strangers := sorted(set(piece.lines) - lines):
            raise Invalid(f"pieces.{place}.lines", f"The transfer has no line {', '.join(strangers)}.")
