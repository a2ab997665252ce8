"""The directory of institutions: everybody reads it, and each institution writes its own entry."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.store.changes import Change
from service.store.paging import Page, in_order_of, rows_of
from service.store.tables import institution as table


@dataclass(frozen=True, slots=True)
class Institution:
    """``code`` is the one that the institution is known by among collections (Darwin Core ``institutionCode``)."""

    id: UUID
    code: str
    name: str
    country_code: str | None
    version: int
    created_at: datetime
    updated_at: datetime


_SELECT = select(*table.c)
_BY_ID = _SELECT.where(table.c.id == bindparam("id"))
_BY_IDS = _SELECT.where(table.c.id.in_(bindparam("ids", expanding=True)))
_BY_CODE = _SELECT.where(table.c.code == bindparam("code"))
_LIST = in_order_of(_SELECT, table.c.code)
_ENTER = insert(table).returning(*table.c)
_CHANGE = Change("institution", table, "id")


def enter(session: Session, id: UUID, code: str, name: str, country_code: str | None = None) -> Institution:  # noqa: A002
    """Enter an institution. The session is bound to the new ``id`` beforehand: nobody enters another."""
    values = {"id": id, "code": code, "name": name, "country_code": country_code}
    return _institution(session.execute(_ENTER, values).one())


def by_id(session: Session, institution_id: UUID) -> Institution:
    """:raises NotFound: when there is none."""
    return _one(session.execute(_BY_ID, {"id": institution_id}).one_or_none(), institution_id)


def by_code(session: Session, code: str) -> Institution:
    """:raises NotFound: when there is none."""
    return _one(session.execute(_BY_CODE, {"code": code}).one_or_none(), code)


def by_ids(session: Session, ids: Iterable[UUID]) -> dict[UUID, Institution]:
    """Those of the institutions that there are."""
    return {row.id: _institution(row) for row in session.execute(_BY_IDS, {"ids": list(ids)})}


def page(session: Session, after: str | None, limit: int) -> Page[Institution, str]:
    """Institutions in the order of their codes, from behind the code ``after``."""
    rows, more = rows_of(session, _LIST, None if after is None else {"after": after}, limit)
    return Page(tuple(map(_institution, rows)), rows[-1].code if more else None)


def change(session: Session, institution_id: UUID, version: int, name: str, country_code: str | None) -> Institution:
    """Change one's own entry, if it still is at ``version``."""
    row = _CHANGE.run(session, version, {"id": institution_id}, name=name, country_code=country_code)
    return _institution(row)


def _one(row: Row[Any] | None, key: object) -> Institution:
    if row is None:
        raise NotFound("institution", key)
    return _institution(row)


def _institution(row: Row[Any]) -> Institution:
    return Institution(**row._mapping)
