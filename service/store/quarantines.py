"""Quarantines: the text that may change, and the logs, inspections and releases that are only ever added."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Row, Text, Uuid, any_, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.care.quarantine import Inspection, Known, Quarantine, Released
from service.core.care.temperature_log import Reading
from service.core.errors import NotFound
from service.store import codec
from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import quarantine as table
from service.store.tables import quarantine_entry as entry_table
from service.store.tables import quarantine_log as log_table


@dataclass(frozen=True, slots=True)
class Kept:
    """A quarantine as it is stored. The other side of its transfer reads it as well."""

    id: UUID
    institution_id: UUID
    code: str
    quarantine: Quarantine
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class KeptLog:
    """An uploaded log, without its readings."""

    code: str
    reading_count: int
    first_at: datetime
    last_at: datetime
    created_at: datetime


_ALL = select(*table.c)
_AGE = (table.c.created_at, table.c.id)
_BY_ID = _ALL.where(table.c.id == bindparam("the_quarantine"))
_LIST = newest_first(_ALL.where(table.c.institution_id == bindparam("owner")), *_AGE)
_OF_TRANSFER = _ALL.where(table.c.transfer_id == bindparam("the_transfer")).order_by(*_AGE)
_OF_CONSIGNMENT = _ALL.where(
    table.c.institution_id == bindparam("owner"), table.c.consignment_id == bindparam("the_consignment")
).order_by(*_AGE)
_OF_TRAYS = _ALL.where(
    table.c.institution_id == bindparam("owner"),
    table.c.content["subject"]["trays"].has_any(bindparam("trays", type_=ARRAY(Text))),
).order_by(*_AGE)
_OF_OWNER = _ALL.where(table.c.institution_id == bindparam("owner")).order_by(*_AGE)
_MAKE = insert(table).returning(*table.c)
_CHANGE = Change("quarantine", table, "institution_id", "id")

_THIS_LOG = (
    log_table.c.institution_id == bindparam("owner"),
    log_table.c.quarantine_id == bindparam("the_quarantine"),
)
_LOG_HEADS = [column for column in log_table.c if column.name != "readings"]
_LOGS = select(*_LOG_HEADS).where(*_THIS_LOG).order_by(log_table.c.first_at, log_table.c.code)
_THESE = bindparam("these", type_=ARRAY(Uuid))
_OWNERS = bindparam("owners", type_=ARRAY(Uuid))
_READINGS = select(log_table.c.quarantine_id, log_table.c.readings).where(
    log_table.c.institution_id == any_(_OWNERS), log_table.c.quarantine_id == any_(_THESE)
)
_ADD_LOG = insert(log_table).returning(*_LOG_HEADS)
_ENTRIES = (
    select(entry_table.c.quarantine_id, entry_table.c.kind, entry_table.c.content)
    .where(entry_table.c.institution_id == any_(_OWNERS), entry_table.c.quarantine_id == any_(_THESE))
    .order_by(entry_table.c.id)
)
_ADD_ENTRY = insert(entry_table)


def make(session: Session, institution_id: UUID, code: str, quarantine: Quarantine) -> Kept:
    """Write a new quarantine down."""
    values = {"id": new_id(), "institution_id": institution_id, "code": code}
    return _kept(session.execute(_MAKE, values | _says(quarantine)).one())


def change(session: Session, before: Kept, version: int, quarantine: Quarantine) -> Kept:
    """Write the text anew, if it still is at ``version``."""
    key = {"institution_id": before.institution_id, "id": before.id}
    return _kept(_CHANGE.run(session, version, key, **_says(quarantine)))


def touch(session: Session, kept: Kept) -> Kept:
    """Raise the version, because something was added beside the text."""
    return change(session, kept, kept.version, kept.quarantine)


def by_id(session: Session, quarantine_id: UUID) -> Kept:
    """:raises NotFound: when there is none that the asker may see."""
    row = session.execute(_BY_ID, {"the_quarantine": quarantine_id}).one_or_none()
    if row is None:
        raise NotFound("quarantine", quarantine_id)
    return _kept(row)


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Kept, Age]:
    """An institution's own quarantines, the newest first."""
    return page_by_age(session, _LIST, after, limit, _kept, owner=institution_id)


def of_transfer(session: Session, transfer_id: UUID) -> tuple[Kept, ...]:
    """The quarantines of either side of a transfer, the oldest first."""
    return tuple(map(_kept, session.execute(_OF_TRANSFER, {"the_transfer": transfer_id})))


def of_consignment(session: Session, institution_id: UUID, consignment_id: UUID) -> tuple[Kept, ...]:
    """An institution's quarantines of a consignment, the oldest first."""
    bound = {"owner": institution_id, "the_consignment": consignment_id}
    return tuple(map(_kept, session.execute(_OF_CONSIGNMENT, bound)))


def of_trays(session: Session, institution_id: UUID, codes: Collection[str]) -> tuple[Kept, ...]:
    """An institution's quarantines of any of these trays, the oldest first."""
    return tuple(map(_kept, session.execute(_OF_TRAYS, {"owner": institution_id, "trays": [*codes]})))


def of_owner(session: Session, institution_id: UUID) -> tuple[Kept, ...]:
    """All of an institution's quarantines, the oldest first."""
    return tuple(map(_kept, session.execute(_OF_OWNER, {"owner": institution_id})))


def known(session: Session, kept: Collection[Kept]) -> dict[UUID, Known]:
    """What was added beside the text of each quarantine, by its id: two statements, however many they are."""
    if not kept:
        return {}
    these = {"owners": [*{one.institution_id for one in kept}], "these": [one.id for one in kept]}
    found = {one.id: _Added() for one in kept}
    for quarantine_id, kind, content in session.execute(_ENTRIES, these):
        if kind == "inspection":
            found[quarantine_id].inspections.append(codec.from_json(Inspection, content))
        else:
            found[quarantine_id].releases.append(codec.from_json(Released, content))
    for quarantine_id, log in session.execute(_READINGS, these):
        found[quarantine_id].readings.extend(map(_reading, log))
    return {
        key: Known(tuple(added.readings), tuple(added.inspections), tuple(added.releases))
        for key, added in found.items()
    }


@dataclass(slots=True)
class _Added:
    readings: list[Reading] = field(default_factory=list)
    inspections: list[Inspection] = field(default_factory=list)
    releases: list[Released] = field(default_factory=list)


def logs(session: Session, kept: Kept) -> tuple[KeptLog, ...]:
    """The uploaded logs in the order of time."""
    return tuple(_log(row) for row in session.execute(_LOGS, _these(kept)))


def add_log(session: Session, kept: Kept, code: str, readings: Sequence[Reading]) -> KeptLog:
    """Keep a log for good."""
    values = _these(kept) | {
        "code": code,
        "reading_count": len(readings),
        "first_at": min(reading.at for reading in readings),
        "last_at": max(reading.at for reading in readings),
        "readings": [
            [reading.at.isoformat(), reading.core_c, reading.air_c, reading.oxygen_percent] for reading in readings
        ],
    }
    values["institution_id"], values["quarantine_id"] = values.pop("owner"), values.pop("the_quarantine")
    return _log(session.execute(_ADD_LOG, values).one())


def add_inspection(session: Session, kept: Kept, inspection: Inspection) -> None:
    _add(session, kept, "inspection", inspection)


def add_release(session: Session, kept: Kept, released: Released) -> None:
    _add(session, kept, "release", released)


def _add(session: Session, kept: Kept, kind: str, content: object) -> None:
    values = {
        "institution_id": kept.institution_id,
        "quarantine_id": kept.id,
        "id": new_id(),
        "kind": kind,
        "content": codec.to_json(content),
    }
    session.execute(_ADD_ENTRY, values)


def _these(kept: Kept) -> dict[str, Any]:
    return {"owner": kept.institution_id, "the_quarantine": kept.id}


def _says(quarantine: Quarantine) -> dict[str, object]:
    return {
        "transfer_id": quarantine.subject.transfer_id,
        "consignment_id": quarantine.subject.consignment_id,
        "content": codec.to_json(quarantine),
    }


def _reading(values: list[Any]) -> Reading:
    at, *measured = values
    return Reading(datetime.fromisoformat(at), *measured)


def _log(row: Row[Any]) -> KeptLog:
    return KeptLog(row.code, row.reading_count, row.first_at, row.last_at, row.created_at)


def _kept(row: Row[Any]) -> Kept:
    return Kept(
        row.id,
        row.institution_id,
        row.code,
        codec.from_json(Quarantine, row.content),
        row.version,
        row.created_at,
        row.updated_at,
    )
