"""A question for a plan of parcels, and the whole of what the plan was made from."""

from dataclasses import dataclass
from uuid import UUID

from service.core.parcels.pieces import Piece
from service.core.parcels.stock import Carrier, PackingBench


@dataclass(frozen=True, slots=True)
class ParcelQuestion:
    """``pieces`` are what is to be packed, as far as the lines do not say it; lines that they name are not asked
    again. ``carrier`` is one of the asker's own bench. Without ``storage_system_id``, trays have their sizes from the
    one system that the lender has published.
    """

    pieces: tuple[Piece, ...] = ()
    carrier: str | None = None
    storage_system_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """What a plan was made from: the question, every piece with its size, and the bench as it stood that day."""

    question: ParcelQuestion
    pieces: tuple[Piece, ...]
    bench: PackingBench
    carrier: Carrier | None = None
