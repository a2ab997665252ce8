"""The application's role, institutions, and the keys that their programs come with.

Row-level security is the second lock: the application works as a role that owns nothing, and each policy compares
a row with the institution that the transaction is bound to.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# Roles belong to the whole server. Another database on it may have made this one, or be making it right now.
MAKE_ROLE = """
DO $$
BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'traybridge_app') THEN
        BEGIN
            CREATE ROLE traybridge_app NOLOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE;
        EXCEPTION WHEN duplicate_object OR unique_violation THEN
            NULL;
        END;
    END IF;
    IF NOT pg_has_role('traybridge_app', CASE WHEN current_setting('server_version_num')::int < 160000
                                              THEN 'MEMBER' ELSE 'SET' END) THEN
        GRANT traybridge_app TO CURRENT_USER;
    END IF;
EXCEPTION WHEN insufficient_privilege THEN
    RAISE EXCEPTION '"%" may not make the role traybridge_app or give it to itself; let an administrator of the'
        ' database server run: CREATE ROLE traybridge_app NOLOGIN; GRANT traybridge_app TO "%";',
        current_user, current_user USING ERRCODE = 'insufficient_privilege';
END
$$
"""

CURRENT_INSTITUTION = """
CREATE FUNCTION current_institution_id() RETURNS uuid LANGUAGE sql STABLE PARALLEL SAFE
RETURN NULLIF(current_setting('app.institution_id', true), '')::uuid
"""

INSTITUTION_RULES = """
ALTER TABLE institution ENABLE ROW LEVEL SECURITY;
ALTER TABLE institution FORCE ROW LEVEL SECURITY;
CREATE POLICY institution_read ON institution FOR SELECT USING (true);
CREATE POLICY institution_enter ON institution FOR INSERT WITH CHECK (id = current_institution_id());
CREATE POLICY institution_change ON institution FOR UPDATE USING (id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (name, country_code, version, updated_at) ON institution TO traybridge_app;
"""

# Whoever shows a secret may see the one key that it opens, and so learn whose it is.
KEY_RULES = """
ALTER TABLE api_key ENABLE ROW LEVEL SECURITY;
ALTER TABLE api_key FORCE ROW LEVEL SECURITY;
CREATE POLICY api_key_read ON api_key FOR SELECT USING (
    institution_id = current_institution_id()
    OR secret_sha256 = NULLIF(current_setting('app.key_sha256', true), '')
);
CREATE POLICY api_key_make ON api_key FOR INSERT WITH CHECK (institution_id = current_institution_id());
CREATE POLICY api_key_change ON api_key FOR UPDATE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, UPDATE (name, revoked_at, last_used_on, version, updated_at) ON api_key TO traybridge_app;
"""

CODE = sa.Text(collation="C")
MOMENT = sa.DateTime(timezone=True)
NOW = sa.text("now()")


def upgrade() -> None:
    op.execute(MAKE_ROLE)
    op.execute("GRANT USAGE ON SCHEMA public TO traybridge_app")
    op.execute("GRANT SELECT ON alembic_version TO traybridge_app")
    op.execute(CURRENT_INSTITUTION)
    make_institution()
    op.execute(INSTITUTION_RULES)
    make_api_key()
    op.execute(KEY_RULES)


def make_institution() -> None:
    op.create_table(
        "institution",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("code", CODE, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("country_code", CODE),
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("id", name="institution_pkey"),
        sa.UniqueConstraint("code", name="institution_code_unique"),
        sa.CheckConstraint("code ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'", name="institution_code_form"),
        sa.CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="institution_name_form"),
        sa.CheckConstraint("country_code ~ '^[A-Z]{2}$'", name="institution_country_code_form"),
    )
    op.create_index("institution_code_in_any_case", "institution", [sa.text("lower(code)")], unique=True)


def make_api_key() -> None:
    op.create_table(
        "api_key",
        sa.Column("id", sa.Uuid, nullable=False),
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("prefix", CODE, nullable=False),
        sa.Column("secret_sha256", CODE, nullable=False),
        sa.Column("scopes", sa.ARRAY(sa.Text), nullable=False),
        sa.Column("expires_at", MOMENT),
        sa.Column("revoked_at", MOMENT),
        sa.Column("last_used_on", sa.Date),
        sa.Column("version", sa.Integer, nullable=False, server_default="1"),
        sa.Column("created_at", MOMENT, nullable=False, server_default=NOW),
        sa.Column("updated_at", MOMENT, nullable=False, server_default=NOW),
        sa.PrimaryKeyConstraint("institution_id", "id", name="api_key_pkey"),
        sa.ForeignKeyConstraint(["institution_id"], ["institution.id"], name="api_key_institution"),
        sa.UniqueConstraint("secret_sha256", name="api_key_secret_unique"),
        sa.CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="api_key_name_form"),
        sa.CheckConstraint("secret_sha256 ~ '^[0-9a-f]{64}$'", name="api_key_secret_form"),
        sa.CheckConstraint(
            "cardinality(scopes) > 0 AND scopes <@ ARRAY['read', 'write', 'admin']", name="api_key_scopes_known"
        ),
    )
    op.create_index("api_key_by_age", "api_key", ["institution_id", "created_at", "id"])


def downgrade() -> None:
    """The role stays: other databases of the same server may use it, and it can do nothing by itself."""
    op.drop_table("api_key")
    op.drop_table("institution")
    op.execute("DROP FUNCTION current_institution_id()")
    op.execute("REVOKE SELECT ON alembic_version FROM traybridge_app")
    op.execute("REVOKE USAGE ON SCHEMA public FROM traybridge_app")
