"""What happened, as each institution is told of it; written by triggers, see ``migrations/sql/0010_events.sql``."""

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    DateTime,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    Uuid,
    text,
)

from service.store.tables.parts import CODE, metadata

event = Table(
    "event",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    # Given once it is committed, and never by the transaction that wrote the event.
    Column("position", BigInteger),
    Column("type", CODE, nullable=False),
    Column("subject_id", Uuid, nullable=False),
    Column("number", Integer),
    Column("made_by", Uuid, nullable=False),
    Column("recorded_at", DateTime(timezone=True), nullable=False, server_default=text("clock_timestamp()")),
    PrimaryKeyConstraint("institution_id", "id", name="event_pkey"),
    CheckConstraint("type ~ '^[a-z_]+[.][a-z_]+$'", name="event_type_form"),
    CheckConstraint("position >= 1", name="event_position_form"),
    Index("event_in_order", "institution_id", "position", unique=True),
    Index("event_without_place", "institution_id", "recorded_at", "id", postgresql_where=text("position IS NULL")),
)

news = Table(
    "news",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("due_at", DateTime(timezone=True), nullable=False, server_default=text("now()")),
    Index("news_by_due", "due_at"),
)
