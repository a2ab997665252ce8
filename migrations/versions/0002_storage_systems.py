"""Storage systems and their revisions. What was once published is kept as it was."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

revision = "0002"
down_revision = "0001"

SYSTEM_RULES = """
ALTER TABLE storage_system ENABLE ROW LEVEL SECURITY;
ALTER TABLE storage_system FORCE ROW LEVEL SECURITY;
CREATE POLICY storage_system_read ON storage_system FOR SELECT USING (
    institution_id = current_institution_id()
    OR published_since IS NOT NULL
        AND (visibility = 'everybody' OR visibility = 'members' AND current_institution_id() IS NOT NULL)
);
CREATE POLICY storage_system_make ON storage_system FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY storage_system_change ON storage_system FOR UPDATE USING (institution_id = current_institution_id());
CREATE POLICY storage_system_remove ON storage_system FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (name, description, visibility, published_since, version, updated_at), DELETE
    ON storage_system TO traybridge_app;
"""

# The inner query is itself under the policy of storage_system, so it asks "may the reader see the system?".
REVISION_RULES = """
ALTER TABLE storage_system_revision ENABLE ROW LEVEL SECURITY;
ALTER TABLE storage_system_revision FORCE ROW LEVEL SECURITY;
CREATE POLICY storage_system_revision_read ON storage_system_revision FOR SELECT USING (
    institution_id = current_institution_id()
    OR state <> 'draft' AND EXISTS (
        SELECT FROM storage_system s
        WHERE s.institution_id = storage_system_revision.institution_id AND s.id = storage_system_revision.system_id
    )
);
CREATE POLICY storage_system_revision_make ON storage_system_revision
    FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY storage_system_revision_change ON storage_system_revision
    FOR UPDATE USING (institution_id = current_institution_id());
CREATE POLICY storage_system_revision_remove ON storage_system_revision
    FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, DELETE,
    UPDATE (state, content, content_sha256, note, based_on, published_at, superseded_at, version, updated_at)
    ON storage_system_revision TO traybridge_app;
"""

KEEP_REVISIONS = """
CREATE FUNCTION keep_storage_system_revision() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    may_change CONSTANT text[] := ARRAY['state', 'superseded_at', 'version', 'updated_at'];
BEGIN
    IF TG_OP = 'UPDATE' AND OLD.state = 'draft' AND NEW.state IN ('draft', 'published') THEN
        RETURN NEW;
    ELSIF TG_OP = 'DELETE' AND OLD.state = 'draft' THEN
        RETURN OLD;
    ELSIF TG_OP = 'UPDATE' AND OLD.state = 'published' AND NEW.state = 'superseded'
          AND to_jsonb(NEW) - may_change = to_jsonb(OLD) - may_change THEN
        RETURN NEW;
    END IF;
    RAISE EXCEPTION 'revision % of storage system % is published', OLD.number, OLD.system_id
        USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'storage_system_revision_kept';
END
$$;
CREATE TRIGGER storage_system_revision_kept BEFORE UPDATE OR DELETE ON storage_system_revision
    FOR EACH ROW EXECUTE FUNCTION keep_storage_system_revision();
CREATE FUNCTION refuse_truncate() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is kept', TG_TABLE_NAME USING ERRCODE = 'restrict_violation', TABLE = TG_TABLE_NAME;
END
$$;
CREATE TRIGGER storage_system_revision_not_truncated BEFORE TRUNCATE ON storage_system_revision
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_truncate();
"""

CODE = sa.Text(collation="C")
MOMENT = sa.DateTime(timezone=True)
NOW = sa.text("now()")


def upgrade() -> None:
    make_storage_system()
    op.execute(SYSTEM_RULES)
    make_revision()
    for state in ("draft", "published"):
        op.create_index(
            f"storage_system_revision_one_{state}",
            "storage_system_revision",
            ["institution_id", "system_id"],
            unique=True,
            postgresql_where=sa.text(f"state = '{state}'"),
        )
    op.execute(REVISION_RULES)
    op.execute(KEEP_REVISIONS)


def make_storage_system() -> None:
    op.create_table(
        "storage_system",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("code", CODE, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("description", sa.Text, nullable=False, server_default=""),
        sa.Column("visibility", sa.Text, nullable=False),
        sa.Column("published_since", MOMENT),
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "id", name="storage_system_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="storage_system_institution"),
        sa.UniqueConstraint("institution_id", "code", name="storage_system_code_unique"),
        sa.CheckConstraint("code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'", name="storage_system_code_form"),
        sa.CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="storage_system_name_form"),
        sa.CheckConstraint("length(description) <= 10000", name="storage_system_description_form"),
        sa.CheckConstraint("visibility IN ('everybody', 'members', 'owner')", name="storage_system_visibility_known"),
    )
    op.create_index("storage_system_by_id", "storage_system", ["id"])
    op.create_index("storage_system_by_age", "storage_system", ["created_at", "id"])


def make_revision() -> None:
    table = "storage_system_revision"
    op.create_table(
        table,
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("system_id", sa.Uuid, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("content", JSONB, nullable=False),
        sa.Column("content_sha256", CODE, nullable=False),
        sa.Column("note", sa.Text, nullable=False, server_default=""),
        sa.Column("based_on", sa.Integer),
        sa.Column("published_at", MOMENT),
        sa.Column("superseded_at", MOMENT),
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "system_id", "number", name=f"{table}_pkey"),
        sa.ForeignKeyConstraint(
            ["institution_id", "system_id"],
            ["storage_system.institution_id", "storage_system.id"],
            name=f"{table}_system",
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["institution_id", "system_id", "based_on"],
            [f"{table}.institution_id", f"{table}.system_id", f"{table}.number"],
            name=f"{table}_based_on",
        ),
        sa.CheckConstraint("number >= 1", name=f"{table}_number_form"),
        sa.CheckConstraint("state IN ('draft', 'published', 'superseded')", name=f"{table}_state_known"),
        sa.CheckConstraint("jsonb_typeof(content) = 'object'", name=f"{table}_content_form"),
        sa.CheckConstraint("content_sha256 ~ '^[0-9a-f]{64}$'", name=f"{table}_sha256_form"),
        sa.CheckConstraint("length(note) <= 10000", name=f"{table}_note_form"),
        sa.CheckConstraint(
            "(published_at IS NULL) = (state = 'draft') AND (superseded_at IS NOT NULL) = (state = 'superseded')",
            name=f"{table}_moments_follow_state",
        ),
    )


def downgrade() -> None:
    op.drop_table("storage_system_revision")
    op.drop_table("storage_system")
    op.execute("DROP FUNCTION keep_storage_system_revision(), refuse_truncate()")
