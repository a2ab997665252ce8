"""Webhooks, what came of each attempt to call one, and what to send again."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from service.actions.webhooks import MOST_AGAIN, MOST_OVERLAP_HOURS, Again
from service.core.deliveries import Disabled, Outcome
from service.core.events import EventType
from service.core.webhooks import Wish
from service.outside.calling import LONGEST_URL
from service.web.kit.fields import Choice, Flag, Instant, Int, List, Text, Uuid
from service.web.kit.schema import Strict, takes_back

_MOST = 2**31 - 1


class WishFields(Strict):
    url = Text(
        max_length=LONGEST_URL,
        required=True,
        metadata={"description": "https, and in the open network; judged again before each call"},
    )
    description = Text(max_length=1_000, min_length=0, metadata={"description": "what it is for, in your own words"})
    types = List(
        Choice(EventType),
        max_items=len(EventType),
        unique=True,
        metadata={"description": "only these types of events; none means all"},
    )
    enabled = Flag(metadata={"description": "left out: true"})


class NewWebhookSchema(WishFields):
    """A webhook to be."""

    makes = Wish


class WebhookSchema(WishFields):
    """Whom to call when something happens."""

    id = Uuid(required=True)
    disabled_because = Choice(
        Disabled,
        metadata={"description": "why the service itself stopped calling it; left out: it did not"},
    )
    former_until = Instant(metadata={"description": "until when the secret before this one signs as well"})
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class WebhookWithSecretSchema(WebhookSchema):
    """A webhook with its secret, which is shown this once."""

    secret = Text(max_length=100, required=True, metadata={"description": "verify each message with it"})


@takes_back(WebhookSchema)
class WebhookChangeSchema(WishFields):
    """What is wished of a webhook."""

    makes = Wish


class RotationSchema(Strict):
    """How long the secret that is replaced goes on signing beside the new one."""

    overlap_hours = Int(
        min=0,
        max=MOST_OVERLAP_HOURS,
        load_default=24,
        metadata={"description": "hours for which both secrets sign; 0: the old one stops at once"},
    )


class AttemptSchema(Strict):
    """One attempt to deliver an event. What the receiver wrote is not kept."""

    id = Uuid(required=True)
    event_id = Uuid(required=True, metadata={"description": "the event that was to be told"})
    event_type = Choice(EventType, required=True)
    number = Int(min=1, max=_MOST, required=True, metadata={"description": "1 for the first"})
    outcome = Choice(
        Outcome, required=True, metadata={"description": "failed is tried again at next_at; given_up is not"}
    )
    status = Int(min=100, max=999, metadata={"description": "what the receiver answered; 2xx is success"})
    problem = Text(max_length=2_000, metadata={"description": "why there was no answer"})
    took_ms = Int(
        min=0,
        max=_MOST,
        required=True,
        metadata={"description": "milliseconds until the receiver answered, or failed to"},
    )
    next_at = Instant(metadata={"description": "when it will be tried again; left out: it will not"})
    created_at = Instant(required=True, metadata={"description": "when it was made"})


class StandingSchema(Strict):
    """How a webhook is doing, and what waits for it."""

    behind = Int(min=0, required=True, metadata={"description": "events that were not looked at for it yet"})
    set_aside = Int(min=0, required=True, metadata={"description": "events that failed and will be tried again"})
    next_at = Instant(metadata={"description": "when the next of those is due"})
    failures = Int(min=0, max=_MOST, required=True, metadata={"description": "since it last answered well"})
    failing_since = Instant(metadata={"description": "when it last began to answer badly; left out: it answers well"})
    resting_until = Instant(metadata={"description": "it is not called before this"})
    last_delivered_at = Instant(metadata={"description": "when it last took an event; left out: never yet"})


class ReplaySchema(Strict):
    """What to send again: one event, or all that never arrived since a moment."""

    makes = Again
    event_id = Uuid(metadata={"description": "the one event to send again"})
    since = Instant(metadata={"description": "send again what was recorded from this moment on"})
    delivered_too = Flag(metadata={"description": "with since: also what did arrive"})

    @validates_schema(skip_on_field_errors=True)
    def check_that_it_is_one_of_the_two(self, data: dict[str, Any], **_: Any) -> None:
        """An event, or a moment."""
        if ("event_id" in data) == ("since" in data):
            raise ValidationError("Give either event_id or since.")


class ReplayedSchema(Strict):
    """How many events will be sent again."""

    count = Int(min=0, max=MOST_AGAIN, required=True, metadata={"description": "events that will be sent"})
