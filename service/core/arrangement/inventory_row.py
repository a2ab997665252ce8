"""One row of an inventory as people write it: a tray, the drawer that it stands in, its cabinet and its room.

A row may also tell of a drawer that is empty, or of a cabinet or a room without any. ``None`` is left as it is.
"""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class InventoryRow:
    """``room``, ``cabinet``, ``drawer`` and ``tray`` are codes; what stands behind each says more of the same thing.

    ``place`` counts the trays of a drawer in reading order; without one a tray that comes into a drawer follows
    what is there.
    """

    room: str | None = None
    room_name: str | None = None
    cabinet: str | None = None
    cabinet_name: str | None = None
    columns: int | None = None
    positions_per_column: int | None = None
    takes: tuple[str, ...] | None = None
    opening_width_nm: int | None = None
    pitch_nm: int | None = None
    drawer: str | None = None
    position: int | None = None
    positions: int | None = None
    drawer_label: str | None = None
    style: str | None = None
    inner_width_nm: int | None = None
    inner_depth_nm: int | None = None
    clear_height_nm: int | None = None
    reserve_percent: Decimal | None = None
    tray: str | None = None
    place: int | None = None
    taxon: str | None = None
    specimens: int | None = None
    curation_level: int | None = None
    label: str | None = None
    width_nm: int | None = None
    depth_nm: int | None = None
    height_nm: int | None = None
