"""Events: what happened, told to each institution that it concerns, in the transaction in which it happened."""

from pathlib import Path

from alembic import op

revision = "0010"
down_revision = "0009"

SCRIPT = Path(__file__).parents[1] / "sql" / "0010_events.sql"
TRIGGERS = {
    "transfer_fact": ("transfer_fact_told",),
    "consignment": ("consignment_told", "consignment_removal_told"),
    "fit_check": ("fit_check_told",),
    "housing_plan": ("housing_plan_told",),
    "operation": ("operation_told",),
    "storage_system_revision": ("storage_system_revision_told",),
}


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table, triggers in TRIGGERS.items():
        for trigger in triggers:
            op.execute(f"DROP TRIGGER {trigger} ON {table}")
    op.execute("DROP FUNCTION tell_of_transfer_fact, tell_of_consignment, tell_owner, tell_of_revision, tell")
    op.drop_table("event")
    op.drop_table("news")
    op.execute("DROP FUNCTION note_news, keep_event")
