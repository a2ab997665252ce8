"""What an institution packs with, plans of parcels, and the papers that were printed."""

from pathlib import Path

from alembic import op

revision = "0014"
down_revision = "0013"

SCRIPT = Path(__file__).parents[1] / "sql" / "0014_papers.sql"


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table in ("paper", "parcel_plan", "packing_bench"):
        op.drop_table(table)
