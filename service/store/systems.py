"""Storage systems and their revisions.

Which rows there are for whom is decided by row-level security: an institution sees all of its own, and of others'
what their visibility allows, drafts never.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, func, insert, select
from sqlalchemy.orm import Session

from service.core.errors import Conflict, NotFound
from service.core.standards import StorageSystem
from service.store import codec
from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Age, Page, in_order_of, newest_first, page_by_age, rows_of
from service.store.tables import storage_system as system_table
from service.store.tables import storage_system_revision as revision_table


class Visibility(StrEnum):
    """Who may see a storage system, once a revision of it was published."""

    EVERYBODY = "everybody"
    """Without a key as well."""
    MEMBERS = "members"
    """Every institution of this service."""
    OWNER = "owner"


class State(StrEnum):
    """How far a revision is."""

    DRAFT = "draft"
    """Its owner may still change it, and nobody else sees it."""
    PUBLISHED = "published"
    """It holds today, and never changes."""
    SUPERSEDED = "superseded"
    """A later revision holds in its place."""


@dataclass(frozen=True, slots=True)
class System:
    """A storage system's cover sheet; what it says is in its revisions. ``published_since``: the first of them."""

    id: UUID
    institution_id: UUID
    code: str
    name: str
    description: str
    visibility: Visibility
    published_since: datetime | None
    version: int
    created_at: datetime
    updated_at: datetime


@dataclass(frozen=True, slots=True)
class Revision:
    """One revision of a storage system. ``content_sha256`` is over the canonical JSON of ``content``."""

    institution_id: UUID
    system_id: UUID
    number: int
    state: State
    content: StorageSystem
    content_sha256: str
    note: str
    based_on: int | None
    published_at: datetime | None
    superseded_at: datetime | None
    version: int
    created_at: datetime
    updated_at: datetime


_SYSTEMS = select(*system_table.c)
_BY_ID = _SYSTEMS.where(system_table.c.id == bindparam("system_id"))
_LOCKED = _BY_ID.with_for_update()
_BY_CODE = _SYSTEMS.where(
    system_table.c.institution_id == bindparam("owner"), system_table.c.code == bindparam("code")
)
_AGE = (system_table.c.created_at, system_table.c.id)
_LIST = newest_first(_SYSTEMS, *_AGE)
_LIST_OF_OWNER = newest_first(_SYSTEMS.where(system_table.c.institution_id == bindparam("owner")), *_AGE)
_MAKE = insert(system_table).returning(*system_table.c)
_CHANGE = Change("storage system", system_table, "institution_id", "id")

_REVISIONS = select(*revision_table.c).where(
    revision_table.c.institution_id == bindparam("owner"), revision_table.c.system_id == bindparam("system_id")
)
_BY_NUMBER = _REVISIONS.where(revision_table.c.number == bindparam("number"))
_BY_STATE = _REVISIONS.where(revision_table.c.state == bindparam("state"))
_LIST_OF_REVISIONS = in_order_of(_REVISIONS, revision_table.c.number)
_LAST_NUMBER = _REVISIONS.with_only_columns(func.max(revision_table.c.number))
_BEGIN = insert(revision_table).returning(*revision_table.c)
_REVISE = Change("revision", revision_table, "institution_id", "system_id", "number")
_PUBLISHED = newest_first(
    select(*system_table.c, *(column.label(f"revision_{column.name}") for column in revision_table.c)).join_from(
        system_table,
        revision_table,
        (revision_table.c.institution_id == system_table.c.institution_id)
        & (revision_table.c.system_id == system_table.c.id)
        & (revision_table.c.state == State.PUBLISHED.value),
    ),
    *_AGE,
)


def make(
    session: Session, institution_id: UUID, code: str, name: str, description: str, visibility: Visibility
) -> System:
    """A new storage system without revisions."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "code": code,
        "name": name,
        "description": description,
        "visibility": visibility.value,
    }
    return _system(session.execute(_MAKE, values).one())


def by_id(session: Session, system_id: UUID) -> System:
    """:raises NotFound: when there is none that the asker may see."""
    return _found_system(session.execute(_BY_ID, {"system_id": system_id}).one_or_none(), system_id)


def by_code(session: Session, institution_id: UUID, code: str) -> System:
    """:raises NotFound: when that institution has none of this code that the asker may see."""
    return _found_system(session.execute(_BY_CODE, {"owner": institution_id, "code": code}).one_or_none(), code)


def locked(session: Session, system_id: UUID) -> System:
    """One's own storage system, which nobody else changes until this transaction is over.

    :raises NotFound: when there is none, or it is another institution's.
    """
    return _found_system(session.execute(_LOCKED, {"system_id": system_id}).one_or_none(), system_id)


def page(session: Session, after: Age | None, limit: int, institution_id: UUID | None = None) -> Page[System, Age]:
    """Storage systems that the asker may see, of all institutions or of one, the newest first."""
    if institution_id is None:
        return page_by_age(session, _LIST, after, limit, _system)
    return page_by_age(session, _LIST_OF_OWNER, after, limit, _system, owner=institution_id)


def change(
    session: Session, system: System, version: int, name: str, description: str, visibility: Visibility
) -> System:
    """Change the cover sheet, if it still is at ``version``."""
    row = _CHANGE.run(session, version, _key(system), name=name, description=description, visibility=visibility.value)
    return _system(row)


def remove(session: Session, system: System, version: int) -> None:
    """Remove a storage system of which nothing was ever published; a conflict tells that something was."""
    _CHANGE.remove(session, version, _key(system))


def revision(session: Session, system: System, number: int) -> Revision:
    """:raises NotFound: when there is none of this number that the asker may see."""
    row = session.execute(_BY_NUMBER, _of(system) | {"number": number}).one_or_none()
    if row is None:
        raise NotFound(f"revision of the storage system {system.code} with the number", number)
    return _revision(row)


def in_state(session: Session, system: System, state: State) -> Revision | None:
    """The draft or the published revision, if there is one. Of superseded ones there may be many: see the list."""
    row = session.execute(_BY_STATE, _of(system) | {"state": state.value}).one_or_none()
    return None if row is None else _revision(row)


def revisions(session: Session, system: System, after: int | None, limit: int) -> Page[Revision, int]:
    """A storage system's revisions that the asker may see, the oldest first."""
    at = None if after is None else {"after": after}
    rows, more = rows_of(session, _LIST_OF_REVISIONS, at, limit, **_of(system))
    return Page(tuple(map(_revision, rows)), rows[-1].number if more else None)


def begin_draft(
    session: Session, system: System, content: StorageSystem, note: str = "", based_on: int | None = None
) -> Revision:
    """Begin the next revision. A conflict tells that there is a draft already."""
    mine = locked(session, system.id)
    last = session.scalar(_LAST_NUMBER, _of(mine)) or 0
    values = {
        "institution_id": mine.institution_id,
        "system_id": mine.id,
        "number": last + 1,
        "state": State.DRAFT.value,
        "based_on": based_on,
    }
    return _revision(session.execute(_BEGIN, values | _says(content, note)).one())


def revise_draft(session: Session, draft: Revision, version: int, content: StorageSystem, note: str) -> Revision:
    """Write a draft anew, if it still is at ``version``. A conflict tells that it was published meanwhile."""
    return _revision(_REVISE.run(session, version, _revision_key(draft), **_says(content, note)))


def discard_draft(session: Session, draft: Revision, version: int) -> None:
    """Throw a draft away, if it still is at ``version``."""
    _REVISE.remove(session, version, _revision_key(draft))


def publish(session: Session, draft: Revision, version: int, at: datetime) -> Revision:
    """Publish a draft, and so supersede what was published until now.

    :raises StaleVersion: when the draft was changed since it was read at ``version``.
    """
    system = locked(session, draft.system_id)
    before = in_state(session, system, State.PUBLISHED)
    if before is not None and before.number == draft.number:
        raise Conflict("already_published", f"Revision {draft.number} of {system.code} is published already.")
    if before is not None:
        _REVISE.run(session, before.version, _revision_key(before), state=State.SUPERSEDED.value, superseded_at=at)
    now = _REVISE.run(session, version, _revision_key(draft), state=State.PUBLISHED.value, published_at=at)
    if system.published_since is None:
        _CHANGE.run(session, system.version, _key(system), published_since=at)
    return _revision(now)


def published(session: Session, after: Age | None, limit: int) -> Page[tuple[System, Revision], Age]:
    """Every storage system that the asker may see, with the revision that holds today, the newest system first."""
    return page_by_age(session, _PUBLISHED, after, limit, _system_and_revision)


def each_published(session: Session, at_once: int = 500) -> Iterator[tuple[System, Revision]]:
    """All of :func:`published`, read a page at a time."""
    after: Age | None = None
    while True:
        read = published(session, after, at_once)
        yield from read.items
        if read.next is None:
            return
        after = read.next


def _says(content: StorageSystem, note: str) -> dict[str, object]:
    return {"content": codec.to_json(content), "content_sha256": codec.sha256(content), "note": note}


def _key(system: System) -> dict[str, object]:
    return {"institution_id": system.institution_id, "id": system.id}


def _of(system: System) -> dict[str, object]:
    return {"owner": system.institution_id, "system_id": system.id}


def _revision_key(revision: Revision) -> dict[str, object]:
    return {
        "institution_id": revision.institution_id,
        "system_id": revision.system_id,
        "number": revision.number,
    }


def _found_system(row: Row[Any] | None, key: object) -> System:
    if row is None:
        raise NotFound("storage system", key)
    return _system(row)


def _system(row: Row[Any]) -> System:
    known = {column.name: getattr(row, column.name) for column in system_table.c}
    return System(**(known | {"visibility": Visibility(known["visibility"])}))


def _revision(row: Row[Any], prefix: str = "") -> Revision:
    known = {column.name: getattr(row, prefix + column.name) for column in revision_table.c}
    read = {"state": State(known["state"]), "content": codec.from_json(StorageSystem, known["content"])}
    return Revision(**(known | read))


def _system_and_revision(row: Row[Any]) -> tuple[System, Revision]:
    return _system(row), _revision(row, "revision_")
