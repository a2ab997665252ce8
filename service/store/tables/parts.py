"""What the tables are written with: the one register of them, and the columns and forms that recur."""

from sqlalchemy import (
    CheckConstraint,
    Column,
    DateTime,
    ForeignKeyConstraint,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB

metadata = MetaData()

CODE = Text(collation="C")
CODE_FORM = "'^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'"
SHA256_FORM = "'^[0-9a-f]{64}$'"


def moment(name: str, nullable: bool = True) -> Column[object]:
    return Column(name, DateTime(timezone=True), nullable=nullable)


def created_at() -> Column[object]:
    return Column("created_at", DateTime(timezone=True), nullable=False, server_default=text("now()"))


def changes() -> tuple[Column[object], ...]:
    """What every row has that can change: the version that a change must name, and when it was last changed."""
    return (
        Column("version", Integer, nullable=False, server_default=text("1")),
        created_at(),
        Column("updated_at", DateTime(timezone=True), nullable=False, server_default=text("now()")),
    )


def settled_once(name: str) -> Table:
    """A table of what each institution settles once for itself; see ``store/settled.py``."""
    return Table(
        name,
        metadata,
        Column("institution_id", Uuid, nullable=False),
        Column("content", JSONB, nullable=False),
        *changes(),
        PrimaryKeyConstraint("institution_id", name=f"{name}_pkey"),
        ForeignKeyConstraint(["institution_id"], ["institution.id"], name=f"{name}_institution"),
        CheckConstraint("jsonb_typeof(content) = 'object'", name=f"{name}_content_form"),
    )
