"""Arrangement plans may be a worker's."""

from alembic import op

revision = "0011"
down_revision = "0010"


def upgrade() -> None:
    know("'housing_plan', 'arrangement_plan'")


def downgrade() -> None:
    # Operations are forgotten after a while anyhow; what they led to stays.
    op.execute("ALTER TABLE operation NO FORCE ROW LEVEL SECURITY")
    op.execute("DELETE FROM operation WHERE kind = 'arrangement_plan'")
    op.execute("ALTER TABLE operation FORCE ROW LEVEL SECURITY")
    know("'housing_plan'")


def know(kinds: str) -> None:
    op.execute("ALTER TABLE operation DROP CONSTRAINT operation_kind_known")
    op.execute(f"ALTER TABLE operation ADD CONSTRAINT operation_kind_known CHECK (kind IN ({kinds}))")
