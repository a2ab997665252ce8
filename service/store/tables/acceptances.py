"""What the published storage systems take, as boxes of sizes: made from the revisions, and made anew from them."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    PrimaryKeyConstraint,
    Table,
    Text,
    Uuid,
    text,
)

from service.store.tables.parts import CODE, metadata

AXES = ("width", "depth", "height")
#: From the least to the most along each axis, in whole nanometres.
SIDES = tuple(f"{end}_{axis}_nm" for end in ("least", "most") for axis in AXES)

acceptance = Table(
    "acceptance",
    metadata,
    # What is searched by comes first and has a fixed width: a row is then passed over at the least cost.
    Column("institution_id", Uuid, nullable=False),
    Column("system_id", Uuid, nullable=False),
    *(Column(side, BigInteger, nullable=False) for side in SIDES),
    Column("piece", Integer, nullable=False),
    Column("revision_number", Integer, nullable=False),
    Column("edition", Integer, nullable=False),
    Column("turned", Boolean, nullable=False),
    Column("verdict", Text, nullable=False),
    # The system's id and the six sides once more as 64 bytes, so that many boxes can be handed over as one value.
    Column("packed", LargeBinary, nullable=False),
    Column("into_code", CODE, nullable=False),
    Column("pitch_nm", BigInteger),
    Column("free_positions", BigInteger),
    PrimaryKeyConstraint("institution_id", "system_id", "piece", name="acceptance_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "system_id", "revision_number"],
        [
            "storage_system_revision.institution_id",
            "storage_system_revision.system_id",
            "storage_system_revision.number",
        ],
        name="acceptance_revision",
        ondelete="CASCADE",
    ),
    CheckConstraint("piece >= 1", name="acceptance_piece_form"),
    CheckConstraint("verdict IN ('as_it_is', 'by_the_tray')", name="acceptance_verdict_known"),
    CheckConstraint(
        "least_width_nm BETWEEN 1 AND most_width_nm AND least_depth_nm BETWEEN 1 AND most_depth_nm"
        " AND least_height_nm BETWEEN 1 AND most_height_nm",
        name="acceptance_box_form",
    ),
    CheckConstraint("pitch_nm > 0", name="acceptance_pitch_form"),
    CheckConstraint("octet_length(packed) = 64", name="acceptance_packed_form"),
    Index(
        "acceptance_by_size",
        "verdict",
        "most_width_nm",
        "least_width_nm",
        "most_depth_nm",
        "least_depth_nm",
        "most_height_nm",
        "least_height_nm",
        postgresql_include=["packed"],
    ),
    Index("acceptance_of_system", "system_id"),
    Index("acceptance_of_each_system", "system_id", postgresql_where=text("piece = 1")),
)
