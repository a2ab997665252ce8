"""The feed of an institution: what happened, in an order that nothing is ever put into afterwards.

Triggers write events in the transactions of what they tell of, and transactions end in any order. So an event gets
its place only when it can be seen to be committed, from whoever looks next: one looker at a time, each continuing
where the last one ended. A reader who has seen a place has been offered every place before it.
"""

from typing import Any
from uuid import UUID

from sqlalchemy import bindparam, exists, func, insert, select, text
from sqlalchemy.orm import Session

from service.core.errors import NotFound
from service.core.events import Event, EventType
from service.store.ids import new_id
from service.store.tables import event as table

_MINE = table.c.institution_id == bindparam("me")
_IS_BEHIND = select(exists().where(_MINE, table.c.position.is_(None)))
_LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:what, 0))")
_PLACE = text(
    "UPDATE event SET position = last.position + new.number"
    " FROM (SELECT coalesce(max(position), 0) AS position FROM event WHERE institution_id = :me) last,"
    " (SELECT id, row_number() OVER (ORDER BY recorded_at, id) AS number FROM event"
    "  WHERE institution_id = :me AND position IS NULL) new"
    " WHERE event.institution_id = :me AND event.id = new.id"
)
_AFTER = (
    select(*table.c)
    .where(_MINE, table.c.position > bindparam("after"))
    .order_by(table.c.position)
    .limit(bindparam("rows"))
)
_AFTER_OF_TYPES = _AFTER.where(table.c.type.in_(bindparam("types", expanding=True)))
_BY_ID = select(*table.c).where(_MINE, table.c.id == bindparam("event_id"), table.c.position.is_not(None))
_MAKE = insert(table)
_LAST = select(func.coalesce(func.max(table.c.position), 0)).where(_MINE)


def catch_up(session: Session, institution_id: UUID) -> None:
    """Give every committed event of this institution its place, unless all have theirs.

    The lock comes before the statement that looks, so that it sees what the last holder of the lock has written.
    """
    if session.scalar(_IS_BEHIND, {"me": institution_id}):
        lock(session, institution_id)
        session.execute(_PLACE, {"me": institution_id})


def lock(session: Session, institution_id: UUID) -> None:
    """Until this transaction is over nobody else gives places in this feed."""
    session.execute(_LOCK, {"what": f"events:{institution_id}"})


def after(
    session: Session, institution_id: UUID, position: int, limit: int, types: tuple[EventType, ...] = ()
) -> tuple[Event, ...]:
    """Events behind a place in the feed, of all types or of some; call :func:`catch_up` first."""
    bound: dict[str, Any] = {"me": institution_id, "after": position, "rows": limit}
    if types:
        return tuple(map(event_in, session.execute(_AFTER_OF_TYPES, bound | {"types": [one.value for one in types]})))
    return tuple(map(event_in, session.execute(_AFTER, bound)))


def by_id(session: Session, institution_id: UUID, event_id: UUID) -> Event:
    """:raises NotFound: when the institution was told of no such event."""
    row = session.execute(_BY_ID, {"me": institution_id, "event_id": event_id}).one_or_none()
    if row is None:
        raise NotFound("event", event_id)
    return event_in(row)


def make(session: Session, institution_id: UUID, kind: EventType, subject_id: UUID) -> UUID:
    """Write an event that follows from no row of a table; its id."""
    values = {
        "institution_id": institution_id,
        "id": new_id(),
        "type": kind.value,
        "subject_id": subject_id,
        "made_by": institution_id,
    }
    session.execute(_MAKE, values)
    return UUID(str(values["id"]))


def last_position(session: Session, institution_id: UUID) -> int:
    """The last place that is taken in a feed; 0 in an empty one."""
    return session.scalar(_LAST, {"me": institution_id}) or 0


def event_in(row: Any) -> Event:
    """The event in a row that has all its columns."""
    return Event(row.id, row.position, EventType(row.type), row.subject_id, row.number, row.made_by, row.recorded_at)
