"""Consignments, line by line, and the fit checks that were made of them."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0003"
down_revision = "0002"

# Written with @> and not with = ANY, because only the former can use the index on offered_to.
CONSIGNMENT_RULES = """
ALTER TABLE consignment ENABLE ROW LEVEL SECURITY;
ALTER TABLE consignment FORCE ROW LEVEL SECURITY;
CREATE POLICY consignment_read ON consignment FOR SELECT USING (
    institution_id = current_institution_id() OR offered_to @> ARRAY[current_institution_id()]
);
CREATE POLICY consignment_make ON consignment FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY consignment_change ON consignment FOR UPDATE USING (institution_id = current_institution_id());
CREATE POLICY consignment_remove ON consignment FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (kind, sender, offered_to, note, version, updated_at), DELETE
    ON consignment TO traybridge_app;
"""

LINE_RULES = """
ALTER TABLE consignment_line ENABLE ROW LEVEL SECURITY;
ALTER TABLE consignment_line FORCE ROW LEVEL SECURITY;
CREATE POLICY consignment_line_read ON consignment_line FOR SELECT USING (
    institution_id = current_institution_id()
    OR EXISTS (
        SELECT FROM consignment c
        WHERE c.institution_id = consignment_line.institution_id AND c.id = consignment_line.consignment_id
    )
);
CREATE POLICY consignment_line_make ON consignment_line
    FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY consignment_line_remove ON consignment_line
    FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, DELETE ON consignment_line TO traybridge_app;
"""

FIT_CHECK_RULES = """
ALTER TABLE fit_check ENABLE ROW LEVEL SECURITY;
ALTER TABLE fit_check FORCE ROW LEVEL SECURITY;
CREATE POLICY fit_check_read ON fit_check FOR SELECT USING (institution_id = current_institution_id());
CREATE POLICY fit_check_make ON fit_check FOR INSERT WITH CHECK (institution_id = current_institution_id());
GRANT SELECT, INSERT ON fit_check TO traybridge_app;
CREATE FUNCTION keep_fit_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'fit check % is kept', OLD.id
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'fit_check_kept';
END
$$;
CREATE TRIGGER fit_check_kept BEFORE UPDATE OR DELETE ON fit_check
    FOR EACH ROW EXECUTE FUNCTION keep_fit_check();
CREATE TRIGGER fit_check_not_truncated BEFORE TRUNCATE ON fit_check
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();
"""

CODE = sa.Text(collation="C")
MOMENT = sa.DateTime(timezone=True)
NOW = sa.text("now()")


def upgrade() -> None:
    make_consignment()
    op.execute(CONSIGNMENT_RULES)
    make_consignment_line()
    op.execute(LINE_RULES)
    make_fit_check()
    op.execute(FIT_CHECK_RULES)


def make_consignment() -> None:
    op.create_table(
        "consignment",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("code", CODE, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("sender", JSONB, nullable=False),
        sa.Column("offered_to", sa.ARRAY(sa.Uuid), nullable=False, server_default="{}"),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "id", name="consignment_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="consignment_institution"),
        sa.UniqueConstraint("institution_id", "code", name="consignment_code_unique"),
        sa.CheckConstraint("code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'", name="consignment_code_form"),
        sa.CheckConstraint("kind IN ('gift', 'loan', 'exchange')", name="consignment_kind_known"),
        sa.CheckConstraint(
            "jsonb_typeof(sender) = 'object' AND (sender ? 'institution_id') <> (sender ? 'name')",
            name="consignment_sender_form",
        ),
        sa.CheckConstraint(
            "cardinality(offered_to) <= 200 AND array_position(offered_to, NULL) IS NULL",
            name="consignment_offered_to_form",
        ),
        sa.CheckConstraint("length(note) <= 10000", name="consignment_note_form"),
    )
    op.create_index("consignment_by_id", "consignment", ["id"])
    op.create_index("consignment_by_age", "consignment", ["institution_id", "created_at", "id"])
    op.create_index("consignment_offered_to", "consignment", ["offered_to"], postgresql_using="gin")


def make_consignment_line() -> None:
    op.create_table(
        "consignment_line",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("consignment_id", sa.Uuid, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("content", JSONB, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("specimens", sa.BigInteger),
        sa.PrimaryKeyConstraint("institution_id", "consignment_id", "position", name="consignment_line_pkey"),
        sa.ForeignKeyConstraint(
            ["institution_id", "consignment_id"],
            ["consignment.institution_id", "consignment.id"],
            name="consignment_line_consignment",
            ondelete="CASCADE",
        ),
        sa.CheckConstraint("position >= 1", name="consignment_line_position_form"),
        sa.CheckConstraint("jsonb_typeof(content) = 'object'", name="consignment_line_content_form"),
        sa.CheckConstraint("count >= 1", name="consignment_line_count_form"),
        sa.CheckConstraint("specimens >= 0", name="consignment_line_specimens_form"),
    )


def make_fit_check() -> None:
    op.create_table(
        "fit_check",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("consignment_id", sa.Uuid),
        sa.Column("storage_system_id", sa.Uuid, nullable=False),
        sa.Column("revision_number", sa.Integer, nullable=False),
        sa.Column("inputs", JSONB, nullable=False),
        sa.Column("answer", JSONB, nullable=False),
        sa.Column("engine", sa.Text, nullable=False),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "id", name="fit_check_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="fit_check_institution"),
        sa.CheckConstraint("revision_number >= 1", name="fit_check_revision_number_form"),
        sa.CheckConstraint("jsonb_typeof(inputs) = 'object'", name="fit_check_inputs_form"),
        sa.CheckConstraint("jsonb_typeof(answer) = 'object'", name="fit_check_answer_form"),
    )
    op.create_index("fit_check_by_age", "fit_check", ["institution_id", "created_at", "id"])
    op.create_index("fit_check_by_consignment", "fit_check", ["institution_id", "consignment_id", "created_at", "id"])


def downgrade() -> None:
    op.drop_table("fit_check")
    op.drop_table("consignment_line")
    op.drop_table("consignment")
    op.execute("DROP FUNCTION keep_fit_check()")
