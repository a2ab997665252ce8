"""The order that an institution keeps, its plans to get there, and how far each plan has been carried out."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    DateTime,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB

from service.store.tables.parts import changes, metadata, settled_once

#: What the institution has set: reading order, reserve, rates. Of the sequence only when it was last uploaded.
arrangement_rules = settled_once("arrangement_rules")

taxon_sequence = Table(
    "taxon_sequence",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("position", Integer, nullable=False),
    Column("family", Text, nullable=False, server_default=text("''")),
    Column("genus", Text, nullable=False, server_default=text("''")),
    Column("species", Text, nullable=False, server_default=text("''")),
    PrimaryKeyConstraint("institution_id", "position", name="taxon_sequence_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="taxon_sequence_institution"),
    UniqueConstraint("institution_id", "family", "genus", "species", name="taxon_sequence_once"),
    CheckConstraint("position >= 1", name="taxon_sequence_position_form"),
    CheckConstraint(
        "length(family) <= 100 AND length(genus) <= 100 AND length(species) <= 100"
        " AND family || genus || species <> ''",
        name="taxon_sequence_names_form",
    ),
)

arrangement_plan = Table(
    "arrangement_plan",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    # What was asked, where all stood, and every alternative: copies, so that a plan stands alone.
    Column("question", JSONB, nullable=False),
    Column("content", JSONB, nullable=False),
    Column("chosen", SmallInteger, nullable=False, server_default=text("1")),
    Column("alternatives", SmallInteger, nullable=False),
    Column("step_count", Integer, nullable=False),
    Column("done_count", Integer, nullable=False, server_default=text("0")),
    Column("replaced_by", Uuid),
    Column("carried_out_at", DateTime(timezone=True)),
    Column("engine", Text, nullable=False),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="arrangement_plan_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="arrangement_plan_institution"),
    ForeignKeyConstraint(
        ["institution_id", "replaced_by"],
        ["arrangement_plan.institution_id", "arrangement_plan.id"],
        name="arrangement_plan_replaced_by",
    ),
    CheckConstraint("jsonb_typeof(question) = 'object'", name="arrangement_plan_question_form"),
    CheckConstraint("jsonb_typeof(content) = 'object'", name="arrangement_plan_content_form"),
    CheckConstraint("chosen BETWEEN 1 AND alternatives", name="arrangement_plan_choice_form"),
    CheckConstraint("done_count BETWEEN 0 AND step_count", name="arrangement_plan_done_form"),
    Index("arrangement_plan_by_age", "institution_id", "created_at", "id"),
)

arrangement_step = Table(
    "arrangement_step",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("plan_id", Uuid, nullable=False),
    Column("number", Integer, nullable=False),
    Column("done_by", Text, nullable=False),
    Column("done_at", DateTime(timezone=True), nullable=False, server_default=text("now()")),
    PrimaryKeyConstraint("institution_id", "plan_id", "number", name="arrangement_step_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "plan_id"],
        ["arrangement_plan.institution_id", "arrangement_plan.id"],
        name="arrangement_step_plan",
    ),
    CheckConstraint("number >= 1", name="arrangement_step_number_form"),
    CheckConstraint("btrim(done_by) <> '' AND length(done_by) <= 200", name="arrangement_step_person_named"),
)
