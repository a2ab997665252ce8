"""What is still to be sent to a webhook, and what came of each attempt.

Everything behind a webhook's place in the feed is still to be sent; what failed is set aside with its own time.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select, text
from sqlalchemy.orm import Session

from service.core.deliveries import Answered, Health, Outcome, Verdict
from service.core.events import Event, EventType
from service.store import events
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import event as event_table
from service.store.tables import webhook_attempt as attempt_table
from service.store.tables import webhook_progress as progress_table
from service.store.tables import webhook_retry as retry_table
from service.store.webhooks import Webhook


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a webhook has come. ``last_delivered_at`` is when it last answered well."""

    read_to: int
    health: Health
    last_delivered_at: datetime | None


@dataclass(frozen=True, slots=True)
class Due:
    """A message to send now. ``attempts`` were made before; ``is_retry``: it was set aside earlier."""

    event: Event
    attempts: int
    is_retry: bool


@dataclass(frozen=True, slots=True)
class Made:
    """An attempt at a message, and what follows from it."""

    due: Due
    at: datetime
    answered: Answered
    verdict: Verdict

    @property
    def number(self) -> int:
        return self.due.attempts + 1


@dataclass(frozen=True, slots=True)
class Attempt:
    """An attempt as the log has it."""

    id: UUID
    event_id: UUID
    event_type: EventType
    number: int
    outcome: Outcome
    status: int | None
    problem: str | None
    took_ms: int
    next_at: datetime | None
    created_at: datetime


_OF = (progress_table.c.institution_id == bindparam("me"), progress_table.c.webhook_id == bindparam("hook"))
_PROGRESS = select(*progress_table.c).where(*_OF).with_for_update()
_RETRIES = (
    select(*event_table.c, retry_table.c.attempts)
    .join_from(
        retry_table,
        event_table,
        (event_table.c.institution_id == retry_table.c.institution_id) & (event_table.c.id == retry_table.c.event_id),
    )
    .where(
        retry_table.c.institution_id == bindparam("me"),
        retry_table.c.webhook_id == bindparam("hook"),
        retry_table.c.due_at <= bindparam("now"),
    )
    .order_by(retry_table.c.due_at, event_table.c.position)
    .limit(bindparam("rows"))
)
_SET_ASIDE = text(
    "INSERT INTO webhook_retry (institution_id, webhook_id, event_id, attempts, due_at)"
    " VALUES (:me, :hook, :event, :attempts, :due_at) ON CONFLICT (institution_id, webhook_id, event_id)"
    " DO UPDATE SET attempts = EXCLUDED.attempts, due_at = EXCLUDED.due_at"
)
_DONE = text("DELETE FROM webhook_retry WHERE institution_id = :me AND webhook_id = :hook AND event_id = :event")
_AGAIN = text(
    "INSERT INTO webhook_retry (institution_id, webhook_id, event_id, attempts, due_at)"
    " SELECT e.institution_id, :hook, e.id, 0, now() FROM event e"
    " WHERE e.institution_id = :me AND e.position <= :read_to AND e.recorded_at >= :since"
    " AND e.type <> 'webhook.tested' AND (:any_type OR e.type = ANY (:types))"
    " AND (:delivered_too OR NOT EXISTS (SELECT FROM webhook_attempt a WHERE a.institution_id = e.institution_id"
    " AND a.event_id = e.id AND a.webhook_id = :hook AND a.outcome = 'delivered'))"
    " ORDER BY e.position LIMIT :most"
    " ON CONFLICT (institution_id, webhook_id, event_id) DO UPDATE SET attempts = 0, due_at = EXCLUDED.due_at"
    " RETURNING event_id"
)
_SAVE = text(
    "UPDATE webhook_progress SET read_to = greatest(read_to, :read_to), failures = :failures,"
    " failing_since = :failing_since, resting_until = :resting_until, is_slow = :is_slow,"
    " last_delivered_at = coalesce(:last_delivered_at, last_delivered_at)"
    " WHERE institution_id = :me AND webhook_id = :hook"
)
_SAVE_PLACE = text(
    "UPDATE webhook_progress SET read_to = greatest(read_to, :read_to)"
    " WHERE institution_id = :me AND webhook_id = :hook"
)
_WAKES = text(
    "UPDATE webhook_progress SET wake_at = :at"
    " WHERE institution_id = :me AND webhook_id = :hook AND wake_at IS DISTINCT FROM :at RETURNING wake_at"
)
_REST_IS_OVER = text(
    "UPDATE webhook_progress SET failures = 0, failing_since = NULL, resting_until = NULL, wake_at = NULL"
    " WHERE institution_id = :me AND webhook_id = :hook"
)
_LEFT = text(
    "SELECT (SELECT min(due_at) FROM webhook_retry r WHERE r.institution_id = p.institution_id"
    "        AND r.webhook_id = p.webhook_id) AS retry_at,"
    " (SELECT count(*) FROM webhook_retry r WHERE r.institution_id = p.institution_id"
    "  AND r.webhook_id = p.webhook_id) AS retries,"
    " (SELECT max(e.position) FROM event e WHERE e.institution_id = p.institution_id) AS last"
    " FROM webhook_progress p WHERE p.institution_id = :me AND p.webhook_id = :hook"
)
_WAITING = text(
    "SELECT w.id, p.is_slow, CASE WHEN p.resting_until > now() THEN p.resting_until END AS resting_until"
    " FROM webhook w JOIN webhook_progress p ON p.institution_id = w.institution_id AND p.webhook_id = w.id"
    " WHERE w.institution_id = :me AND w.enabled"
    " AND (EXISTS (SELECT FROM webhook_retry r WHERE r.institution_id = w.institution_id AND r.webhook_id = w.id"
    "              AND r.due_at <= now())"
    "      OR EXISTS (SELECT FROM event e WHERE e.institution_id = w.institution_id AND e.position > p.read_to))"
)
_LOG = insert(attempt_table)
_LIST = newest_first(
    select(*attempt_table.c).where(
        attempt_table.c.institution_id == bindparam("me"), attempt_table.c.webhook_id == bindparam("hook")
    ),
    attempt_table.c.created_at,
    attempt_table.c.id,
)
_FORGET = text(
    "DELETE FROM webhook_attempt WHERE institution_id = :me AND created_at < now() - interval '90 days' RETURNING id"
)


@dataclass(frozen=True, slots=True)
class Waiting:
    """A webhook that something is due for. ``resting_until``: it is to be left alone until then."""

    webhook_id: UUID
    is_slow: bool
    resting_until: datetime | None


def waiting(session: Session, institution_id: UUID) -> list[Waiting]:
    """The institution's webhooks that something is due for."""
    return [Waiting(*row) for row in session.execute(_WAITING, {"me": institution_id})]


def progress(session: Session, webhook: Webhook) -> Progress:
    """How far a webhook has come. Until this transaction is over nobody else changes it."""
    row = session.execute(_PROGRESS, _of(webhook)).one()
    health = Health(row.failures, row.failing_since, row.resting_until, row.is_slow)
    return Progress(row.read_to, health, row.last_delivered_at)


def due(session: Session, webhook: Webhook, read_to: int, now: datetime, limit: int) -> tuple[list[Due], int]:
    """What to send now, and the place in the feed that this reads on to.

    What is new comes first: a message that its receiver cannot digest must not be the first of every round.
    """
    bound = _of(webhook) | {"now": now, "rows": limit}
    retries = [Due(events.event_in(row), row.attempts, True) for row in session.execute(_RETRIES, bound)]
    new = events.after(session, webhook.institution_id, read_to, limit)
    wanted = [Due(event, 0, False) for event in new if _goes_to_all(event) and webhook.wants(event.type)]
    return wanted + retries, new[-1].position if new else read_to


def _goes_to_all(event: Event) -> bool:
    """A test is for one webhook alone, and set aside for it."""
    return event.type is not EventType.WEBHOOK_TESTED


def set_aside(session: Session, webhook: Webhook, event_id: UUID, attempts: int, due_at: datetime) -> None:
    """Have one event sent at a time of its own."""
    bound = {"event": event_id, "attempts": attempts, "due_at": due_at}
    session.execute(_SET_ASIDE, _of(webhook) | bound)


def again(session: Session, webhook: Webhook, since: datetime, *, delivered_too: bool, most: int) -> int:
    """Have what was recorded since a moment sent again, or what of it never arrived; how many events that are."""
    bound = {
        "read_to": progress(session, webhook).read_to,
        "since": since,
        "any_type": not webhook.types,
        "types": [one.value for one in webhook.types],
        "delivered_too": delivered_too,
        "most": most,
    }
    return len(session.execute(_AGAIN, _of(webhook) | bound).all())


def record(session: Session, webhook: Webhook, made: Sequence[Made], read_to: int) -> None:
    """Keep what came of some attempts, the last of which says how the webhook is doing."""
    if not made:
        session.execute(_SAVE_PLACE, _of(webhook) | {"read_to": read_to})
        return
    session.execute(_LOG, [_logged(webhook, one) for one in made])
    for one in made:
        if one.verdict.next_at is not None:
            set_aside(session, webhook, one.due.event.id, one.number, one.verdict.next_at)
        elif one.due.is_retry:
            session.execute(_DONE, _of(webhook) | {"event": one.due.event.id})
    arrived = [one.at for one in made if one.verdict.outcome is Outcome.DELIVERED]
    _save(session, webhook, made[-1].verdict.health, read_to, max(arrived, default=None))


def _save(session: Session, webhook: Webhook, health: Health, read_to: int, arrived_at: datetime | None) -> None:
    bound = {
        "read_to": read_to,
        "failures": health.failures,
        "failing_since": health.failing_since,
        "resting_until": health.resting_until,
        "is_slow": health.is_slow,
        "last_delivered_at": arrived_at,
    }
    session.execute(_SAVE, _of(webhook) | bound)


def end_rest(session: Session, webhook: Webhook) -> None:
    """Call it again at once, as if it had never failed."""
    session.execute(_REST_IS_OVER, _of(webhook))


def note_wake(session: Session, institution_id: UUID, webhook_id: UUID, at: datetime | None) -> bool:
    """Remember for when it is put down in news, or that it no longer is; whether this is new."""
    bound = {"me": institution_id, "hook": webhook_id, "at": at}
    return session.execute(_WAKES, bound).one_or_none() is not None


def left(session: Session, webhook: Webhook) -> tuple[datetime | None, int, int]:
    """When the next of what was set aside is due, how much that is, and the last place of the feed."""
    row = session.execute(_LEFT, _of(webhook)).one()
    return row.retry_at, row.retries, row.last or 0


def page(session: Session, webhook: Webhook, after: Age | None, limit: int) -> Page[Attempt, Age]:
    """The log of attempts, the latest first."""
    return page_by_age(session, _LIST, after, limit, _attempt, **_of(webhook))


def forget_old(session: Session, institution_id: UUID) -> int:
    """Throw away what is older than ninety days in the institution's logs; how much there was."""
    return len(session.execute(_FORGET, {"me": institution_id}).all())


def _of(webhook: Webhook) -> dict[str, Any]:
    return {"me": webhook.institution_id, "hook": webhook.id}


def _logged(webhook: Webhook, made: Made) -> dict[str, object]:
    return {
        "institution_id": webhook.institution_id,
        "id": new_id(),
        "webhook_id": webhook.id,
        "event_id": made.due.event.id,
        "event_type": made.due.event.type.value,
        "number": made.number,
        "outcome": made.verdict.outcome.value,
        "status": made.answered.status,
        "problem": made.answered.problem,
        "took_ms": made.answered.took_ms,
        "next_at": made.verdict.next_at,
        "created_at": made.at,
    }


def _attempt(row: Row[Any]) -> Attempt:
    known = {name: getattr(row, name) for name in Attempt.__dataclass_fields__}
    return Attempt(**(known | {"event_type": EventType(row.event_type), "outcome": Outcome(row.outcome)}))
