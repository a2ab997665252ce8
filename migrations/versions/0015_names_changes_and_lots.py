"""Other databases' names for things, what changed for whom, and the lots that a consignment is made of."""

from pathlib import Path

from alembic import op

revision = "0015"
down_revision = "0014"

SCRIPT = Path(__file__).parents[1] / "sql" / "0015_joining.sql"
TRIGGERS = {
    "institution": ("institution_noted",),
    "storage_system": ("storage_system_noted",),
    "storage_system_revision": ("storage_system_revision_noted",),
    "consignment": ("consignment_noted",),
    "transfer_fact": ("transfer_fact_noted",),
    "transfer_permit": ("transfer_permit_noted",),
}
FUNCTIONS = (
    "note_identifier", "note_transfer", "note_consignment", "note_revision", "note_system", "note_institution",
    "viewers_of_system", "note_removal", "note_change", "is_noted_here",
)  # fmt: skip


def upgrade() -> None:
    # By the driver itself, where a colon is a colon and no parameter; a per cent sign it wants written twice.
    op.get_bind().exec_driver_sql(SCRIPT.read_text("utf-8").replace("%", "%%"))


def downgrade() -> None:
    for table, triggers in TRIGGERS.items():
        for trigger in triggers:
            op.execute(f"DROP TRIGGER {trigger} ON {table}")
    for table in ("consignment_lot", "thing_change", "external_identifier"):
        op.drop_table(table)
    for function in FUNCTIONS:
        op.execute(f"DROP FUNCTION {function}")
