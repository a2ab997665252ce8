"""Institutions and keys, storage systems, consignments and their fit checks."""

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    Date,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import ARRAY, JSONB

from service.store.tables.parts import CODE, CODE_FORM, SHA256_FORM, changes, created_at, metadata, moment

institution = Table(
    "institution",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("name", Text, nullable=False),
    Column("country_code", CODE),
    *changes(),
    PrimaryKeyConstraint("id", name="institution_pkey"),
    UniqueConstraint("code", name="institution_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="institution_code_form"),
    CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="institution_name_form"),
    CheckConstraint("country_code ~ '^[A-Z]{2}$'", name="institution_country_code_form"),
    # Read aloud or written on a label, “amb” and “AMB” are one.
    Index("institution_code_in_any_case", text("lower(code)"), unique=True),
)

api_key = Table(
    "api_key",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("name", Text, nullable=False),
    Column("prefix", CODE, nullable=False),
    Column("secret_sha256", CODE, nullable=False),
    Column("scopes", ARRAY(Text), nullable=False),
    moment("expires_at"),
    moment("revoked_at"),
    Column("last_used_on", Date),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="api_key_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="api_key_institution"),
    UniqueConstraint("secret_sha256", name="api_key_secret_unique"),
    CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="api_key_name_form"),
    CheckConstraint(f"secret_sha256 ~ {SHA256_FORM}", name="api_key_secret_form"),
    CheckConstraint(
        "cardinality(scopes) > 0 AND scopes <@ ARRAY['read', 'write', 'admin']", name="api_key_scopes_known"
    ),
    Index("api_key_by_age", "institution_id", "created_at", "id"),
)

storage_system = Table(
    "storage_system",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("name", Text, nullable=False),
    Column("description", Text, nullable=False, server_default=text("''")),
    Column("visibility", Text, nullable=False),
    moment("published_since"),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="storage_system_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="storage_system_institution"),
    UniqueConstraint("institution_id", "code", name="storage_system_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="storage_system_code_form"),
    CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="storage_system_name_form"),
    CheckConstraint("length(description) <= 10000", name="storage_system_description_form"),
    CheckConstraint("visibility IN ('everybody', 'members', 'owner')", name="storage_system_visibility_known"),
    Index("storage_system_by_id", "id"),
    Index("storage_system_by_age", "created_at", "id"),
)

storage_system_revision = Table(
    "storage_system_revision",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("system_id", Uuid, nullable=False),
    Column("number", Integer, nullable=False),
    Column("state", Text, nullable=False),
    Column("content", JSONB, nullable=False),
    Column("content_sha256", CODE, nullable=False),
    Column("note", Text, nullable=False, server_default=text("''")),
    Column("based_on", Integer),
    moment("published_at"),
    moment("superseded_at"),
    *changes(),
    PrimaryKeyConstraint("institution_id", "system_id", "number", name="storage_system_revision_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "system_id"],
        ["storage_system.institution_id", "storage_system.id"],
        name="storage_system_revision_system",
        ondelete="CASCADE",
    ),
    ForeignKeyConstraint(
        ["institution_id", "system_id", "based_on"],
        [
            "storage_system_revision.institution_id",
            "storage_system_revision.system_id",
            "storage_system_revision.number",
        ],
        name="storage_system_revision_based_on",
    ),
    CheckConstraint("number >= 1", name="storage_system_revision_number_form"),
    CheckConstraint("state IN ('draft', 'published', 'superseded')", name="storage_system_revision_state_known"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="storage_system_revision_content_form"),
    CheckConstraint(f"content_sha256 ~ {SHA256_FORM}", name="storage_system_revision_sha256_form"),
    CheckConstraint("length(note) <= 10000", name="storage_system_revision_note_form"),
    CheckConstraint(
        "(published_at IS NULL) = (state = 'draft') AND (superseded_at IS NOT NULL) = (state = 'superseded')",
        name="storage_system_revision_moments_follow_state",
    ),
    Index(
        "storage_system_revision_one_draft",
        "institution_id",
        "system_id",
        unique=True,
        postgresql_where=text("state = 'draft'"),
    ),
    Index(
        "storage_system_revision_one_published",
        "institution_id",
        "system_id",
        unique=True,
        postgresql_where=text("state = 'published'"),
    ),
)

consignment = Table(
    "consignment",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("kind", Text, nullable=False),
    Column("sender", JSONB, nullable=False),
    Column("offered_to", ARRAY(Uuid), nullable=False, server_default=text("'{}'")),
    Column("note", Text, nullable=False, server_default=text("''")),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="consignment_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="consignment_institution"),
    UniqueConstraint("institution_id", "code", name="consignment_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="consignment_code_form"),
    CheckConstraint("kind IN ('gift', 'loan', 'exchange')", name="consignment_kind_known"),
    CheckConstraint(
        "jsonb_typeof(sender) = 'object' AND (sender ? 'institution_id') <> (sender ? 'name')",
        name="consignment_sender_form",
    ),
    CheckConstraint(
        "cardinality(offered_to) <= 200 AND array_position(offered_to, NULL) IS NULL",
        name="consignment_offered_to_form",
    ),
    CheckConstraint("length(note) <= 10000", name="consignment_note_form"),
    Index("consignment_by_id", "id"),
    Index("consignment_by_age", "institution_id", "created_at", "id"),
    Index("consignment_offered_to", "offered_to", postgresql_using="gin"),
)

consignment_line = Table(
    "consignment_line",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("consignment_id", Uuid, nullable=False),
    Column("position", Integer, nullable=False),
    Column("content", JSONB, nullable=False),
    Column("count", Integer, nullable=False),
    Column("specimens", BigInteger),
    PrimaryKeyConstraint("institution_id", "consignment_id", "position", name="consignment_line_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "consignment_id"],
        ["consignment.institution_id", "consignment.id"],
        name="consignment_line_consignment",
        ondelete="CASCADE",
    ),
    CheckConstraint("position >= 1", name="consignment_line_position_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="consignment_line_content_form"),
    CheckConstraint("count >= 1", name="consignment_line_count_form"),
    CheckConstraint("specimens >= 0", name="consignment_line_specimens_form"),
)

fit_check = Table(
    "fit_check",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    # Neither of these is a foreign key: both may belong to another institution, and a check stands alone. It holds
    # copies of all that it was made from.
    Column("consignment_id", Uuid),
    Column("storage_system_id", Uuid, nullable=False),
    Column("revision_number", Integer, nullable=False),
    Column("inputs", JSONB, nullable=False),
    Column("answer", JSONB, nullable=False),
    Column("engine", Text, nullable=False),
    created_at(),
    PrimaryKeyConstraint("institution_id", "id", name="fit_check_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="fit_check_institution"),
    CheckConstraint("revision_number >= 1", name="fit_check_revision_number_form"),
    CheckConstraint("jsonb_typeof(inputs) = 'object'", name="fit_check_inputs_form"),
    CheckConstraint("jsonb_typeof(answer) = 'object'", name="fit_check_answer_form"),
    Index("fit_check_by_age", "institution_id", "created_at", "id"),
    Index("fit_check_by_consignment", "institution_id", "consignment_id", "created_at", "id"),
)
