"""Transfers, the ledger of their facts, permits, loan rules, and the answers kept for retries."""

from pathlib import Path

from alembic import op

revision = "0005"
down_revision = "0004"

SQL = Path(__file__).parents[1] / "sql"
TABLES = (
    "kept_answer", "loan_rules", "transfer_permit", "line_standing", "transfer_standing", "custody_balance",
    "custody_posting", "transfer_fact", "transfer_line", "transfer",
)  # fmt: skip


def upgrade() -> None:
    for script in ("0005_text.sql", "0005_ledger.sql", "0005_walls.sql"):
        # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
        op.get_bind().exec_driver_sql((SQL / script).read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table in TABLES:
        op.drop_table(table)
    op.execute("DROP FUNCTION is_side")
