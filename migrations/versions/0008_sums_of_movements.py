"""Each fact's postings summed over its lines, for the question who held what with whom on a past day."""

from pathlib import Path

from alembic import op

revision = "0008"
down_revision = "0007"

SCRIPT = Path(__file__).parents[1] / "sql" / "0008_movements.sql"


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    op.execute("DROP TRIGGER custody_posting_summed ON custody_posting")
    op.execute("DROP FUNCTION sum_postings")
    op.drop_table("custody_movement")
    for side, other in (("lender", "borrower"), ("borrower", "lender")):
        op.execute(
            f"CREATE INDEX custody_posting_of_{side} ON custody_posting"
            f" ({side}_id, {other}_id, account, on_day) INCLUDE (change)"
        )
