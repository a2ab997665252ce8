"""Consignments and their lines. The owner writes them; institutions that they are offered to read them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, delete, insert, select
from sqlalchemy.orm import Session

from service.core.consignment import ConsignmentKind, Line
from service.core.errors import NotFound
from service.core.identifiers import Kind as NamedKind
from service.store import codec, identifiers
from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import consignment as table
from service.store.tables import consignment_line as line_table


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends: an institution of this service, or somebody else by name. One of the two."""

    institution_id: UUID | None = None
    name: str | None = None


@dataclass(frozen=True, slots=True)
class Consignment:
    """A consignment's cover sheet. ``institution_id`` owns it; those in ``offered_to`` may read it."""

    id: UUID
    institution_id: UUID
    code: str
    kind: ConsignmentKind
    sender: Sender
    offered_to: tuple[UUID, ...]
    note: str
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class Cover:
    """What the owner says of a consignment, apart from its lines."""

    kind: ConsignmentKind
    sender: Sender
    offered_to: tuple[UUID, ...] = ()
    note: str = ""


_SELECT = select(*table.c)
_AGE = (table.c.created_at, table.c.id)
_BY_ID = _SELECT.where(table.c.id == bindparam("consignment_id"))
_LIST_OF_OWNER = newest_first(_SELECT.where(table.c.institution_id == bindparam("owner")), *_AGE)
_LIST_OFFERED = newest_first(
    _SELECT.where(table.c.offered_to.contains(bindparam("to", type_=table.c.offered_to.type))), *_AGE
)
_MAKE = insert(table).returning(*table.c)
_CHANGE = Change("consignment", table, "institution_id", "id")

_THESE_LINES = (
    line_table.c.institution_id == bindparam("owner"),
    line_table.c.consignment_id == bindparam("the_consignment"),
)
_LINES = select(line_table.c.content).where(*_THESE_LINES).order_by(line_table.c.position)
_CLEAR = delete(line_table).where(*_THESE_LINES)
_WRITE_LINES = insert(line_table)


def make(session: Session, institution_id: UUID, code: str, cover: Cover, lines: Sequence[Line] = ()) -> Consignment:
    """A new consignment with its lines."""
    values = {"id": new_id(), "institution_id": institution_id, "code": code}
    made = _consignment(session.execute(_MAKE, values | _says(cover)).one())
    _write_lines(session, made, lines)
    return made


def by_id(session: Session, consignment_id: UUID) -> Consignment:
    """:raises NotFound: when there is none that the asker may see."""
    row = session.execute(_BY_ID, {"consignment_id": consignment_id}).one_or_none()
    if row is None:
        raise NotFound("consignment", consignment_id)
    return _consignment(row)


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Consignment, Age]:
    """An institution's own consignments, the newest first."""
    return page_by_age(session, _LIST_OF_OWNER, after, limit, _consignment, owner=institution_id)


def page_offered(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Consignment, Age]:
    """Consignments that others offer to the institution, the newest first."""
    return page_by_age(session, _LIST_OFFERED, after, limit, _consignment, to=[institution_id])


def lines(session: Session, consignment: Consignment) -> tuple[Line, ...]:
    """The lines in their order."""
    stored = session.scalars(_LINES, _these(consignment))
    return tuple(codec.from_json(Line, content) for content in stored)


def change(
    session: Session, consignment: Consignment, version: int, cover: Cover, lines: Sequence[Line] | None = None
) -> Consignment:
    """Change the cover sheet, if the consignment still is at ``version``; ``lines``, when given, replace all."""
    changed = _consignment(_CHANGE.run(session, version, _key(consignment), **_says(cover)))
    if lines is not None:
        session.execute(_CLEAR, _these(consignment))
        _write_lines(session, consignment, lines)
    return changed


def touch(session: Session, consignment: Consignment, version: int) -> Consignment:
    """Count a change of what a consignment is made of, if it still is at ``version``."""
    return _consignment(_CHANGE.run(session, version, _key(consignment)))


def remove(session: Session, consignment: Consignment, version: int) -> None:
    """Remove a consignment and its lines. Fit checks of it stay: they hold copies."""
    _CHANGE.remove(session, version, _key(consignment))


def _write_lines(session: Session, consignment: Consignment, lines: Sequence[Line]) -> None:
    rows = [
        {
            "institution_id": consignment.institution_id,
            "consignment_id": consignment.id,
            "position": position,
            "content": codec.to_json(line),
            "count": line.count,
            "specimens": line.specimens,
        }
        for position, line in enumerate(lines, start=1)
    ]
    if rows:
        session.execute(_WRITE_LINES, rows)
    names = [(str(position), one) for position, line in enumerate(lines, start=1) for one in line.identifiers or ()]
    identifiers.give(session, consignment.institution_id, NamedKind.CONSIGNMENT_LINE, consignment.id, (), names)


def _says(cover: Cover) -> dict[str, object]:
    return {
        "kind": cover.kind.value,
        "sender": codec.to_json(cover.sender),
        "offered_to": list(dict.fromkeys(cover.offered_to)),
        "note": cover.note,
    }


def _key(consignment: Consignment) -> dict[str, object]:
    return {"institution_id": consignment.institution_id, "id": consignment.id}


def _these(consignment: Consignment) -> dict[str, object]:
    return {"owner": consignment.institution_id, "the_consignment": consignment.id}


def _consignment(row: Row[Any]) -> Consignment:
    known = {column.name: getattr(row, column.name) for column in table.c}
    read = {
        "kind": ConsignmentKind(known["kind"]),
        "sender": codec.from_json(Sender, known["sender"]),
        "offered_to": tuple(known["offered_to"]),
    }
    return Consignment(**(known | read))
