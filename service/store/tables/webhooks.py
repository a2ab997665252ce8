"""Who wants to be called when something happens, what is still to be sent, and a log of every attempt."""

from sqlalchemy import (
    ARRAY,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    Text,
    Uuid,
    text,
)

from service.store.tables.parts import CODE, changes, metadata, moment


def _of_webhook(name: str) -> ForeignKeyConstraint:
    return ForeignKeyConstraint(
        ["institution_id", "webhook_id"], ["webhook.institution_id", "webhook.id"], name=name, ondelete="CASCADE"
    )


webhook = Table(
    "webhook",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("url", Text, nullable=False),
    Column("description", Text, nullable=False),
    Column("types", ARRAY(Text), nullable=False),
    Column("enabled", Boolean, nullable=False),
    Column("disabled_because", Text),
    Column("secret", Text, nullable=False),
    Column("former_secret", Text),
    moment("former_until"),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="webhook_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="webhook_institution"),
    CheckConstraint("length(url) BETWEEN 1 AND 2000", name="webhook_url_form"),
    CheckConstraint("length(description) <= 1000", name="webhook_description_form"),
    CheckConstraint(
        "disabled_because IN ('gone', 'failing') AND NOT enabled OR disabled_because IS NULL",
        name="webhook_disabled_form",
    ),
    CheckConstraint(
        "secret LIKE 'whsec_%' AND (former_secret IS NULL) = (former_until IS NULL)", name="webhook_secret_form"
    ),
    Index("webhook_by_age", "institution_id", "created_at", "id"),
)

webhook_progress = Table(
    "webhook_progress",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("webhook_id", Uuid, nullable=False),
    # The place in the feed up to which everything was sent, or stands in webhook_retry.
    Column("read_to", BigInteger, nullable=False),
    Column("failures", Integer, nullable=False, server_default=text("0")),
    moment("failing_since"),
    moment("resting_until"),
    Column("is_slow", Boolean, nullable=False, server_default=text("false")),
    moment("last_delivered_at"),
    # For when it was last put down in news, so that it is not put down there time and again.
    moment("wake_at"),
    PrimaryKeyConstraint("institution_id", "webhook_id", name="webhook_progress_pkey"),
    _of_webhook("webhook_progress_webhook"),
    CheckConstraint("read_to >= 0 AND failures >= 0", name="webhook_progress_counts_form"),
)

webhook_retry = Table(
    "webhook_retry",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("webhook_id", Uuid, nullable=False),
    Column("event_id", Uuid, nullable=False),
    Column("attempts", Integer, nullable=False),
    moment("due_at", nullable=False),
    PrimaryKeyConstraint("institution_id", "webhook_id", "event_id", name="webhook_retry_pkey"),
    _of_webhook("webhook_retry_webhook"),
    ForeignKeyConstraint(
        ["institution_id", "event_id"], ["event.institution_id", "event.id"], name="webhook_retry_event"
    ),
    CheckConstraint("attempts >= 0", name="webhook_retry_attempts_form"),
    Index("webhook_retry_by_due", "institution_id", "webhook_id", "due_at"),
)

webhook_attempt = Table(
    "webhook_attempt",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("webhook_id", Uuid, nullable=False),
    Column("event_id", Uuid, nullable=False),
    Column("event_type", CODE, nullable=False),
    Column("number", Integer, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("status", Integer),
    Column("problem", Text),
    Column("took_ms", Integer, nullable=False),
    moment("next_at"),
    moment("created_at", nullable=False),
    PrimaryKeyConstraint("institution_id", "id", name="webhook_attempt_pkey"),
    _of_webhook("webhook_attempt_webhook"),
    CheckConstraint("outcome IN ('delivered', 'failed', 'given_up')", name="webhook_attempt_outcome_known"),
    CheckConstraint(
        "number >= 1 AND took_ms >= 0 AND num_nonnulls(status, problem) = 1", name="webhook_attempt_told"
    ),
    Index("webhook_attempt_by_age", "institution_id", "webhook_id", "created_at", "id"),
    Index("webhook_attempt_of_event", "institution_id", "event_id", "webhook_id"),
)
