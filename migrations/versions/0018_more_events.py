"""What happens to quarantines and arrangement plans is told too: from now on, and nothing of the past."""

from pathlib import Path

from alembic import op

revision = "0018"
down_revision = "0017"

SCRIPT = Path(__file__).parents[1] / "sql" / "0018_more_events.sql"
TRIGGERS = {
    "quarantine": ("quarantine_told", "quarantine_change_told"),
    "quarantine_log": ("quarantine_log_told",),
    "quarantine_entry": ("quarantine_inspection_told", "quarantine_release_told"),
    "arrangement_plan": ("arrangement_plan_told",),
}


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    """What was told stays told."""
    for table, triggers in TRIGGERS.items():
        for trigger in triggers:
            op.execute(f"DROP TRIGGER {trigger} ON {table}")
    op.execute(
        "DROP FUNCTION tell_of_arrangement_plan, tell_of_quarantine_addition, tell_of_quarantine_text,"
        " tell_of_quarantine"
    )
    op.execute("DROP POLICY event_make_of_quarantine ON event")
