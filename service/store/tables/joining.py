"""What joins other databases to this one: their names for things, what changed for whom, and the lots they sent."""

from sqlalchemy import (
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
from sqlalchemy.dialects.postgresql import JSONB

from service.store.tables.parts import CODE, created_at, metadata, moment

NAMED_KINDS = ("institution", "storage_system", "consignment", "consignment_line", "transfer")
CHANGED_KINDS = ("institution", "storage_system", "consignment", "transfer")


def _among(words: tuple[str, ...]) -> str:
    return f"kind IN ({', '.join(repr(word) for word in words)})"


external_identifier = Table(
    "external_identifier",
    metadata,
    # Whose name for the thing it is. The thing itself may be another institution's.
    Column("institution_id", Uuid, nullable=False),
    Column("kind", CODE, nullable=False),
    Column("scheme", CODE, nullable=False),
    Column("value", CODE, nullable=False),
    Column("thing_id", Uuid, nullable=False),
    # A line of the thing, by its key or position; empty for the thing as a whole.
    Column("line", CODE, nullable=False, server_default=text("''")),
    created_at(),
    PrimaryKeyConstraint(
        "institution_id", "kind", "scheme", "value", "thing_id", "line", name="external_identifier_pkey"
    ),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="external_identifier_giver"),
    CheckConstraint(_among(NAMED_KINDS), name="external_identifier_kind_known"),
    CheckConstraint("scheme ~ '^[a-z][a-z0-9._-]{0,49}$'", name="external_identifier_scheme_form"),
    CheckConstraint("value <> '' AND length(value) <= 500", name="external_identifier_value_form"),
    CheckConstraint("kind <> 'institution' OR thing_id = institution_id", name="external_identifier_of_oneself"),
    Index(
        "external_identifier_names_one", "institution_id", "kind", "scheme", "value",
        unique=True, postgresql_where=text("line = ''"),
    ),
    Index(
        "external_identifier_of_one_institution", "scheme", "value",
        unique=True, postgresql_where=text("kind = 'institution'"),
    ),
    Index("external_identifier_by_value", "value", "scheme"),
    Index("external_identifier_of_thing", "thing_id", "institution_id", "line"),
)  # fmt: skip

thing_change = Table(
    "thing_change",
    metadata,
    # An institution, or one of the two that store/changes_seen.py names for everybody and for all members.
    Column("viewer_id", Uuid, nullable=False),
    Column("kind", CODE, nullable=False),
    Column("thing_id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("changed_in", BigInteger, nullable=False),
    moment("changed_at", nullable=False),
    Column("removed", Boolean, nullable=False),
    PrimaryKeyConstraint("viewer_id", "kind", "thing_id", name="thing_change_pkey"),
    CheckConstraint(_among(CHANGED_KINDS), name="thing_change_kind_known"),
    Index("thing_change_in_order", "viewer_id", "changed_in", "kind", "thing_id"),
    Index("thing_change_of_thing", "thing_id"),
)

consignment_lot = Table(
    "consignment_lot",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("consignment_id", Uuid, nullable=False),
    Column("position", Integer, nullable=False),
    Column("record", CODE, nullable=False),
    Column("content", JSONB, nullable=False),
    Column("count", Integer, nullable=False),
    Column("taxon", Text, nullable=False),
    PrimaryKeyConstraint("institution_id", "consignment_id", "position", name="consignment_lot_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "consignment_id"],
        ["consignment.institution_id", "consignment.id"],
        name="consignment_lot_consignment",
        ondelete="CASCADE",
    ),
    CheckConstraint("position >= 1", name="consignment_lot_position_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="consignment_lot_content_form"),
    CheckConstraint("count >= 1", name="consignment_lot_count_form"),
    Index("consignment_lot_by_record", "record", postgresql_where=text("record <> ''")),
)
