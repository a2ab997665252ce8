"""Writing many rooms, cabinets, drawers or trays down at once, new ones and known ones. One statement for each kind,
so that what changes places within it is never in its own way."""

from collections.abc import Iterable, Mapping
from typing import Any, Final
from uuid import UUID

import orjson
from sqlalchemy import Select, Table, TextClause, bindparam, select, text
from sqlalchemy.orm import Session

from service.store.tables import cabinet, drawer, room, tray

_NEVER_SAID = frozenset({"id", "institution_id", "code", "version", "created_at", "updated_at"})


class Many:
    """Rows of one table by their codes, each a mapping of all its columns but those that every table has."""

    def __init__(self, table: Table) -> None:
        self.columns = tuple(str(column.name) for column in table.c if column.name not in _NEVER_SAID)
        self._known: Select[Any] = (
            select(table.c.id, table.c.code, *(table.c[name] for name in self.columns))
            .where(table.c.institution_id == bindparam("asker"), table.c.code.in_(bindparam("codes", expanding=True)))
            .order_by(table.c.id)
        )
        self._write = _upsert(table.name, self.columns)

    def known(self, session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, dict[str, Any]]:
        """What is kept of those with these codes, with their ids."""
        found = session.execute(self._known, {"asker": institution_id, "codes": sorted(set(codes))})
        return {row.code: {str(name): value for name, value in row._mapping.items()} for row in found}

    def write(self, session: Session, institution_id: UUID, rows: Iterable[Mapping[str, Any]]) -> None:
        """Write rows down, each with its id and its code and all columns.

        :raises Conflict: when they cannot stand together.
        """
        whole = [{**row, "institution_id": institution_id} for row in rows]
        if whole:
            session.execute(self._write, {"rows": orjson.dumps(whole, default=str).decode()})


def _upsert(table: str, columns: Iterable[str]) -> TextClause:
    names = ", ".join(("id", "institution_id", "code", *columns))
    said = ", ".join(f"{name} = excluded.{name}" for name in columns)
    return text(
        f"INSERT INTO {table} ({names}) SELECT {names}"  # noqa: S608 - our own words
        f" FROM jsonb_populate_recordset(CAST(NULL AS {table}), CAST(:rows AS jsonb))"
        f" ON CONFLICT (institution_id, code) DO UPDATE SET {said},"
        f" version = {table}.version + 1, updated_at = now()"
    )


ROOMS: Final = Many(room)
CABINETS: Final = Many(cabinet)
DRAWERS: Final = Many(drawer)
TRAYS: Final = Many(tray)
