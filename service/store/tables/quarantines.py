"""Quarantines: what was written down, what was logged, and each institution's own rules for reading it."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
)
from sqlalchemy.dialects.postgresql import JSONB

from service.store.tables.parts import CODE, CODE_FORM, changes, created_at, metadata, moment, settled_once

quarantine_rules = settled_once("quarantine_rules")

quarantine = Table(
    "quarantine",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    # Neither is a foreign key: a transfer is shared by two institutions, and a consignment may be removed.
    Column("transfer_id", Uuid),
    Column("consignment_id", Uuid),
    Column("content", JSONB, nullable=False),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="quarantine_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="quarantine_institution"),
    UniqueConstraint("institution_id", "code", name="quarantine_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="quarantine_code_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="quarantine_content_form"),
    Index("quarantine_by_id", "id"),
    Index("quarantine_by_age", "institution_id", "created_at", "id"),
    Index("quarantine_by_transfer", "transfer_id"),
    Index("quarantine_by_consignment", "institution_id", "consignment_id"),
)

quarantine_log = Table(
    "quarantine_log",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("quarantine_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("reading_count", Integer, nullable=False),
    moment("first_at", nullable=False),
    moment("last_at", nullable=False),
    # Each reading as a list: the moment, and the temperature of the core, of the air, and the oxygen.
    Column("readings", JSONB, nullable=False),
    created_at(),
    PrimaryKeyConstraint("institution_id", "quarantine_id", "code", name="quarantine_log_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "quarantine_id"],
        ["quarantine.institution_id", "quarantine.id"],
        name="quarantine_log_quarantine",
    ),
    CheckConstraint(f"code ~ {CODE_FORM}", name="quarantine_log_code_form"),
    CheckConstraint("reading_count >= 1 AND first_at <= last_at", name="quarantine_log_span_form"),
    CheckConstraint("jsonb_typeof(readings) = 'array'", name="quarantine_log_readings_form"),
)

quarantine_entry = Table(
    "quarantine_entry",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("quarantine_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("content", JSONB, nullable=False),
    created_at(),
    PrimaryKeyConstraint("institution_id", "quarantine_id", "id", name="quarantine_entry_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "quarantine_id"],
        ["quarantine.institution_id", "quarantine.id"],
        name="quarantine_entry_quarantine",
    ),
    CheckConstraint("kind IN ('inspection', 'release')", name="quarantine_entry_kind_known"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="quarantine_entry_content_form"),
)
