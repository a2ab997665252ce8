"""Names that other databases have for things of this one.

Whoever sees a thing may name it; a name is read by whoever gave it, and those that its owner or a side of it gave by
everybody who sees the thing. One institution calls no two things of a kind by one name; lines may share theirs, since
the same lot is offered or lent more than once.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple
from uuid import UUID

from sqlalchemy import Row, bindparam, cast, delete, insert, literal, select, text, tuple_
from sqlalchemy.orm import Session

from service.core.identifiers import Identifier, Kind
from service.store.paging import Page
from service.store.tables import consignment_lot as lot_table
from service.store.tables import external_identifier as table

#: The scheme under which a lot is found by its record in the database that sent it.
RECORD = "record"


@dataclass(frozen=True, slots=True)
class Named:
    """One name of one thing. ``line`` is the key or position of a line within it, ``None`` for the whole."""

    identifier: Identifier
    kind: Kind
    thing_id: UUID
    given_by: UUID
    line: str | None = None

    @property
    def scheme(self) -> str:
        return self.identifier.scheme

    @property
    def value(self) -> str:
        return self.identifier.value


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which names to list; what is ``None`` narrows nothing."""

    scheme: str | None = None
    value: str | None = None
    kind: Kind | None = None
    thing_id: UUID | None = None


class Place(NamedTuple):
    """Where a name stands in the list of names."""

    scheme: str
    value: str
    kind: str
    thing_id: UUID
    given_by: UUID
    line: str


_ORDER = ("scheme", "value", "kind", "thing_id", "given_by", "line")
_FOUND = select(table.c.thing_id).where(
    table.c.institution_id == bindparam("me"),
    table.c.kind == bindparam("the_kind"),
    table.c.scheme == bindparam("the_scheme"),
    table.c.value == bindparam("the_value"),
    table.c.line == "",
)
_OF_THINGS = (
    select(*table.c)
    .where(table.c.thing_id.in_(bindparam("things", expanding=True)), table.c.line == "")
    .order_by(table.c.institution_id, table.c.scheme, table.c.value)
)
_OF_ONE = (
    select(*table.c)
    .where(table.c.thing_id == bindparam("thing"))
    .order_by(table.c.line, table.c.institution_id, table.c.scheme, table.c.value)
)
_CLEAR = delete(table).where(
    table.c.institution_id == bindparam("me"),
    table.c.kind == bindparam("the_kind"),
    table.c.thing_id == bindparam("thing"),
)
_CLEAR_WHOLE = _CLEAR.where(table.c.line == "")
_GIVE = insert(table)
_TAKE_TURNS = text("SELECT pg_advisory_xact_lock(hashtextextended('batch:' || CAST(:me AS text), 0))")
_NAMES = select(
    table.c.scheme, table.c.value, table.c.kind, table.c.thing_id, table.c.institution_id.label("given_by"),
    table.c.line,
)  # fmt: skip
_RECORDS = select(
    literal(RECORD).label("scheme"), lot_table.c.record.label("value"), literal(Kind.LOT.value).label("kind"),
    lot_table.c.consignment_id.label("thing_id"), lot_table.c.institution_id.label("given_by"),
    cast(lot_table.c.position, table.c.line.type).label("line"),
)  # fmt: skip


def find(session: Session, me: UUID, kind: Kind, identifier: Identifier) -> UUID | None:
    """The thing that an institution itself calls by this name."""
    asked = {"me": me, "the_kind": kind.value, "the_scheme": identifier.scheme, "the_value": identifier.value}
    return session.scalar(_FOUND, asked)


def of_things(session: Session, things: Iterable[UUID]) -> dict[UUID, tuple[Named, ...]]:
    """The names of things as wholes that the asker may read."""
    found: dict[UUID, list[Named]] = defaultdict(list)
    for row in session.execute(_OF_THINGS, {"things": list(things)}):
        found[row.thing_id].append(_named(row, row.institution_id))
    return {thing: tuple(names) for thing, names in found.items()}


def of_one(session: Session, thing_id: UUID) -> tuple[Named, ...]:
    """The names of a thing and of its lines that the asker may read."""
    return tuple(_named(row, row.institution_id) for row in session.execute(_OF_ONE, {"thing": thing_id}))


def give(
    session: Session,
    me: UUID,
    kind: Kind,
    thing_id: UUID,
    names: Sequence[Identifier],
    lines: Sequence[tuple[str, Identifier]] = (),
) -> None:
    """Let an institution's own names for a thing, and for its lines, be these and no others."""
    session.execute(_CLEAR, {"me": me, "the_kind": kind.value, "thing": thing_id})
    _write(session, me, kind, thing_id, names, lines)


def give_whole(session: Session, me: UUID, kind: Kind, thing_id: UUID, names: Sequence[Identifier]) -> None:
    """Let an institution's own names for a thing be these; what it calls the thing's lines stays."""
    session.execute(_CLEAR_WHOLE, {"me": me, "the_kind": kind.value, "thing": thing_id})
    _write(session, me, kind, thing_id, names, ())


def take_turns(session: Session, me: UUID) -> None:
    """Wait until nobody else of this institution makes things by their names, or names things: two at once could make
    the same thing twice, or one undo what the other has just said.
    """
    session.execute(_TAKE_TURNS, {"me": me})


def _write(
    session: Session,
    me: UUID,
    kind: Kind,
    thing_id: UUID,
    names: Sequence[Identifier],
    lines: Sequence[tuple[str, Identifier]],
) -> None:
    every = [("", one) for one in dict.fromkeys(names)] + list(dict.fromkeys(lines))
    rows = [
        {
            "institution_id": me,
            "kind": kind.value,
            "thing_id": thing_id,
            "line": line,
            "scheme": one.scheme,
            "value": one.value,
        }
        for line, one in every
    ]
    if rows:
        session.execute(_GIVE, rows)


def page(session: Session, wanted: Wanted, after: Place | None, limit: int) -> Page[Named, Place]:
    """Names in their order. By a record, lots are found as well."""
    conditions = [
        getattr(table.c, name) == value
        for name, value in (
            ("scheme", wanted.scheme), ("value", wanted.value), ("thing_id", wanted.thing_id),
            ("kind", wanted.kind.value if wanted.kind else None),
        )
        if value is not None
    ]  # fmt: skip
    names = _NAMES.where(*conditions)
    if wanted.scheme == RECORD and wanted.value and wanted.kind in {None, Kind.LOT} and wanted.thing_id is None:
        either = names.union_all(_RECORDS.where(lot_table.c.record == wanted.value)).subquery()
    else:
        either = names.subquery()
    columns = [either.c[name] for name in _ORDER]
    statement = select(*columns).order_by(*columns).limit(limit + 1)
    if after is not None:
        statement = statement.where(tuple_(*columns) > tuple_(*after))
    rows = session.execute(statement).all()
    shown = tuple(_named(row, row.given_by) for row in rows[:limit])
    return Page(shown, Place(*rows[limit - 1]) if len(rows) > limit else None)


def _named(row: Row[Any], given_by: UUID) -> Named:
    return Named(Identifier(row.scheme, row.value), Kind(row.kind), row.thing_id, given_by, row.line or None)
