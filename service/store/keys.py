"""The keys that programs come with. Only a digest of the secret is kept: a stolen table opens nothing."""

import hashlib
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Row, bindparam, func, insert, or_, select, update
from sqlalchemy.orm import Session

from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import api_key as table

#: Every secret begins so, so that it is recognised where it should not be, such as in published code.
MARK: Final = "tb_"
_PREFIX_BYTES = 4
_SECRET_BYTES = 20  # 160 bits; 128 would do


@dataclass(frozen=True, slots=True)
class Secret:
    """A new secret. ``written`` is shown once and kept nowhere; ``prefix`` is what a list of keys shows."""

    written: str = field(repr=False)
    prefix: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Key:
    """``expires_at`` and ``revoked_at`` end it; ``last_used_on`` is a day, so that use costs one write a day."""

    id: UUID
    institution_id: UUID
    name: str
    prefix: str
    scopes: tuple[str, ...]
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_on: date | None
    version: int
    created_at: datetime
    updated_at: datetime


_SHOWN = [column for column in table.c if column.name != "secret_sha256"]
_SELECT = select(*_SHOWN)
_IS_GOOD = table.c.revoked_at.is_(None) & or_(table.c.expires_at.is_(None), table.c.expires_at > func.now())
_BY_SECRET = _SELECT.where(table.c.secret_sha256 == bindparam("sha256"), _IS_GOOD)
_LIST = newest_first(_SELECT.where(table.c.institution_id == bindparam("owner")), table.c.created_at, table.c.id)
_MAKE = insert(table).returning(*_SHOWN)
_REVOKE = Change("key", table, "institution_id", "id")
_USED = (
    update(table)
    .where(
        table.c.institution_id == bindparam("owner"),
        table.c.id == bindparam("key_id"),
        table.c.last_used_on.is_distinct_from(bindparam("day")),
    )
    .values(last_used_on=bindparam("day"))
)


def new_secret() -> Secret:
    """A secret that nobody has had before."""
    prefix = secrets.token_hex(_PREFIX_BYTES)
    written = f"{MARK}{prefix}_{secrets.token_hex(_SECRET_BYTES)}"
    return Secret(written, prefix, sha256_of(written))


def sha256_of(written: str) -> str:
    """The digest under which a secret is kept. Fast on purpose: there is nothing in 160 random bits to guess."""
    return hashlib.sha256(written.encode("utf-8", "surrogatepass")).hexdigest()


def make(
    session: Session,
    institution_id: UUID,
    name: str,
    scopes: Iterable[str],
    secret: Secret,
    expires_at: datetime | None = None,
) -> Key:
    """Keep a new key of the institution that the session is bound to."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "name": name,
        "prefix": secret.prefix,
        "secret_sha256": secret.sha256,
        "scopes": sorted(set(scopes)),
        "expires_at": expires_at,
    }
    return _key(session.execute(_MAKE, values).one())


def by_secret(session: Session, sha256: str) -> Key | None:
    """The key that this digest belongs to, unless it was revoked or has expired. For a key session."""
    row = session.execute(_BY_SECRET, {"sha256": sha256}).one_or_none()
    return None if row is None else _key(row)


def mark_used(session: Session, key: Key, day: date) -> None:
    """Note that the key was used on ``day``; only the first use of a day writes anything."""
    if key.last_used_on != day:
        session.execute(_USED, {"owner": key.institution_id, "key_id": key.id, "day": day})


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Key, Age]:
    """An institution's keys, the newest first."""
    return page_by_age(session, _LIST, after, limit, _key, owner=institution_id)


def revoke(session: Session, institution_id: UUID, key_id: UUID, version: int, at: datetime) -> Key:
    """End a key at once."""
    row = _REVOKE.run(session, version, {"institution_id": institution_id, "id": key_id}, revoked_at=at)
    return _key(row)


def _key(row: Row[Any]) -> Key:
    known = {column.name: getattr(row, column.name) for column in _SHOWN}
    return Key(**(known | {"scopes": tuple(known["scopes"])}))
