"""The whole inventory of an institution, as the arithmetic reads it: codes are its keys."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from sqlalchemy import Row, text
from sqlalchemy.orm import Session

from service.core.arrangement.inventory import (
    Cabinet,
    CurationLevel,
    Drawer,
    DrawerStyle,
    Inventory,
    Room,
    SystematicSequence,
    Tray,
)
from service.core.arrangement.order import alphabetical
from service.core.arrangement.rules import ArrangementRules
from service.store import arrangement_rules, taxon_sequences
from service.store.inventory.drawers import KeptDrawer
from service.store.inventory.trays import KeptTray

_ROOMS = text("SELECT code, name FROM room WHERE institution_id = :asker ORDER BY walk_order, code")
_CABINETS = text(
    "SELECT c.code, c.name, r.code AS room, c.positions_per_column, c.column_count, c.takes, c.opening_width_nm,"
    " c.pitch_nm FROM cabinet c JOIN room r ON r.institution_id = c.institution_id AND r.id = c.room_id"
    " WHERE c.institution_id = :asker ORDER BY r.walk_order, r.code, c.walk_order, c.code"
)
_DRAWERS = text(
    "SELECT d.code, d.label, d.style, d.inner_width_nm, d.inner_depth_nm, d.clear_height_nm, d.positions,"
    " c.code AS cabinet, d.position, d.reserve_percent"
    " FROM drawer d LEFT JOIN cabinet c ON c.institution_id = d.institution_id AND c.id = d.cabinet_id"
    " WHERE d.institution_id = :asker ORDER BY d.code"
)
_TRAYS = text(
    "SELECT t.code, t.taxon, t.width_nm, t.depth_nm, t.specimens, t.curation_level, t.label, t.height_nm,"
    " d.code AS drawer, t.place"
    " FROM tray t LEFT JOIN drawer d ON d.institution_id = t.institution_id AND d.id = t.drawer_id"
    " WHERE t.institution_id = :asker ORDER BY d.code, t.place, t.code"
)


def whole(session: Session, institution_id: UUID) -> Inventory:
    """All that stands somewhere, in the order that the institution keeps, by its rules."""
    asker = {"asker": institution_id}
    rules = arrangement_rules.of(session, institution_id).content
    trays = tuple(map(tray_of, session.execute(_TRAYS, asker)))
    return Inventory(
        cabinets=tuple(map(_cabinet, session.execute(_CABINETS, asker))),
        drawers=tuple(map(drawer_of, session.execute(_DRAWERS, asker))),
        trays=trays,
        sequence=_sequence(session, institution_id, rules, trays),
        rooms=tuple(Room(row.code, row.name) for row in session.execute(_ROOMS, asker)),
        reading_order=rules.reading_order,
        reserve_percent=rules.reserve_percent or Inventory.reserve_percent,
        play_nm=rules.play_nm,
        rates=rules.rates,
    )


def _sequence(
    session: Session, institution_id: UUID, rules: ArrangementRules, trays: Iterable[Tray]
) -> SystematicSequence:
    if rules.alphabetical:
        return alphabetical(tray.taxon for tray in trays if tray.taxon)
    return taxon_sequences.of(session, institution_id)


def _cabinet(row: Row[Any]) -> Cabinet:
    return Cabinet(
        row.code,
        row.name,
        row.room,
        row.positions_per_column,
        row.column_count,
        tuple(row.takes),
        row.opening_width_nm,
        row.pitch_nm,
    )


def drawer_of(row: Row[Any] | KeptDrawer) -> Drawer:
    """A drawer as the arithmetic reads it."""
    style = DrawerStyle(row.style, row.inner_width_nm, row.inner_depth_nm, row.clear_height_nm, row.positions)
    return Drawer(row.code, row.code, style, row.cabinet, row.position, row.reserve_percent)


def tray_of(row: Row[Any] | KeptTray) -> Tray:
    """A tray as the arithmetic reads it."""
    level = None if row.curation_level is None else CurationLevel(row.curation_level)
    return Tray(
        row.code,
        row.taxon,
        row.width_nm,
        row.depth_nm,
        row.specimens,
        level,
        row.label,
        row.height_nm,
        row.drawer,
        row.place,
    )
