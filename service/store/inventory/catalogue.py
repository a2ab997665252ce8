"""What rooms, cabinets, drawers and trays share: each has a code of its own, by which it is listed."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Generic, TypeVar
from uuid import UUID

from sqlalchemy import Row, Select, Table, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.errors import Invalid, NotFound
from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Page, in_order_of, rows_of

T = TypeVar("T")


class Catalogue(Generic[T]):
    """The rows of one table. ``shown`` selects what ``read`` makes a thing of; ``what`` is its word in a sentence."""

    def __init__(self, what: str, table: Table, shown: Select[Any], read: Callable[[Row[Any]], T]) -> None:
        self.what = what
        self._read = read
        own = shown.where(table.c.institution_id == bindparam("asker"))
        self._by_id = own.where(table.c.id == bindparam("the_id"))
        self._by_code = own.where(table.c.code == bindparam("the_code"))
        self._list = in_order_of(own, table.c.code)
        self._ids = select(table.c.code, table.c.id).where(
            table.c.institution_id == bindparam("asker"), table.c.code.in_(bindparam("codes", expanding=True))
        )
        self._make = insert(table).returning(table.c.id)
        self._change = Change(what, table, "institution_id", "id")

    def make(self, session: Session, institution_id: UUID, values: Mapping[str, object]) -> UUID:
        """A new row; its id."""
        whole = {"id": new_id(), "institution_id": institution_id, **values}
        made: UUID = session.execute(self._make, whole).scalar_one()
        return made

    def by_id(self, session: Session, institution_id: UUID, the_id: UUID) -> T:
        """:raises NotFound: when the institution has none with this id."""
        row = session.execute(self._by_id, {"asker": institution_id, "the_id": the_id}).one_or_none()
        if row is None:
            raise NotFound(self.what, the_id)
        return self._read(row)

    def by_code(self, session: Session, institution_id: UUID, code: str) -> T | None:
        """The one with this code, if there is one."""
        row = session.execute(self._by_code, {"asker": institution_id, "the_code": code}).one_or_none()
        return None if row is None else self._read(row)

    def page(self, session: Session, institution_id: UUID, after: str | None, limit: int) -> Page[T, str]:
        """One page, in the order of their codes."""
        position = None if after is None else {"after": after}
        rows, more = rows_of(session, self._list, position, limit, asker=institution_id)
        return Page(tuple(map(self._read, rows)), rows[-1].code if more else None)

    def ids(self, session: Session, institution_id: UUID, codes: Iterable[str]) -> dict[str, UUID]:
        """The ids behind some codes, of those that there are."""
        found = session.execute(self._ids, {"asker": institution_id, "codes": sorted(set(codes))})
        return {row.code: row.id for row in found}

    def id_of(self, session: Session, institution_id: UUID, field: str, code: str) -> UUID:
        """The id behind a code that somebody wrote into ``field``.

        :raises Invalid: when there is none.
        """
        found = self.ids(session, institution_id, [code]).get(code)
        if found is None:
            raise Invalid(field, f"You have no {self.what} with the code {code}.")
        return found

    def change(
        self, session: Session, institution_id: UUID, the_id: UUID, version: int, values: Mapping[str, object]
    ) -> None:
        """Change a row that is still at ``version``; raises as :meth:`Change.run` does."""
        self._change.run(session, version, {"institution_id": institution_id, "id": the_id}, **values)

    def remove(self, session: Session, institution_id: UUID, the_id: UUID, version: int) -> None:
        """Remove a row that is still at ``version`` and that nothing stands in."""
        self._change.remove(session, version, {"institution_id": institution_id, "id": the_id})
