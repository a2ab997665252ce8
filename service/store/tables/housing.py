"""Long work, and the housing plans that come of it."""

from sqlalchemy import (
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB

from service.store.tables.parts import created_at, metadata, moment

operation = Table(
    "operation",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("kind", Text, nullable=False),
    Column("state", Text, nullable=False, server_default=text("'pending'")),
    Column("work", JSONB, nullable=False),
    # Who is next: the lane is one of the few in which an institution's work runs at once, the turn is the moment from
    # which it may go before others. Both are handed to the queue, which knows nothing of institutions.
    Column("lane", SmallInteger, nullable=False),
    moment("turn_at", nullable=False),
    Column("job_id", BigInteger),
    # Each time that a worker takes the work up. Only the latest may report: a worker thought lost may come back.
    Column("attempt", Integer, nullable=False, server_default=text("0")),
    Column("stage", Text),
    Column("done_count", Integer, nullable=False, server_default=text("0")),
    Column("total_count", Integer),
    Column("best", BigInteger),
    Column("at_least", BigInteger),
    moment("cancel_asked_at"),
    Column("result_id", Uuid),
    Column("problem", JSONB),
    created_at(),
    moment("started_at"),
    moment("finished_at"),
    PrimaryKeyConstraint("institution_id", "id", name="operation_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="operation_institution"),
    CheckConstraint("kind IN ('housing_plan', 'arrangement_plan')", name="operation_kind_known"),
    CheckConstraint(
        "state IN ('pending', 'running', 'succeeded', 'failed', 'cancelled')", name="operation_state_known"
    ),
    CheckConstraint("jsonb_typeof(work) = 'object'", name="operation_work_form"),
    CheckConstraint(
        "(finished_at IS NOT NULL) = (state IN ('succeeded', 'failed', 'cancelled'))"
        " AND (result_id IS NOT NULL) = (state = 'succeeded') AND (problem IS NOT NULL) = (state = 'failed')",
        name="operation_ends_one_way",
    ),
    CheckConstraint("attempt >= 0 AND done_count >= 0 AND lane >= 0", name="operation_counts_form"),
    Index("operation_by_age", "institution_id", "created_at", "id"),
    Index(
        "operation_unfinished",
        "institution_id",
        "turn_at",
        postgresql_where=text("state IN ('pending', 'running')"),
    ),
)

housing_plan = Table(
    "housing_plan",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    # None of these is a foreign key, as with fit checks: a plan stands alone, with copies of all it was made from.
    Column("consignment_id", Uuid),
    Column("storage_system_id", Uuid),
    Column("revision_number", Integer),
    Column("tray_count", Integer, nullable=False),
    Column("drawer_count", Integer, nullable=False),
    Column("proof", Text, nullable=False),
    Column("asked", JSONB, nullable=False),
    Column("plan", JSONB, nullable=False),
    Column("engine", Text, nullable=False),
    created_at(),
    PrimaryKeyConstraint("institution_id", "id", name="housing_plan_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="housing_plan_institution"),
    CheckConstraint(
        "(revision_number IS NULL) = (storage_system_id IS NULL) AND revision_number >= 1",
        name="housing_plan_revision_form",
    ),
    CheckConstraint("tray_count >= 1 AND drawer_count >= 1", name="housing_plan_counts_form"),
    CheckConstraint("proof IN ('proved', 'proved_in_columns', 'not_proved')", name="housing_plan_proof_known"),
    CheckConstraint("jsonb_typeof(asked) = 'object'", name="housing_plan_asked_form"),
    CheckConstraint("jsonb_typeof(plan) = 'object'", name="housing_plan_plan_form"),
    Index("housing_plan_by_age", "institution_id", "created_at", "id"),
    Index("housing_plan_by_consignment", "institution_id", "consignment_id", "created_at", "id"),
)
