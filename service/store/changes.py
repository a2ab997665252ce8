"""Changing a row that somebody else may be changing too."""

from collections.abc import Mapping
from typing import Any, NoReturn

from sqlalchemy import Row, Table, bindparam, delete, func, select, update
from sqlalchemy.orm import Session

from service.core.errors import NotAllowed, NotFound, StaleVersion

Key = Mapping[str, object]


class Change:
    """The change or removal of one row of ``table``, if it still is at the version that the asker read.

    ``what`` is the word for such a row in a sentence; ``key`` names the columns that tell which row is meant.
    """

    def __init__(self, what: str, table: Table, *key: str) -> None:
        self._what = what
        self._table = table
        this_row = [table.c[name] == bindparam(f"the_{name}") for name in key]
        this_version = table.c.version == bindparam("the_version")
        self._look = select(table.c.version).where(*this_row)
        self._update = (
            update(table)
            .where(*this_row, this_version)
            .values(version=table.c.version + 1, updated_at=func.now())
            .returning(*table.c)
        )
        self._delete = delete(table).where(*this_row, this_version).returning(table.c.version)

    def run(self, session: Session, version: int, key: Key, **values: object) -> Row[Any]:
        """The row as it is now, with ``values`` in it and its version one higher.

        :raises NotFound: when the asker sees no such row.
        :raises StaleVersion: when it is at another version by now.
        :raises NotAllowed: when the version is right and the row is somebody else's.
        """
        changed = session.execute(self._update, {**self._bound(version, key), **values}).one_or_none()
        if changed is None:
            self._say_why(session, version, key)
        return changed

    def remove(self, session: Session, version: int, key: Key) -> None:
        """Remove the row; raises as :meth:`run` does."""
        if session.execute(self._delete, self._bound(version, key)).one_or_none() is None:
            self._say_why(session, version, key)

    @staticmethod
    def _bound(version: int, key: Key) -> dict[str, object]:
        return {"the_version": version} | {f"the_{name}": value for name, value in key.items()}

    def _say_why(self, session: Session, version: int, key: Key) -> NoReturn:
        current = session.scalar(self._look, self._bound(version, key))
        if current is None:
            raise NotFound(self._what, next(reversed(list(key.values()))))
        if current != version:
            raise StaleVersion(self._what, version, current)
        raise NotAllowed(f"This {self._what} belongs to another institution, and only that one can change it.")
