"""The laws of the custody ledger, in triggers: what a fact may say, and what follows from it."""

from pathlib import Path

from alembic import op

revision = "0006"
down_revision = "0005"

LAWS = Path(__file__).parents[1] / "sql" / "0006_laws.sql"
TABLES_WITH_TRIGGERS = {
    "transfer": ("transfer_begun", "transfer_text_kept"),
    "transfer_line": ("transfer_line_kept",),
    "transfer_fact": (
        "transfer_fact_read", "transfer_fact_posted", "transfer_fact_kept", "transfer_fact_not_truncated",
    ),
    "custody_posting": (
        "custody_posting_balanced", "custody_posting_by_facts", "custody_posting_kept",
        "custody_posting_not_truncated",
    ),
    "custody_balance": ("custody_balance_by_facts", "custody_balance_not_truncated"),
    "transfer_standing": ("transfer_standing_by_facts", "transfer_standing_not_truncated"),
    "line_standing": ("line_standing_by_facts", "line_standing_counted_by_facts", "line_standing_not_truncated"),
}  # fmt: skip
FUNCTIONS = (
    "keep_ledger", "refuse_other_hands", "check_postings_balance", "note_standing", "note_differences",
    "check_balances", "post_moves", "post_transfer_fact", "check_transfer_fact", "read_transfer_fact",
    "keep_transfer_line", "keep_transfer_text", "change_transfer_text", "begin_transfer", "custody_chain_root",
    "refuse_step", "transfer_primary_types", "transfer_paths",
)  # fmt: skip


def upgrade() -> None:
    op.get_bind().exec_driver_sql(LAWS.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table, triggers in TABLES_WITH_TRIGGERS.items():
        for trigger in triggers:
            op.execute(f"DROP TRIGGER {trigger} ON {table}")
    for function in FUNCTIONS:
        op.execute(f"DROP FUNCTION {function}")
