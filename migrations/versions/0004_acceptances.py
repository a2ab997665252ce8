"""What the published storage systems take, as boxes of sizes that everybody may search.

The table is empty after this step; `traybridge migrate` fills it from the revisions that hold.
"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

# Only what is published to everybody is ever written here, by its owner; so everybody may read all of it.
RULES = """
ALTER TABLE acceptance ENABLE ROW LEVEL SECURITY;
ALTER TABLE acceptance FORCE ROW LEVEL SECURITY;
CREATE POLICY acceptance_read ON acceptance FOR SELECT USING (true);
CREATE POLICY acceptance_make ON acceptance FOR INSERT WITH CHECK (
    institution_id = current_institution_id()
    AND EXISTS (
        SELECT FROM storage_system s JOIN storage_system_revision r
            ON r.institution_id = s.institution_id AND r.system_id = s.id
        WHERE s.institution_id = acceptance.institution_id AND s.id = acceptance.system_id
            AND s.visibility = 'everybody' AND r.number = acceptance.revision_number AND r.state = 'published'
    )
);
CREATE POLICY acceptance_remove ON acceptance FOR DELETE USING (institution_id = current_institution_id());
GRANT SELECT, INSERT, DELETE ON acceptance TO traybridge_app;
"""

# Whoever hides a system or supersedes a revision must have taken its boxes away: a leak is refused, not repaired.
HIDE = """
CREATE FUNCTION refuse_stray_acceptance() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (
        SELECT FROM acceptance a JOIN storage_system s ON s.institution_id = a.institution_id AND s.id = a.system_id
        JOIN storage_system_revision r ON r.institution_id = a.institution_id AND r.system_id = a.system_id
            AND r.number = a.revision_number
        WHERE a.institution_id = NEW.institution_id AND a.system_id = (to_jsonb(NEW) ->> TG_ARGV[0])::uuid
            AND (s.visibility <> 'everybody' OR r.state <> 'published')
    ) THEN
        RAISE EXCEPTION 'sizes of a hidden or superseded revision would stay open to all' USING
            ERRCODE = 'integrity_constraint_violation', TABLE = TG_TABLE_NAME, CONSTRAINT = 'acceptance_is_open';
    END IF;
    RETURN NULL;
END
$$;
CREATE CONSTRAINT TRIGGER storage_system_hides_acceptances AFTER UPDATE ON storage_system
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION refuse_stray_acceptance('id');
CREATE CONSTRAINT TRIGGER revision_hides_acceptances AFTER UPDATE ON storage_system_revision
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION refuse_stray_acceptance('system_id');
"""

SIDES = [f"{end}_{axis}_nm" for end in ("least", "most") for axis in ("width", "depth", "height")]


def upgrade() -> None:
    op.create_table(
        "acceptance",
        sa.Column("institution_id", sa.Uuid, nullable=False),
        sa.Column("system_id", sa.Uuid, nullable=False),
        *(sa.Column(side, sa.BigInteger, nullable=False) for side in SIDES),
        sa.Column("piece", sa.Integer, nullable=False),
        sa.Column("revision_number", sa.Integer, nullable=False),
        sa.Column("edition", sa.Integer, nullable=False),
        sa.Column("turned", sa.Boolean, nullable=False),
        sa.Column("verdict", sa.Text, nullable=False),
        sa.Column("packed", sa.LargeBinary, nullable=False),
        sa.Column("into_code", sa.Text(collation="C"), nullable=False),
        sa.Column("pitch_nm", sa.BigInteger),
        sa.Column("free_positions", sa.BigInteger),
        sa.PrimaryKeyConstraint("institution_id", "system_id", "piece", name="acceptance_pkey"),
        sa.ForeignKeyConstraint(
            ["institution_id", "system_id", "revision_number"],
            [
                "storage_system_revision.institution_id",
                "storage_system_revision.system_id",
                "storage_system_revision.number",
            ],
            name="acceptance_revision",
            ondelete="CASCADE",
        ),
        sa.CheckConstraint("piece >= 1", name="acceptance_piece_form"),
        sa.CheckConstraint("verdict IN ('as_it_is', 'by_the_tray')", name="acceptance_verdict_known"),
        sa.CheckConstraint(
            "least_width_nm BETWEEN 1 AND most_width_nm AND least_depth_nm BETWEEN 1 AND most_depth_nm"
            " AND least_height_nm BETWEEN 1 AND most_height_nm",
            name="acceptance_box_form",
        ),
        sa.CheckConstraint("pitch_nm > 0", name="acceptance_pitch_form"),
        sa.CheckConstraint("octet_length(packed) = 64", name="acceptance_packed_form"),
    )
    by_size = ["verdict", *(f"{end}_{axis}_nm" for axis in ("width", "depth", "height") for end in ("most", "least"))]
    op.create_index("acceptance_by_size", "acceptance", by_size, postgresql_include=["packed"])
    op.create_index("acceptance_of_system", "acceptance", ["system_id"])
    op.create_index("acceptance_of_each_system", "acceptance", ["system_id"], postgresql_where=sa.text("piece = 1"))
    op.execute(RULES)
    op.execute(HIDE)


def downgrade() -> None:
    op.execute("DROP TRIGGER storage_system_hides_acceptances ON storage_system")
    op.execute("DROP TRIGGER revision_hides_acceptances ON storage_system_revision")
    op.drop_table("acceptance")
    op.execute("DROP FUNCTION refuse_stray_acceptance()")
