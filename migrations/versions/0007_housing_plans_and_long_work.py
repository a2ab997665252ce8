"""Housing plans, operations that may take their time, and the queue that hands them to workers."""

import sqlalchemy as sa
from alembic import op
from procrastinate.schema import SchemaManager
from sqlalchemy.dialects.postgresql import JSONB

revision = "0007"
down_revision = "0006"

# The queue's tables as the pinned version of the library makes them, whole: its single steps cannot share a
# transaction before PostgreSQL 17. Whoever pins a later version adds its steps in a later migration. They get a
# schema of their own: they are the library's, and hold nothing but who waits.
QUEUE_RIGHTS = """
GRANT USAGE ON SCHEMA queue TO traybridge_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA queue TO traybridge_app;
GRANT USAGE ON ALL SEQUENCES IN SCHEMA queue TO traybridge_app;
"""

OPERATION_RULES = """
ALTER TABLE operation ENABLE ROW LEVEL SECURITY;
ALTER TABLE operation FORCE ROW LEVEL SECURITY;
CREATE POLICY operation_read ON operation FOR SELECT USING (institution_id = current_institution_id());
CREATE POLICY operation_make ON operation FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY operation_change ON operation FOR UPDATE USING (institution_id = current_institution_id());
CREATE POLICY operation_remove ON operation FOR DELETE USING (
    institution_id = current_institution_id() AND finished_at < now() - interval '24 hours'
);
GRANT SELECT, INSERT, DELETE, UPDATE (
    state, job_id, attempt, stage, done_count, total_count, best, at_least, cancel_asked_at, result_id, problem,
    started_at, finished_at
) ON operation TO traybridge_app;
CREATE FUNCTION keep_operation() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'operation % is over', OLD.id
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'operation_over';
END
$$;
CREATE TRIGGER operation_over BEFORE UPDATE ON operation
    FOR EACH ROW WHEN (OLD.finished_at IS NOT NULL) EXECUTE FUNCTION keep_operation();
"""

PLAN_RULES = """
ALTER TABLE housing_plan ENABLE ROW LEVEL SECURITY;
ALTER TABLE housing_plan FORCE ROW LEVEL SECURITY;
CREATE POLICY housing_plan_read ON housing_plan FOR SELECT USING (institution_id = current_institution_id());
CREATE POLICY housing_plan_make ON housing_plan FOR INSERT WITH CHECK (institution_id = current_institution_id());
GRANT SELECT, INSERT ON housing_plan TO traybridge_app;
CREATE FUNCTION keep_housing_plan() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'housing plan % is kept', OLD.id
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'housing_plan_kept';
END
$$;
CREATE TRIGGER housing_plan_kept BEFORE UPDATE OR DELETE ON housing_plan
    FOR EACH ROW EXECUTE FUNCTION keep_housing_plan();
CREATE TRIGGER housing_plan_not_truncated BEFORE TRUNCATE ON housing_plan
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();
"""

MOMENT = sa.DateTime(timezone=True)
NOW = sa.text("now()")


def upgrade() -> None:
    make_queue()
    make_operation()
    op.execute(OPERATION_RULES)
    make_housing_plan()
    op.execute(PLAN_RULES)


def make_queue() -> None:
    op.execute("CREATE SCHEMA queue")
    op.execute("SET LOCAL search_path = queue")
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SchemaManager.get_schema().replace("%", "%%"))
    op.execute("SET LOCAL search_path = public")
    op.execute(QUEUE_RIGHTS)


def make_operation() -> None:
    op.create_table(
        "operation",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("state", sa.Text, nullable=False, server_default="pending"),
        sa.Column("work", JSONB, nullable=False),
        sa.Column("lane", sa.SmallInteger, nullable=False),
        sa.Column("turn_at", MOMENT, nullable=False),
        sa.Column("job_id", sa.BigInteger),
        sa.Column("attempt", sa.Integer, nullable=False, server_default="0"),
        sa.Column("stage", sa.Text),
        sa.Column("done_count", sa.Integer, nullable=False, server_default="0"),
        sa.Column("total_count", sa.Integer),
        sa.Column("best", sa.BigInteger),
        sa.Column("at_least", sa.BigInteger),
        sa.Column("cancel_asked_at", MOMENT),
        sa.Column("result_id", sa.Uuid),
        sa.Column("problem", JSONB),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("started_at", MOMENT),
        sa.Column("finished_at", MOMENT),
        sa.PrimaryKeyConstraint("institution_id", "id", name="operation_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="operation_institution"),
        sa.CheckConstraint("kind IN ('housing_plan')", name="operation_kind_known"),
        sa.CheckConstraint(
            "state IN ('pending', 'running', 'succeeded', 'failed', 'cancelled')", name="operation_state_known"
        ),
        sa.CheckConstraint("jsonb_typeof(work) = 'object'", name="operation_work_form"),
        sa.CheckConstraint(
            "(finished_at IS NOT NULL) = (state IN ('succeeded', 'failed', 'cancelled'))"
            " AND (result_id IS NOT NULL) = (state = 'succeeded') AND (problem IS NOT NULL) = (state = 'failed')",
            name="operation_ends_one_way",
        ),
        sa.CheckConstraint("attempt >= 0 AND done_count >= 0 AND lane >= 0", name="operation_counts_form"),
    )
    op.create_index("operation_by_age", "operation", ["institution_id", "created_at", "id"])
    op.create_index(
        "operation_unfinished",
        "operation",
        ["institution_id", "turn_at"],
        postgresql_where=sa.text("state IN ('pending', 'running')"),
    )


def make_housing_plan() -> None:
    op.create_table(
        "housing_plan",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("consignment_id", sa.Uuid),
        sa.Column("storage_system_id", sa.Uuid),
        sa.Column("revision_number", sa.Integer),
        sa.Column("tray_count", sa.Integer, nullable=False),
        sa.Column("drawer_count", sa.Integer, nullable=False),
        sa.Column("proof", sa.Text, nullable=False),
        sa.Column("asked", JSONB, nullable=False),
        sa.Column("plan", JSONB, nullable=False),
        sa.Column("engine", sa.Text, nullable=False),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "id", name="housing_plan_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="housing_plan_institution"),
        sa.CheckConstraint(
            "(revision_number IS NULL) = (storage_system_id IS NULL) AND revision_number >= 1",
            name="housing_plan_revision_form",
        ),
        sa.CheckConstraint("tray_count >= 1 AND drawer_count >= 1", name="housing_plan_counts_form"),
        sa.CheckConstraint("proof IN ('proved', 'proved_in_columns', 'not_proved')", name="housing_plan_proof_known"),
        sa.CheckConstraint("jsonb_typeof(asked) = 'object'", name="housing_plan_asked_form"),
        sa.CheckConstraint("jsonb_typeof(plan) = 'object'", name="housing_plan_plan_form"),
    )
    op.create_index("housing_plan_by_age", "housing_plan", ["institution_id", "created_at", "id"])
    op.create_index(
        "housing_plan_by_consignment", "housing_plan", ["institution_id", "consignment_id", "created_at", "id"]
    )


def downgrade() -> None:
    op.drop_table("housing_plan")
    op.drop_table("operation")
    op.execute("DROP FUNCTION keep_housing_plan(), keep_operation()")
    op.execute("DROP SCHEMA queue CASCADE")
