"""Webhooks: asking to be called, and who is to be called now."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.errors import Conflict, Invalid
from service.core.events import Event, EventType
from service.core.webhooks import Wish
from service.outside.calling import Caller, Refused
from service.outside.signing import new_secret
from service.store import deliveries, events, news, queue, webhooks
from service.store.webhooks import Webhook

MOST_WEBHOOKS: Final = 20
#: So much is sent again at one request; ask again for the rest.
MOST_AGAIN: Final = 10_000
MOST_OVERLAP_HOURS: Final = 7 * 24


@dataclass(frozen=True, slots=True)
class Again:
    """What to send again: one event, or what was recorded since a moment, of which ``delivered_too``."""

    event_id: UUID | None = None
    since: datetime | None = None
    delivered_too: bool = False


@dataclass(frozen=True, slots=True)
class Standing:
    """How a webhook is doing. ``behind`` counts events at the end of the feed that were not yet looked at for it."""

    behind: int
    set_aside: int
    next_at: datetime | None
    failures: int
    failing_since: datetime | None
    resting_until: datetime | None
    last_delivered_at: datetime | None


def check_address(caller: Caller, url: str) -> None:
    """Judge a web address as each call will judge it again. It asks for the addresses behind a name.

    :raises Invalid: when this service would not call there.
    """
    try:
        caller.target(url)
    except Refused as refused:
        raise Invalid("url", str(refused)) from refused


def subscribe(session: Session, actor: Actor, wish: Wish) -> Webhook:
    """A webhook that is called for whatever happens from now on.

    :raises Conflict: when the institution has as many as it may.
    """
    me = actor.own_institution()
    events.lock(session, me)
    if webhooks.count(session, me) >= MOST_WEBHOOKS:
        raise Conflict("too_many_webhooks", f"You have {MOST_WEBHOOKS} webhooks already; remove one first.")
    events.catch_up(session, me)
    return webhooks.make(session, me, wish, new_secret(), events.last_position(session, me))


def change(session: Session, actor: Actor, webhook_id: UUID, version: int, wish: Wish) -> Webhook:
    """Change what is wished. One that is enabled again goes on where it stopped."""
    me = actor.own_institution()
    before = webhooks.by_id(session, me, webhook_id)
    changed = webhooks.change(session, before, version, wish)
    if changed.enabled and (not before.enabled or changed.url != before.url):
        deliveries.end_rest(session, changed)
        news.note(session, me)
    return changed


def remove(session: Session, actor: Actor, webhook_id: UUID, version: int) -> None:
    """Remove a webhook, with its log."""
    webhooks.remove(session, webhooks.by_id(session, actor.own_institution(), webhook_id), version)


def rotate(
    session: Session, actor: Actor, webhook_id: UUID, version: int, overlap_hours: int, now: datetime
) -> Webhook:
    """Sign with a new secret, and for some hours with the one before it as well."""
    webhook = webhooks.by_id(session, actor.own_institution(), webhook_id)
    return webhooks.change_secret(
        session, webhook, version, new_secret(), former_until=now + timedelta(hours=overlap_hours)
    )


def test(session: Session, actor: Actor, webhook_id: UUID, now: datetime) -> Event:
    """Send a webhook an event of its own, at once.

    :raises Conflict: when it is disabled.
    """
    me = actor.own_institution()
    webhook = _enabled(session, me, webhook_id)
    event_id = events.make(session, me, EventType.WEBHOOK_TESTED, webhook.id)
    events.catch_up(session, me)
    deliveries.end_rest(session, webhook)
    deliveries.set_aside(session, webhook, event_id, 0, now)
    return events.by_id(session, me, event_id)


def send_again(session: Session, actor: Actor, webhook_id: UUID, again: Again, now: datetime) -> int:
    """Have events sent again; how many. A receiver knows them by their ids.

    :raises NotFound: when there is no such event.
    :raises Conflict: when the webhook is disabled.
    """
    me = actor.own_institution()
    webhook = _enabled(session, me, webhook_id)
    if again.event_id is not None:
        deliveries.set_aside(session, webhook, events.by_id(session, me, again.event_id).id, 0, now)
        count = 1
    else:
        since = again.since or webhook.created_at
        count = deliveries.again(session, webhook, since, delivered_too=again.delivered_too, most=MOST_AGAIN)
    deliveries.end_rest(session, webhook)
    news.note(session, me)
    return count


def standing(session: Session, actor: Actor, webhook_id: UUID) -> Standing:
    """How a webhook is doing, and what waits for it."""
    me = actor.own_institution()
    webhook = webhooks.by_id(session, me, webhook_id)
    events.catch_up(session, me)
    progress = deliveries.progress(session, webhook)
    retry_at, set_aside, last = deliveries.left(session, webhook)
    health = progress.health
    return Standing(
        behind=max(0, last - progress.read_to),
        set_aside=set_aside,
        next_at=retry_at,
        failures=health.failures,
        failing_since=health.failing_since,
        resting_until=health.resting_until,
        last_delivered_at=progress.last_delivered_at,
    )


def call_on(session: Session, institution_id: UUID) -> None:
    """Give the institution's events their places, and have each webhook called that something is due for.

    One hand at a time does this for an institution, so that no webhook is put into the queue twice.
    """
    events.lock(session, institution_id)
    events.catch_up(session, institution_id)
    waiting = deliveries.waiting(session, institution_id)
    for each in waiting:
        if each.resting_until is not None:
            wake(session, institution_id, each.webhook_id, each.resting_until)
    awake = [each for each in waiting if each.resting_until is None]
    queued = queue.visits_queued(session, [each.webhook_id for each in awake])
    for each in awake:
        deliveries.note_wake(session, institution_id, each.webhook_id, None)
        if each.webhook_id not in queued:
            queue.put_visit(session, institution_id, each.webhook_id, is_slow=each.is_slow)


def wake(session: Session, institution_id: UUID, webhook_id: UUID, at: datetime) -> None:
    """Have somebody look after a webhook at a moment, unless that is arranged already."""
    if deliveries.note_wake(session, institution_id, webhook_id, at):
        news.note(session, institution_id, at)


def _enabled(session: Session, me: UUID, webhook_id: UUID) -> Webhook:
    webhook = webhooks.by_id(session, me, webhook_id)
    if not webhook.enabled:
        raise Conflict("webhook_is_disabled", "This webhook is disabled; enable it first.")
    return webhook
