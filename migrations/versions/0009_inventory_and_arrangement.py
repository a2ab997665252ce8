"""What stands where, the order that is kept, and the plans to get there."""

from pathlib import Path

from alembic import op

revision = "0009"
down_revision = "0008"

SCRIPT = Path(__file__).parents[1] / "sql" / "0009_inventory.sql"
TABLES = (
    "arrangement_step", "arrangement_plan", "taxon_sequence", "arrangement_rules", "tray_move", "tray", "drawer",
    "cabinet_position", "cabinet", "room",
)  # fmt: skip


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table in TABLES:
        op.drop_table(table)
    op.execute("DROP FUNCTION keep_arrangement(), keep_drawers_large_enough(), keep_trays_within()")
    op.execute("DROP FUNCTION keep_within_drawers(uuid[]), keep_drawer_in_column()")
    op.execute("DROP TYPE cabinet_range")
