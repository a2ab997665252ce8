"""Who takes a size: what is told of a published storage system, for everybody to read."""

from dataclasses import dataclass
from uuid import UUID

from service.core.fit.findings import Verdict


@dataclass(frozen=True, slots=True)
class Taker:
    """One storage system that takes a size, and where.

    ``into`` is the code of its cabinet, or by the tray of its drawer. ``room_for`` is how many such drawers its free
    positions hold. What is ``None`` was not published.
    """

    institution_id: UUID
    institution_code: str
    institution_name: str
    system_id: UUID
    system_code: str
    system_name: str
    revision_number: int
    verdict: Verdict
    into: str
    turned: bool
    positions_each: int | None = None
    free_positions: int | None = None
    room_for: int | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """How many systems take a size, and the first of them: those that leave it the least play."""

    total: int
    takers: tuple[Taker, ...]


@dataclass(frozen=True, slots=True)
class Home:
    """One institution that takes drawers of a size. ``room_for``: how many, in positions known to be free."""

    room_for: int | None
    systems: tuple[Taker, ...]
