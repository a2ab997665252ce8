"""What stands where: rooms, cabinets and their positions, drawers and trays.

A place is the how-manieth tray of its drawer, in reading order. No two trays have one place, no two drawers share a
position, and a tray is in one place because its place is a part of its row. All of it holds in the database, at the
end of each statement, so that two trays may change places in one.
"""

from sqlalchemy import (
    DDL,
    BigInteger,
    CheckConstraint,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    Numeric,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
    event,
    text,
)
from sqlalchemy.dialects.postgresql import ARRAY, ExcludeConstraint

from service.store.tables.parts import CODE, CODE_FORM, changes, created_at, metadata

#: The same in the migration. A range of one cabinet only lets a cabinet stand beside ranges of positions in one index
#: of the kind that excludes overlaps, without an extension.
CABINET_RANGE = "CREATE TYPE cabinet_range AS RANGE (subtype = uuid)"
_LONGEST_NM = 100_000_000_000

room = Table(
    "room",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("name", Text, nullable=False),
    # The order in which one walks through them, which is the order in which they are filled.
    Column("walk_order", Integer, nullable=False, server_default=text("0")),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="room_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="room_institution"),
    UniqueConstraint("institution_id", "code", name="room_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="room_code_form"),
    CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="room_name_form"),
)

cabinet = Table(
    "cabinet",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("room_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("name", Text, nullable=False),
    Column("walk_order", Integer, nullable=False, server_default=text("0")),
    Column("column_count", SmallInteger, nullable=False),
    Column("positions_per_column", SmallInteger, nullable=False),
    # Codes of the drawers in the storage system that go in; none stated is unknown.
    Column("takes", ARRAY(CODE), nullable=False, server_default=text("'{}'")),
    # For drawings to scale.
    Column("opening_width_nm", BigInteger),
    Column("pitch_nm", BigInteger),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="cabinet_pkey"),
    ForeignKeyConstraint(["institution_id", "room_id"], ["room.institution_id", "room.id"], name="cabinet_room"),
    UniqueConstraint("institution_id", "code", name="cabinet_code_unique"),
    CheckConstraint(f"code ~ {CODE_FORM}", name="cabinet_code_form"),
    CheckConstraint("btrim(name) <> '' AND length(name) <= 200", name="cabinet_name_form"),
    CheckConstraint(
        "column_count BETWEEN 1 AND 20 AND positions_per_column BETWEEN 1 AND 500", name="cabinet_positions_form"
    ),
    CheckConstraint("cardinality(takes) <= 50 AND array_position(takes, NULL) IS NULL", name="cabinet_takes_form"),
    CheckConstraint(
        f"opening_width_nm BETWEEN 1 AND {_LONGEST_NM} AND pitch_nm BETWEEN 1 AND {_LONGEST_NM}",
        name="cabinet_lengths_form",
    ),
    Index("cabinet_of_room", "institution_id", "room_id"),
)

cabinet_position = Table(
    "cabinet_position",
    metadata,
    Column("institution_id", Uuid, nullable=False),
    Column("cabinet_id", Uuid, nullable=False),
    # From the top of the left column down, and then the next column.
    Column("number", SmallInteger, nullable=False),
    PrimaryKeyConstraint("institution_id", "cabinet_id", "number", name="cabinet_position_pkey"),
    ForeignKeyConstraint(
        ["institution_id", "cabinet_id"],
        ["cabinet.institution_id", "cabinet.id"],
        name="cabinet_position_cabinet",
        ondelete="CASCADE",
    ),
    CheckConstraint("number >= 1", name="cabinet_position_number_form"),
)

drawer = Table(
    "drawer",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("label", Text, nullable=False, server_default=text("''")),
    # The code of the drawer in the institution's storage system; what it fits is that system's affair.
    Column("style", CODE, nullable=False),
    Column("inner_width_nm", BigInteger, nullable=False),
    Column("inner_depth_nm", BigInteger, nullable=False),
    Column("clear_height_nm", BigInteger),
    # Of its inside, to be kept free for growth, where it is not what holds for all.
    Column("reserve_percent", Numeric(5, 2)),
    # A drawer stands in one position, or in none while it is out on a bench.
    Column("cabinet_id", Uuid),
    Column("position", SmallInteger),
    # A high drawer takes up further positions below its own.
    Column("positions", SmallInteger, nullable=False, server_default=text("1")),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="drawer_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="drawer_institution"),
    ForeignKeyConstraint(
        ["institution_id", "cabinet_id", "position"],
        ["cabinet_position.institution_id", "cabinet_position.cabinet_id", "cabinet_position.number"],
        name="drawer_position_exists",
    ),
    UniqueConstraint("institution_id", "code", name="drawer_code_unique"),
    ExcludeConstraint(
        (text("cabinet_range(cabinet_id, cabinet_id, '[]')"), "="),
        (text("int4range(position, position + positions)"), "&&"),
        using="gist",
        where=text("cabinet_id IS NOT NULL"),
        deferrable=True,
        name="drawer_alone_in_position",
    ),
    CheckConstraint(f"code ~ {CODE_FORM}", name="drawer_code_form"),
    CheckConstraint("length(label) <= 300", name="drawer_label_form"),
    CheckConstraint(f"style ~ {CODE_FORM}", name="drawer_style_form"),
    CheckConstraint(
        f"inner_width_nm BETWEEN 1 AND {_LONGEST_NM} AND inner_depth_nm BETWEEN 1 AND {_LONGEST_NM}",
        name="drawer_size_form",
    ),
    CheckConstraint(f"clear_height_nm BETWEEN 1 AND {_LONGEST_NM}", name="drawer_clear_height_form"),
    CheckConstraint("reserve_percent BETWEEN 0 AND 90", name="drawer_reserve_form"),
    CheckConstraint(
        "(cabinet_id IS NULL) = (position IS NULL) AND positions BETWEEN 1 AND 50", name="drawer_position_form"
    ),
)

tray = Table(
    "tray",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("code", CODE, nullable=False),
    Column("taxon", Text, nullable=False, server_default=text("''")),
    Column("label", Text, nullable=False, server_default=text("''")),
    # Nobody has counted, nobody has judged: unknown, and neither none nor well.
    Column("specimens", Integer),
    Column("curation_level", SmallInteger),
    Column("width_nm", BigInteger, nullable=False),
    Column("depth_nm", BigInteger, nullable=False),
    Column("height_nm", BigInteger),
    # Without a place a tray waits, on a bench or in quarantine.
    Column("drawer_id", Uuid),
    Column("place", Integer),
    *changes(),
    PrimaryKeyConstraint("institution_id", "id", name="tray_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="tray_institution"),
    ForeignKeyConstraint(["institution_id", "drawer_id"], ["drawer.institution_id", "drawer.id"], name="tray_drawer"),
    UniqueConstraint("institution_id", "code", name="tray_code_unique"),
    UniqueConstraint("institution_id", "drawer_id", "place", name="tray_alone_in_place", deferrable=True),
    CheckConstraint(f"code ~ {CODE_FORM}", name="tray_code_form"),
    CheckConstraint("length(taxon) <= 200 AND length(label) <= 300", name="tray_words_form"),
    CheckConstraint("specimens >= 0", name="tray_specimens_form"),
    CheckConstraint("curation_level BETWEEN 1 AND 8", name="tray_curation_level_form"),
    CheckConstraint(
        f"width_nm BETWEEN 1 AND {_LONGEST_NM} AND depth_nm BETWEEN 1 AND {_LONGEST_NM}"
        f" AND height_nm BETWEEN 1 AND {_LONGEST_NM}",
        name="tray_size_form",
    ),
    CheckConstraint("(drawer_id IS NULL) = (place IS NULL) AND place >= 1", name="tray_place_form"),
    Index("tray_of_taxon", "institution_id", "taxon"),
    Index("tray_unplaced", "institution_id", "code", postgresql_where=text("drawer_id IS NULL")),
)

#: Who carried what, by codes and not by keys, so that the tale outlives the things.
tray_move = Table(
    "tray_move",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("institution_id", Uuid, nullable=False),
    Column("tray", CODE, nullable=False),
    Column("from_drawer", CODE),
    Column("from_place", Integer),
    Column("to_drawer", CODE),
    Column("to_place", Integer),
    Column("moved_by", Text, nullable=False),
    Column("plan_id", Uuid),
    Column("step", Integer),
    created_at(),
    PrimaryKeyConstraint("institution_id", "id", name="tray_move_pkey"),
    ForeignKeyConstraint(["institution_id"], ["institution.id"], name="tray_move_institution"),
    CheckConstraint("btrim(moved_by) <> '' AND length(moved_by) <= 200", name="tray_move_person_named"),
    CheckConstraint("(plan_id IS NULL) = (step IS NULL)", name="tray_move_step_form"),
    Index("tray_move_by_age", "institution_id", "created_at", "id"),
    Index("tray_move_of_tray", "institution_id", "tray", "created_at", "id"),
)
event.listen(drawer, "before_create", DDL(CABINET_RANGE))  # type: ignore[no-untyped-call]
