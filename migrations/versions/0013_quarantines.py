"""Quarantines, the logs uploaded to them, what was written down beside them, and each institution's rules."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0013"
down_revision = "0012"

# The other side of a transfer reads the quarantine of what belongs to the transfer; it is the owner who asks.
RULES = """
ALTER TABLE quarantine_rules ENABLE ROW LEVEL SECURITY;
ALTER TABLE quarantine_rules FORCE ROW LEVEL SECURITY;
CREATE POLICY quarantine_rules_read ON quarantine_rules FOR SELECT USING (true);
CREATE POLICY quarantine_rules_make ON quarantine_rules
    FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY quarantine_rules_change ON quarantine_rules
    FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (content, version, updated_at) ON quarantine_rules TO traybridge_app;

ALTER TABLE quarantine ENABLE ROW LEVEL SECURITY;
ALTER TABLE quarantine FORCE ROW LEVEL SECURITY;
CREATE POLICY quarantine_read ON quarantine FOR SELECT USING (
    institution_id = current_institution_id() OR EXISTS (SELECT FROM transfer t WHERE t.id = quarantine.transfer_id)
);
CREATE POLICY quarantine_make ON quarantine FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY quarantine_change ON quarantine FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (transfer_id, consignment_id, content, version, updated_at)
    ON quarantine TO traybridge_app;

CREATE FUNCTION keep_quarantine() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'what was written down of a quarantine is kept'
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'quarantine_kept';
END
$$;
CREATE TRIGGER quarantine_kept BEFORE DELETE ON quarantine FOR EACH ROW EXECUTE FUNCTION keep_quarantine();
CREATE TRIGGER quarantine_not_truncated BEFORE TRUNCATE ON quarantine
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();
"""

KEPT = """
ALTER TABLE {table} ENABLE ROW LEVEL SECURITY;
ALTER TABLE {table} FORCE ROW LEVEL SECURITY;
CREATE POLICY {table}_read ON {table} FOR SELECT USING (
    institution_id = current_institution_id()
    OR EXISTS (
        SELECT FROM quarantine q
        WHERE q.institution_id = {table}.institution_id AND q.id = {table}.quarantine_id
    )
);
CREATE POLICY {table}_make ON {table} FOR INSERT WITH CHECK (institution_id = current_institution_id());
GRANT SELECT, INSERT ON {table} TO traybridge_app;
CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION keep_quarantine();
CREATE TRIGGER {table}_not_truncated BEFORE TRUNCATE ON {table}
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();
"""

CODE = sa.Text(collation="C")
CODE_FORM = "code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'"
MOMENT = sa.DateTime(timezone=True)
NOW = sa.text("now()")


def upgrade() -> None:
    make_rules()
    make_quarantine()
    op.execute(RULES)
    make_log()
    op.execute(KEPT.format(table="quarantine_log"))
    make_entry()
    op.execute(KEPT.format(table="quarantine_entry"))


def changes() -> tuple[sa.Column[object], ...]:
    return (
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
    )


def make_rules() -> None:
    op.create_table(
        "quarantine_rules",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("content", JSONB, nullable=False),
        *changes(),
        sa.PrimaryKeyConstraint("institution_id", name="quarantine_rules_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="quarantine_rules_institution"),
        sa.CheckConstraint("jsonb_typeof(content) = 'object'", name="quarantine_rules_content_form"),
    )


def make_quarantine() -> None:
    op.create_table(
        "quarantine",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("code", CODE, nullable=False),
        sa.Column("transfer_id", sa.Uuid),
        sa.Column("consignment_id", sa.Uuid),
        sa.Column("content", JSONB, nullable=False),
        *changes(),
        sa.PrimaryKeyConstraint("institution_id", "id", name="quarantine_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="quarantine_institution"),
        sa.UniqueConstraint("institution_id", "code", name="quarantine_code_unique"),
        sa.CheckConstraint(CODE_FORM, name="quarantine_code_form"),
        sa.CheckConstraint("jsonb_typeof(content) = 'object'", name="quarantine_content_form"),
    )
    op.create_index("quarantine_by_id", "quarantine", ["id"])
    op.create_index("quarantine_by_age", "quarantine", ["institution_id", "created_at", "id"])
    op.create_index("quarantine_by_transfer", "quarantine", ["transfer_id"])
    op.create_index("quarantine_by_consignment", "quarantine", ["institution_id", "consignment_id"])


def make_log() -> None:
    op.create_table(
        "quarantine_log",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("quarantine_id", sa.Uuid, nullable=False),
        sa.Column("code", CODE, nullable=False),
        sa.Column("reading_count", sa.Integer, nullable=False),
        sa.Column("first_at", MOMENT, nullable=False),
        sa.Column("last_at", MOMENT, nullable=False),
        sa.Column("readings", JSONB, nullable=False),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "quarantine_id", "code", name="quarantine_log_pkey"),
        of_quarantine("quarantine_log_quarantine"),
        sa.CheckConstraint(CODE_FORM, name="quarantine_log_code_form"),
        sa.CheckConstraint("reading_count >= 1 AND first_at <= last_at", name="quarantine_log_span_form"),
        sa.CheckConstraint("jsonb_typeof(readings) = 'array'", name="quarantine_log_readings_form"),
    )


def make_entry() -> None:
    op.create_table(
        "quarantine_entry",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("quarantine_id", sa.Uuid, nullable=False),
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("content", JSONB, nullable=False),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "quarantine_id", "id", name="quarantine_entry_pkey"),
        of_quarantine("quarantine_entry_quarantine"),
        sa.CheckConstraint("kind IN ('inspection', 'release')", name="quarantine_entry_kind_known"),
        sa.CheckConstraint("jsonb_typeof(content) = 'object'", name="quarantine_entry_content_form"),
    )


def of_quarantine(name: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["institution_id", "quarantine_id"], ["quarantine.institution_id", "quarantine.id"], name=name
    )


def downgrade() -> None:
    for table in ("quarantine_entry", "quarantine_log", "quarantine", "quarantine_rules"):
        op.drop_table(table)
    op.execute("DROP FUNCTION keep_quarantine()")
