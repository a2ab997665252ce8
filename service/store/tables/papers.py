"""What an institution packs with, and beside a transfer: plans of its parcels, and the papers that were printed."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    Date,
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

from service.store.tables.parts import CODE, created_at, metadata, settled_once

packing_bench = settled_once("packing_bench")

parcel_plan = Table(
    "parcel_plan",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("lender_id", Uuid),
    Column("borrower_id", Uuid),
    Column("made_by", Uuid, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("asked", JSONB, nullable=False),
    Column("plan", JSONB, nullable=False),
    created_at(),
    PrimaryKeyConstraint("transfer_id", "id", name="parcel_plan_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="parcel_plan_transfer"),
    ForeignKeyConstraint(["made_by"], ["institution.id"], name="parcel_plan_maker"),
    CheckConstraint("revision >= 1", name="parcel_plan_revision_form"),
    CheckConstraint("jsonb_typeof(asked) = 'object'", name="parcel_plan_asked_form"),
    CheckConstraint("jsonb_typeof(plan) = 'object'", name="parcel_plan_plan_form"),
    Index("parcel_plan_by_age", "transfer_id", "created_at", "id"),
)

paper = Table(
    "paper",
    metadata,
    Column("transfer_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("lender_id", Uuid),
    Column("borrower_id", Uuid),
    Column("made_by", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("check_code", CODE, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("page_size", Text, nullable=False),
    Column("printed_by", Text, nullable=False),
    Column("printed_on", Date, nullable=False),
    Column("address", Text, nullable=False),
    Column("parcel_plan_id", Uuid),
    Column("content", JSONB, nullable=False),
    created_at(),
    PrimaryKeyConstraint("transfer_id", "id", name="paper_pkey"),
    ForeignKeyConstraint(["transfer_id"], ["transfer.id"], name="paper_transfer"),
    ForeignKeyConstraint(["made_by"], ["institution.id"], name="paper_maker"),
    ForeignKeyConstraint(
        ["transfer_id", "parcel_plan_id"], ["parcel_plan.transfer_id", "parcel_plan.id"], name="paper_parcel_plan"
    ),
    CheckConstraint(
        "kind IN ('agreement', 'specimen_list', 'receipt', 'return_note', 'parcel_text', 'cites_label', 'labels')",
        name="paper_kind_known",
    ),
    CheckConstraint(
        text("check_code ~ '^([0-9A-HJKMNP-TV-Z]{4}-){4}[0-9A-HJKMNP-TV-Z]$'"), name="paper_check_code_form"
    ),
    CheckConstraint("revision >= 1", name="paper_revision_form"),
    CheckConstraint("page_size IN ('A4', 'Letter')", name="paper_page_size_known"),
    CheckConstraint("btrim(printed_by) <> ''", name="paper_printed_by_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="paper_content_form"),
    Index("paper_by_age", "transfer_id", "created_at", "id"),
    Index("paper_by_code", "check_code"),
)
