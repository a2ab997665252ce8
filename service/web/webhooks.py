"""Webhooks: being called when something happens, after the Standard Webhooks specification."""

from dataclasses import replace
from datetime import UTC, datetime
from http import HTTPStatus
from typing import Any
from uuid import UUID

import flask

from service.actions import webhooks as actions
from service.actions.webhooks import Again
from service.core.webhooks import Wish
from service.outside.calling import Caller
from service.store import deliveries
from service.store import webhooks as store
from service.store.paging import Age
from service.store.webhooks import Webhook
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.events import EventSchema
from service.web.schemas.webhooks import (
    AttemptSchema,
    NewWebhookSchema,
    ReplayedSchema,
    ReplaySchema,
    RotationSchema,
    StandingSchema,
    WebhookChangeSchema,
    WebhookSchema,
    WebhookWithSecretSchema,
)
from service.web.transaction import transaction

webhooks = Blueprint(
    "webhooks",
    __name__,
    url_prefix="/v1/webhooks",
    description="Being called when something happens: signed after the Standard Webhooks specification, at least "
    "once, in any order, and tried again for three days.",
)
ONE = "/<uuid:webhook_id>"
_CALLER = "traybridge.caller"


def call_by(app: flask.Flask, caller: Caller) -> None:
    """Say by which rules of the network web addresses are judged when they are registered."""
    app.extensions[_CALLER] = caller


@webhooks.operation("GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(WebhookSchema))
def list_webhooks(query: dict[str, Any]) -> Reply:
    """List your webhooks, the newest first.

    Those that were disabled as well, with the reason. Secrets are shown when they are made, and never again.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        found = store.page(session, current_actor().own_institution(), page.position(Age), page.size)
    return page.answer(found)


@webhooks.operation(
    "POST", "", scope="write", body=NewWebhookSchema, returns=WebhookWithSecretSchema, creates=True,
    errors=["too-many-webhooks"],
)  # fmt: skip
def create_webhook(body: Wish) -> Reply:
    """Ask to be called when something happens from now on.

    The answer shows the secret, this once: verify each message with it by any library for Standard Webhooks. Answer
    2xx within 20 seconds; anything else is tried again, ten times in three days. Answer 410 to be called no more.
    """
    _check(body)
    with transaction() as session:
        made = actions.subscribe(session, current_actor(), body)
        return _reply(made)


@webhooks.operation("GET", ONE, scope="read", returns=WebhookSchema, conditional=True)
def get_webhook(webhook_id: UUID) -> Reply:
    """Read a webhook, without its secret.

    Whether it is disabled, and why; how it is doing is asked apart.
    """
    with transaction() as session:
        return _reply(store.by_id(session, current_actor().own_institution(), webhook_id))


@webhooks.operation("PUT", ONE, scope="write", body=WebhookChangeSchema, returns=WebhookSchema, conditional=True)
def change_webhook(webhook_id: UUID, body: Wish) -> Reply:
    """Change a webhook, or disable or enable it.

    One that is enabled again goes on where it stopped: what happened meanwhile is sent as well.
    """
    _check(body)
    with transaction() as session:
        return _reply(actions.change(session, current_actor(), webhook_id, expected_version(), body))


@webhooks.operation("DELETE", ONE, scope="write", conditional=True)
def delete_webhook(webhook_id: UUID) -> None:
    """Remove a webhook, with its log and what was still to be sent.

    Nothing is sent to it from now on. The events themselves stay in your feed.
    """
    with transaction() as session:
        actions.remove(session, current_actor(), webhook_id, expected_version())


@webhooks.operation(
    "POST", ONE + "/secret-rotation", scope="write", body=RotationSchema, returns=WebhookWithSecretSchema,
    conditional=True, status=200,
)  # fmt: skip
def rotate_webhook_secret(webhook_id: UUID, body: dict[str, int]) -> Reply:
    """Replace the secret; the answer shows the new one, this once.

    For some hours each message carries two signatures, by the new secret and by the one before it, so that a receiver
    can change over without missing one.
    """
    version, hours = expected_version(), body["overlap_hours"]
    with transaction() as session:
        return _reply(actions.rotate(session, current_actor(), webhook_id, version, hours, _now()))


@webhooks.operation(
    "POST", ONE + "/tests", scope="write", returns=EventSchema, status=202, errors=["webhook-is-disabled"]
)
def test_webhook(webhook_id: UUID) -> Reply:
    """Send a webhook an event of the type webhook.tested, to it alone.

    What came of it is in the log of attempts within a moment.
    """
    with transaction() as session:
        event = actions.test(session, current_actor(), webhook_id, _now())
    return Reply(event.as_json(), status=HTTPStatus.ACCEPTED)


@webhooks.operation(
    "GET", ONE + "/attempts", scope="read", query=paging.PageQuery, returns=paging.page_of(AttemptSchema)
)
def list_webhook_attempts(webhook_id: UUID, query: dict[str, Any]) -> Reply:
    """List every attempt to call a webhook, the latest first. They are kept for 90 days.

    Each with what the receiver answered, or why there was no answer, and when it is tried again. What the receiver
    wrote is not kept.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        webhook = store.by_id(session, current_actor().own_institution(), webhook_id)
        return page.answer(deliveries.page(session, webhook, page.position(Age), page.size))


@webhooks.operation("GET", ONE + "/standing", scope="read", returns=StandingSchema)
def get_webhook_standing(webhook_id: UUID) -> actions.Standing:
    """Ask how a webhook is doing, and what waits for it.

    How many events wait or were set aside, since when it fails, and when it is called next.
    """
    with transaction() as session:
        return actions.standing(session, current_actor(), webhook_id)


@webhooks.operation(
    "POST", ONE + "/replays", scope="write", body=ReplaySchema, returns=ReplayedSchema, status=202,
    errors=["webhook-is-disabled"],
)  # fmt: skip
def replay_webhook(webhook_id: UUID, body: Again) -> Reply:
    """Send an event again, or everything since a moment that never arrived.

    The ids are those of the first time, so that a receiver knows what it has seen. At most 10,000 at once.
    """
    with transaction() as session:
        count = actions.send_again(session, current_actor(), webhook_id, body, _now())
    return Reply({"count": count}, status=HTTPStatus.ACCEPTED)


def _now() -> datetime:
    return datetime.now(UTC)


def _check(wish: Wish) -> None:
    """Before the transaction begins, since the name behind an address may take its time."""
    actions.check_address(flask.current_app.extensions[_CALLER], wish.url)


def _reply(webhook: Webhook) -> Reply:
    is_over = webhook.former_until is not None and webhook.former_until <= _now()
    shown = replace(webhook, former_until=None) if is_over else webhook
    return Reply(shown, version=webhook.version, location=f"/v1/webhooks/{webhook.id}")
