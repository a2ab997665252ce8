"""What each institution packs with. Who has written down none has a bench on which nothing is stated."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, select
from sqlalchemy.dialects.postgresql import insert
from sqlalchemy.orm import Session

from service.core.errors import StaleVersion
from service.core.parcels.stock import PackingBench
from service.store import codec
from service.store.changes import Change
from service.store.tables import packing_bench as table

WHAT = "packing bench"


@dataclass(frozen=True, slots=True)
class KeptBench:
    """``version`` is 0 where nothing was written down yet."""

    institution_id: UUID
    bench: PackingBench
    version: int = 0
    updated_at: datetime | None = None


_BY_ID = select(*table.c).where(table.c.institution_id == bindparam("the_institution"))
_MAKE = insert(table).on_conflict_do_nothing().returning(*table.c)
_CHANGE = Change(WHAT, table, "institution_id")


def of(session: Session, institution_id: UUID | None) -> KeptBench | None:
    """What an institution packs with; None for a private person."""
    if institution_id is None:
        return None
    row = session.execute(_BY_ID, {"the_institution": institution_id}).one_or_none()
    return KeptBench(institution_id, PackingBench()) if row is None else _kept(row)


def write(session: Session, institution_id: UUID, version: int, bench: PackingBench) -> KeptBench:
    """Write down one's own bench in place of that at ``version``, 0 being none."""
    content = codec.to_json(bench)
    if version:
        return _kept(_CHANGE.run(session, version, {"institution_id": institution_id}, content=content))
    row = session.execute(_MAKE, {"institution_id": institution_id, "content": content}).one_or_none()
    if row is None:
        known = of(session, institution_id)
        raise StaleVersion(WHAT, 0, known.version if known else 0)
    return _kept(row)


def _kept(row: Row[Any]) -> KeptBench:
    return KeptBench(row.institution_id, codec.from_json(PackingBench, row.content), row.version, row.updated_at)
