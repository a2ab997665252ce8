"""Webhooks: who is called, what is still to be sent, and a log of every attempt."""

from pathlib import Path

from alembic import op

revision = "0012"
down_revision = "0011"

SCRIPT = Path(__file__).parents[1] / "sql" / "0012_webhooks.sql"


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table in ("webhook_attempt", "webhook_retry", "webhook_progress", "webhook"):
        op.drop_table(table)
