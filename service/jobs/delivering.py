"""Calling a webhook: what is due is read, sent one after the other, and written down, until nothing is due.

No transaction is open while somebody else's server is spoken to. A worker that dies between sending and writing down
leaves messages that are sent again, under the same ids.
"""

import random
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Final
from uuid import UUID

import orjson
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service import __version__
from service.actions import webhooks as actions
from service.core.deliveries import Answered, Health, judge
from service.core.errors import NotFound
from service.core.events import Event
from service.outside.calling import Caller, NoAnswer, Refused
from service.outside.signing import signed_headers
from service.store import deliveries, webhooks
from service.store.deliveries import Due, Made
from service.store.session import open_session
from service.store.webhooks import Webhook

#: So much is sent before it is written down.
AT_ONCE: Final = 20
#: Then a webhook goes back to the end of the queue, so that one with much to hear keeps nobody waiting.
LONGEST_VISIT_S: Final = 30.0
_ASKS_FOR_PATIENCE: Final = frozenset({429, 502, 503, 504})


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True)
class Postman:
    """Who calls: by which database, by which rules of the network, by which clock."""

    engine: Engine
    caller: Caller
    now: Callable[[], datetime] = _now
    chance: Callable[[], float] = field(default=random.random)


@dataclass(frozen=True, slots=True)
class Round:
    """What is to be sent at once. ``health`` is how the receiver has been doing until now."""

    webhook: Webhook
    due: Sequence[Due]
    read_to: int
    health: Health


def visit(postman: Postman, institution_id: UUID, webhook_id: UUID, should_stop: Callable[[], bool]) -> None:
    """Send a webhook all that is due, as long as it answers well."""
    until = time.monotonic() + LONGEST_VISIT_S
    goes_on = True
    while goes_on:
        with open_session(postman.engine, institution_id) as session:
            now = _round(session, postman, institution_id, webhook_id)
            session.commit()
        if now is None:
            return
        made, read_to = _send(postman, now)
        is_over = should_stop() or time.monotonic() > until
        with open_session(postman.engine, institution_id) as session:
            goes_on = _write_down(session, postman, now.webhook, made, read_to, is_over=is_over)
            session.commit()


def _round(session: Session, postman: Postman, institution_id: UUID, webhook_id: UUID) -> Round | None:
    """What is to be sent; ``None`` when there is nothing, or nobody to send it to."""
    webhook = _called(session, institution_id, webhook_id)
    if webhook is None:
        return None
    now, progress = postman.now(), deliveries.progress(session, webhook)
    rest = progress.health.resting_until
    if rest is None or rest <= now:
        due, read_to = deliveries.due(session, webhook, progress.read_to, now, AT_ONCE)
        if due or read_to > progress.read_to:
            return Round(webhook, due, read_to, progress.health)
    # Somebody else was here meanwhile; or this clock is behind the one by which we were called.
    _come_back(session, webhook, rest, now)
    return None


def _called(session: Session, institution_id: UUID, webhook_id: UUID) -> Webhook | None:
    """The webhook, unless it was removed or disabled meanwhile."""
    try:
        webhook = webhooks.by_id(session, institution_id, webhook_id)
    except NotFound:
        return None
    return webhook if webhook.enabled else None


def _send(postman: Postman, now: Round) -> tuple[list[Made], int]:
    """Send until one fails. The attempts, and the place in the feed that was come to."""
    health, made = now.health, list[Made]()
    for due in now.due:
        one = _attempt(postman, now.webhook, due, health)
        made.append(one)
        health = one.verdict.health
        if not one.answered.is_good:
            return made, now.read_to if due.is_retry else due.event.position
    return made, now.read_to


def _attempt(postman: Postman, webhook: Webhook, due: Due, health: Health) -> Made:
    at = postman.now()
    answered = _call(postman.caller, webhook, due.event, at)
    verdict = judge(answered, due.attempts + 1, health, postman.now(), postman.chance())
    return Made(due, at, answered, verdict)


def _call(caller: Caller, webhook: Webhook, event: Event, at: datetime) -> Answered:
    body = orjson.dumps(event.as_json(), option=orjson.OPT_UTC_Z)
    signed = signed_headers(webhook.good_secrets(at), str(event.id), int(at.timestamp()), body)
    headers = {"Content-Type": "application/json", "User-Agent": f"Traybridge/{__version__}", **signed}
    begun = time.perf_counter()
    status, problem, patience = None, None, None
    try:
        answer = caller.post(webhook.url, body, headers)
        status, patience = answer.status, _retry_after(answer.status, answer.headers, at)
    except (Refused, NoAnswer) as error:
        problem = str(error)
    return Answered(status, problem, round((time.perf_counter() - begun) * 1000), patience)


def _retry_after(status: int, headers: Mapping[str, str], at: datetime) -> timedelta | None:
    """For how long the receiver asks to be left alone (RFC 9110, section 10.2.3): in seconds, or until a moment."""
    said = headers.get("retry-after", "").strip()
    if status not in _ASKS_FOR_PATIENCE or not said:
        return None
    if said.isascii() and said.isdigit():
        return timedelta(seconds=min(int(said[:9]), 10**8))
    try:
        moment = parsedate_to_datetime(said)
        return moment - at if moment.tzinfo else None
    except (ValueError, TypeError, OverflowError):
        return None


def _write_down(
    session: Session, postman: Postman, webhook: Webhook, made: Sequence[Made], read_to: int, *, is_over: bool
) -> bool:
    """Keep what came of it; whether more is due and nothing speaks against sending it now.

    A webhook that was removed meanwhile keeps nothing.
    """
    current = _called(session, webhook.institution_id, webhook.id)
    if current is None:
        return False
    deliveries.progress(session, current)
    deliveries.record(session, current, made, read_to)
    last = made[-1].verdict if made else None
    if last is not None and last.disable is not None:
        webhooks.disable(session, current, last.disable)
        return False
    now, rest = postman.now(), last.health.resting_until if last else None
    due_at = _due_at(session, current, now)
    if due_at is None:
        return False
    if due_at <= now and rest is None and not is_over:
        return True
    _come_back(session, current, rest, now)
    return False


def _due_at(session: Session, webhook: Webhook, now: datetime) -> datetime | None:
    """When something is due for the webhook: now, when the feed goes on behind its place."""
    retry_at, _, last = deliveries.left(session, webhook)
    return now if last > deliveries.progress(session, webhook).read_to else retry_at


def _come_back(session: Session, webhook: Webhook, rest: datetime | None, now: datetime) -> None:
    """Have somebody look after it as soon as something is due and its rest is over."""
    due_at = _due_at(session, webhook, now)
    if due_at is not None:
        actions.wake(session, webhook.institution_id, webhook.id, max(due_at, rest or due_at))
