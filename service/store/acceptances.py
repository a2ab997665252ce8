"""What the published storage systems take: written with each publication, searched by anybody.

Here stand only revisions that hold today and are published to everybody; the database refuses others. Every search is
answered from the index of sizes: no storage system is read for it.
"""

import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import numpy as np
from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Integer,
    Row,
    Select,
    and_,
    bindparam,
    case,
    delete,
    exists,
    func,
    insert,
    select,
)
from sqlalchemy.orm import Session

from service.core.builder.acceptance import EDITION, Acceptance
from service.core.builder.box import Box, Sizes
from service.core.builder.field import Field, numbered
from service.core.builder.takers import Home, Taker
from service.core.fit.findings import Verdict
from service.store.systems import Visibility
from service.store.tables import acceptance as table
from service.store.tables import institution as institution_table
from service.store.tables import storage_system as system_table
from service.store.tables.acceptances import AXES, SIDES

#: Rows that are written in one statement.
_AT_ONCE = 500
_PACKED = struct.Struct(">16s6q")
_AS_PACKED = np.dtype([("id", [("high", ">u8"), ("low", ">u8")]), ("sides", ">i8", 6)])

_OF_SYSTEM = (table.c.institution_id == bindparam("owner")) & (table.c.system_id == bindparam("system_id"))
_WITHDRAW = delete(table).where(_OF_SYSTEM)
_WRITE = insert(table)
_BEHIND = select(system_table.c.institution_id, system_table.c.id).where(
    system_table.c.visibility == Visibility.EVERYBODY.value,
    system_table.c.published_since.is_not(None),
    ~exists().where(
        table.c.institution_id == system_table.c.institution_id,
        table.c.system_id == system_table.c.id,
        table.c.edition == EDITION,
    ),
)
_SYSTEMS = select(func.count()).where(table.c.piece == 1)


def write(session: Session, institution_id: UUID, system_id: UUID, number: int, found: Iterable[Acceptance]) -> None:
    """What a revision takes, in place of what the one before it took."""
    withdraw(session, institution_id, system_id)
    rows = rows_of(institution_id, system_id, number, found)
    for start in range(0, len(rows), _AT_ONCE):
        session.execute(_WRITE, rows[start : start + _AT_ONCE])


def rows_of(
    institution_id: UUID, system_id: UUID, number: int, found: Iterable[Acceptance]
) -> list[dict[str, object]]:
    """What a revision takes, as the table has it."""
    return [_row(institution_id, system_id, number, piece, one) for piece, one in enumerate(found, start=1)]


def withdraw(session: Session, institution_id: UUID, system_id: UUID) -> None:
    """Take away what a system takes: it is hidden, or a new revision is about to say."""
    session.execute(_WITHDRAW, {"owner": institution_id, "system_id": system_id})


def behind(session: Session) -> list[tuple[UUID, UUID]]:
    """Institution and system of all that are open to everybody and not searched by the rules of this version."""
    return [(row.institution_id, row.id) for row in session.execute(_BEHIND)]


def systems_asked(session: Session) -> int:
    """How many systems say enough to be asked."""
    return session.scalar(_SYSTEMS) or 0


def _row(institution_id: UUID, system_id: UUID, number: int, piece: int, found: Acceptance) -> dict[str, object]:
    sides = (*found.box.least, *found.box.most)
    return {
        "institution_id": institution_id,
        "system_id": system_id,
        "piece": piece,
        "revision_number": number,
        "edition": EDITION,
        "verdict": found.verdict.value,
        "into_code": found.into,
        "turned": found.turned,
        **dict(zip(SIDES, sides, strict=True)),
        "pitch_nm": found.pitch_nm,
        "free_positions": found.free_positions,
        "packed": _PACKED.pack(system_id.bytes, *sides),
    }


#: Boxes that share a size with the one from ``from_…`` to ``to_…``.
_MEETS: tuple[ColumnElement[bool], ...] = (
    table.c.verdict == bindparam("verdict"),
    *(table.c[f"most_{axis}_nm"] >= bindparam(f"from_{axis}", type_=BigInteger) for axis in AXES),
    *(table.c[f"least_{axis}_nm"] <= bindparam(f"to_{axis}", type_=BigInteger) for axis in AXES),
)


def _bound(verdict: Verdict, box: Box) -> dict[str, object]:
    named = zip(AXES, box.least, box.most, strict=True)
    sides = {f"{end}_{axis}": nm for axis, least, most in named for end, nm in (("from", least), ("to", most))}
    return {"verdict": verdict.value, **sides}


_EVERYWHERE = and_(
    *(table.c[f"least_{axis}_nm"] <= bindparam(f"from_{axis}", type_=BigInteger) for axis in AXES),
    *(table.c[f"most_{axis}_nm"] >= bindparam(f"to_{axis}", type_=BigInteger) for axis in AXES),
)
_BOXES = select(func.string_agg(table.c.packed, b"").filter(~_EVERYWHERE), func.count().filter(_EVERYWHERE)).where(
    *_MEETS
)


@dataclass(frozen=True, slots=True)
class Near:
    """The boxes near a size, as numbers to search, and the ids of the systems whose they are."""

    field: Field
    ids: "np.ndarray[Any, Any]"

    def system(self, owner: int) -> UUID:
        """The id of the system that has this number in the field."""
        high, low = (int(half) for half in self.ids[owner])
        return UUID(int=high << 64 | low)


def near(session: Session, verdict: Verdict, box: Box) -> Near:
    """The boxes that share a size with one; those that hold all of it are only counted.

    They come as one value, and in binary: a row for each would cost more than the whole search.
    """
    statement = _BOXES.compile(dialect=session.get_bind().dialect)
    connection = session.connection().connection.driver_connection
    if connection is None:
        raise RuntimeError("The session has lost its connection.")
    with connection.cursor(binary=True) as cursor:
        found = cursor.execute(str(statement), statement.construct_params(_bound(verdict, box))).fetchone()
    read = np.frombuffer(found[0] or b"", dtype=_AS_PACKED)
    owners, firsts = numbered(read["id"])
    return Near(Field(np.ascontiguousarray(read["sides"].T, dtype=np.int64), owners, found[1]), read["id"][firsts])


# A piece of a by-the-tray box has no pitch; its trays take no positions of their own.
_EACH: ColumnElement[int] = func.greatest(
    1, (bindparam("to_height", type_=BigInteger) + table.c.pitch_nm - 1) // table.c.pitch_nm, type_=BigInteger
)
_ROOM = table.c.free_positions // _EACH
_PLAY = (
    table.c.most_width_nm
    - bindparam("to_width", type_=BigInteger)
    + table.c.most_depth_nm
    - bindparam("to_depth", type_=BigInteger)
)
_HERE = select(
    table.c.institution_id,
    table.c.system_id,
    table.c.revision_number,
    table.c.verdict,
    table.c.into_code,
    table.c.turned,
    table.c.free_positions,
    case((table.c.pitch_nm.is_not(None), _EACH)).label("positions_each"),
    _ROOM.label("room_for"),
    _PLAY.label("play_nm"),
).where(*_MEETS)


def _named(rows: Select[Any], *order: ColumnElement[Any]) -> Select[Any]:
    """The rows with the names of their systems and institutions, as far as the asker may see those."""
    found = rows.cte("found")
    return (
        select(
            found,
            institution_table.c.code.label("institution_code"),
            institution_table.c.name.label("institution_name"),
            system_table.c.code.label("system_code"),
            system_table.c.name.label("system_name"),
        )
        .join_from(
            found,
            system_table,
            (system_table.c.institution_id == found.c.institution_id) & (system_table.c.id == found.c.system_id),
        )
        .join(institution_table, institution_table.c.id == found.c.institution_id)
        .order_by(*(found.c[column.name] for column in order))
    )


_THESE = _named(_HERE.where(table.c.system_id.in_(bindparam("systems", expanding=True))))


def takers(session: Session, verdict: Verdict, size: Sizes, systems: Sequence[UUID]) -> tuple[Taker, ...]:
    """Where each of these systems takes a size, in their order; those that do not are left out."""
    rows = session.execute(_THESE, _bound(verdict, Box(size, size)) | {"systems": list(systems)})
    found = {row.system_id: _taker(row) for row in rows}
    return tuple(found[system] for system in systems if system in found)


def _first(rows: Select[Any]) -> Select[Any]:
    """The first rows in the order of the index of sizes, which need not be read further than that."""
    order = (table.c.most_width_nm, table.c.most_depth_nm, table.c.system_id)
    first = rows.add_columns(*order[:2]).order_by(*order).limit(bindparam("rows", type_=Integer))
    return _named(first, *order)


_DRAWERS = table.alias("drawers")
#: Systems that take a drawer as it is need not be told of by the tray.
_BY_THE_TRAY = _first(
    _HERE.where(
        ~exists().where(
            _DRAWERS.c.institution_id == table.c.institution_id,
            _DRAWERS.c.system_id == table.c.system_id,
            _DRAWERS.c.verdict == Verdict.AS_IT_IS.value,
            *(_DRAWERS.c[f"most_{axis}_nm"] >= bindparam(f"drawer_{axis}", type_=BigInteger) for axis in AXES),
            *(_DRAWERS.c[f"least_{axis}_nm"] <= bindparam(f"drawer_{axis}", type_=BigInteger) for axis in AXES),
        )
    )
)
_LOOSE = _first(
    _HERE.where(
        *(table.c[f"least_{axis}_nm"] <= bindparam(f"near_{axis}", type_=BigInteger) for axis in AXES),
        *(table.c[f"most_{axis}_nm"] >= bindparam(f"far_{axis}", type_=BigInteger) for axis in AXES),
    )
)


def takers_by_the_tray(session: Session, drawer: Sizes, tray: Sizes, most: int) -> tuple[Taker, ...]:
    """The first who take the trays of a drawer and not the drawer itself: the narrowest of their drawers first."""
    bound = _bound(Verdict.BY_THE_TRAY, Box(tray, tray)) | _sides("drawer", drawer) | {"rows": most}
    return tuple(map(_taker, session.execute(_BY_THE_TRAY, bound)))


def takers_everywhere(session: Session, verdict: Verdict, size: Sizes, box: Box, most: int) -> tuple[Taker, ...]:
    """The first whose box holds all of another around the size: the narrowest first."""
    bound = _bound(verdict, Box(size, size)) | _sides("near", box.least) | _sides("far", box.most)
    return tuple(map(_taker, session.execute(_LOOSE, bound | {"rows": most})))


def _sides(name: str, sizes: Sizes) -> dict[str, int]:
    return {f"{name}_{axis}": nm for axis, nm in zip(AXES, sizes, strict=True)}


_OFFERS = _HERE.cte("offers")
_ROOM_IN_ALL = func.sum(_OFFERS.c.room_for)
_ENOUGH = func.coalesce(_ROOM_IN_ALL, 0) >= bindparam("wanted", type_=BigInteger)
#: First who has room for all of them, by the closest fit; then who has room for some, the most first; then the rest.
_RANKED = (
    select(_OFFERS.c.institution_id, _ROOM_IN_ALL.label("room_for"), func.count().over().label("of_all"))
    .group_by(_OFFERS.c.institution_id)
    .order_by(
        _ENOUGH.desc(),
        case((_ENOUGH, func.min(_OFFERS.c.play_nm))),
        _ROOM_IN_ALL.desc().nulls_last(),
        _OFFERS.c.institution_id,
    )
    .limit(bindparam("rows", type_=Integer))
)
_THERE = _named(
    _HERE.where(table.c.institution_id.in_(bindparam("institutions", expanding=True))),
    _HERE.selected_columns.play_nm,
    _HERE.selected_columns.system_id,
)


def homes(session: Session, size: Sizes, count: int, most: int) -> tuple[int, tuple[Home, ...]]:
    """How many institutions take drawers of a size as they are, and the first of them, ranked for ``count``."""
    here = _bound(Verdict.AS_IT_IS, Box(size, size))
    ranked = session.execute(_RANKED, here | {"wanted": count, "rows": most}).all()
    if not ranked:
        return 0, ()
    rows = session.execute(_THERE, here | {"institutions": [row.institution_id for row in ranked]})
    systems: dict[UUID, list[Taker]] = {}
    for taker in map(_taker, rows):
        systems.setdefault(taker.institution_id, []).append(taker)
    known = [(row, systems[row.institution_id]) for row in ranked if row.institution_id in systems]
    homes = tuple(Home(None if row.room_for is None else int(row.room_for), tuple(there)) for row, there in known)
    return ranked[0].of_all, homes


def _taker(row: Row[Any]) -> Taker:
    return Taker(
        institution_id=row.institution_id,
        institution_code=row.institution_code,
        institution_name=row.institution_name,
        system_id=row.system_id,
        system_code=row.system_code,
        system_name=row.system_name,
        revision_number=row.revision_number,
        verdict=Verdict(row.verdict),
        into=row.into_code,
        turned=row.turned,
        positions_each=row.positions_each,
        free_positions=row.free_positions,
        room_for=row.room_for,
    )
