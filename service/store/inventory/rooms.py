"""Rooms and cabinets, with the positions that cabinets have."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, delete, select, text
from sqlalchemy.orm import Session

from service.store.inventory.catalogue import Catalogue
from service.store.tables import cabinet as cabinet_table
from service.store.tables import cabinet_position as position_table
from service.store.tables import room as room_table


@dataclass(frozen=True, slots=True)
class KeptRoom:
    """A room. ``walk_order`` says when one comes to it; those with the same follow by their codes."""

    id: UUID
    code: str
    name: str
    walk_order: int
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class KeptCabinet:
    """A cabinet in the room with the code ``room``; positions count from the top of the left column down."""

    id: UUID
    code: str
    name: str
    room: str
    walk_order: int
    column_count: int
    positions_per_column: int
    takes: tuple[str, ...]
    opening_width_nm: int | None
    pitch_nm: int | None
    version: int
    created_at: datetime
    updated_at: datetime


def _room(row: Row[Any]) -> KeptRoom:
    return KeptRoom(**{name: getattr(row, name) for name in KeptRoom.__dataclass_fields__})


def _cabinet(row: Row[Any]) -> KeptCabinet:
    known = {name: getattr(row, name) for name in KeptCabinet.__dataclass_fields__}
    return KeptCabinet(**known | {"takes": tuple(row.takes)})


rooms = Catalogue("room", room_table, select(*room_table.c), _room)
cabinets = Catalogue(
    "cabinet",
    cabinet_table,
    select(*cabinet_table.c, room_table.c.code.label("room")).join_from(
        cabinet_table,
        room_table,
        (room_table.c.institution_id == cabinet_table.c.institution_id)
        & (room_table.c.id == cabinet_table.c.room_id),
    ),
    _cabinet,
)

_ADD_POSITIONS = text(
    "INSERT INTO cabinet_position (institution_id, cabinet_id, number)"
    " SELECT c.institution_id, c.id, number"
    " FROM cabinet c, generate_series(1, c.column_count * c.positions_per_column) AS number"
    " WHERE c.institution_id = :asker AND c.id = ANY (:cabinets) ON CONFLICT DO NOTHING"
)
_DROP_POSITIONS = delete(position_table).where(
    position_table.c.institution_id == bindparam("asker"),
    position_table.c.cabinet_id == cabinet_table.c.id,
    cabinet_table.c.institution_id == bindparam("asker"),
    cabinet_table.c.id == bindparam("the_cabinet"),
    position_table.c.number > cabinet_table.c.column_count * cabinet_table.c.positions_per_column,
)


def lay_out(session: Session, institution_id: UUID, *cabinet_ids: UUID) -> None:
    """Give cabinets the positions that they have by now.

    :raises Conflict: when a drawer is in one that is there no more.
    """
    session.execute(_ADD_POSITIONS, {"asker": institution_id, "cabinets": list(cabinet_ids)})
    for cabinet_id in cabinet_ids:
        session.execute(_DROP_POSITIONS, {"asker": institution_id, "the_cabinet": cabinet_id})
