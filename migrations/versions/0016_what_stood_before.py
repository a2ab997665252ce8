"""What stood before changes were noted (0015) is among the changes too, so that a first question misses nothing."""

from pathlib import Path

from alembic import op

revision = "0016"
down_revision = "0015"

SCRIPT = Path(__file__).parents[1] / "sql" / "0016_stood_before.sql"


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    """Nothing is taken away: what was noted stays true, and readers may have been told of it."""
