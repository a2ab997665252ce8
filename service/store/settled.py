"""What each institution settles once for itself: one row each, and whoever has settled nothing has what is usual."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar
from uuid import UUID

from sqlalchemy import Row, Table, bindparam, select
from sqlalchemy.dialects.postgresql import insert
from sqlalchemy.orm import Session

from service.core.errors import StaleVersion
from service.store import codec
from service.store.changes import Change

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Settled(Generic[T]):
    """``version`` is 0 where nothing was settled yet; ``institution_id`` is ``None`` for a private person."""

    institution_id: UUID | None
    content: T
    version: int = 0
    updated_at: datetime | None = None


class Settling(Generic[T]):
    """The rows of one such table. ``what`` is the word for one in a sentence; ``usual()`` is what is usual."""

    def __init__(self, what: str, table: Table, usual: type[T]) -> None:
        self._what, self._usual = what, usual
        self._look = select(*table.c).where(table.c.institution_id == bindparam("the_institution"))
        self._make = insert(table).on_conflict_do_nothing().returning(*table.c)
        self._change = Change(what, table, "institution_id")

    def of(self, session: Session, institution_id: UUID | None) -> Settled[T]:
        """What an institution has settled, as far as the asker may see it."""
        row = session.execute(self._look, {"the_institution": institution_id}).one_or_none()
        return Settled(institution_id, self._usual()) if row is None else self._settled(row)

    def settle(self, session: Session, institution_id: UUID, version: int, content: T) -> Settled[T]:
        """Put one's own in place of what was settled at ``version``, 0 being nothing.

        :raises StaleVersion: when something else has been settled since.
        """
        key, written = {"institution_id": institution_id}, codec.to_json(content)
        if version:
            return self._settled(self._change.run(session, version, key, content=written))
        row = session.execute(self._make, key | {"content": written}).one_or_none()
        if row is None:
            raise StaleVersion(self._what, 0, self.of(session, institution_id).version)
        return self._settled(row)

    def _settled(self, row: Row[Any]) -> Settled[T]:
        return Settled(row.institution_id, codec.from_json(self._usual, row.content), row.version, row.updated_at)
