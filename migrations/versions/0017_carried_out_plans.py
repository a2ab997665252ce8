"""When a plan was carried out is a fact of its own: one without a step has no last step to tell it by."""

from alembic import op

revision = "0017"
down_revision = "0016"


def upgrade() -> None:
    op.execute("ALTER TABLE arrangement_plan ADD COLUMN carried_out_at timestamptz")
    # Row-level security binds the owner of the table too, so it steps aside for this statement.
    op.execute("ALTER TABLE arrangement_plan NO FORCE ROW LEVEL SECURITY")
    op.execute(
        "UPDATE arrangement_plan SET carried_out_at = updated_at"
        " WHERE done_count = step_count AND done_count > 0 AND replaced_by IS NULL"
    )
    op.execute("ALTER TABLE arrangement_plan FORCE ROW LEVEL SECURITY")
    op.execute("GRANT UPDATE (carried_out_at) ON arrangement_plan TO traybridge_app")


def downgrade() -> None:
    op.execute("ALTER TABLE arrangement_plan DROP COLUMN carried_out_at")
