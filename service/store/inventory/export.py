"""The whole inventory row by row, as people write it: in walking order, what has no place last."""

from collections.abc import Iterator
from uuid import UUID

from sqlalchemy import text
from sqlalchemy.orm import Session

from service.core.arrangement.inventory_row import InventoryRow

#: A part without anything in it has a row of its own, which is what the outer joins are for.
_ROWS = text(
    """
    SELECT r.code AS room, r.name AS room_name, c.code AS cabinet, c.name AS cabinet_name,
           c.column_count AS columns, c.positions_per_column, c.takes, c.opening_width_nm, c.pitch_nm,
           d.code AS drawer, d.position, d.positions,
           nullif(d.label, '') AS drawer_label, d.style, d.inner_width_nm, d.inner_depth_nm, d.clear_height_nm,
           d.reserve_percent, t.code AS tray, t.place, nullif(t.taxon, '') AS taxon, t.specimens, t.curation_level,
           nullif(t.label, '') AS label, t.width_nm, t.depth_nm, t.height_nm
      FROM (SELECT * FROM room WHERE institution_id = :asker) r
      FULL JOIN (SELECT * FROM cabinet WHERE institution_id = :asker) c ON c.room_id = r.id
      FULL JOIN (SELECT * FROM drawer WHERE institution_id = :asker) d ON d.cabinet_id = c.id
      FULL JOIN (SELECT * FROM tray WHERE institution_id = :asker) t ON t.drawer_id = d.id
     ORDER BY r.walk_order NULLS LAST, r.code, c.walk_order, c.code, d.position, d.code, t.place, t.code
    """
)


def rows(session: Session, institution_id: UUID) -> Iterator[InventoryRow]:
    """Every tray, and every drawer, cabinet and room that is empty."""
    for row in session.execute(_ROWS, {"asker": institution_id}):
        said = dict(row._mapping)
        reserve = said["reserve_percent"]
        said["reserve_percent"] = None if reserve is None else reserve.normalize()
        said["takes"] = tuple(said["takes"]) if said["takes"] else None
        yield InventoryRow(**said)
