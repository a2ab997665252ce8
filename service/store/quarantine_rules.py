"""The quarantine rules that each institution publishes. Who has published none works by the handbook's."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, select
from sqlalchemy.dialects.postgresql import insert
from sqlalchemy.orm import Session

from service.core.care.regimes import QuarantineRules
from service.core.errors import StaleVersion
from service.store import codec
from service.store.changes import Change
from service.store.tables import quarantine_rules as table

WHAT = "set of quarantine rules"


@dataclass(frozen=True, slots=True)
class Published:
    """``version`` is 0 where nothing was published yet."""

    institution_id: UUID
    rules: QuarantineRules
    version: int = 0
    updated_at: datetime | None = None


_BY_ID = select(*table.c).where(table.c.institution_id == bindparam("the_institution"))
_MAKE = insert(table).on_conflict_do_nothing().returning(*table.c)
_CHANGE = Change(WHAT, table, "institution_id")


def of(session: Session, institution_id: UUID) -> Published:
    """What an institution published, or the handbook's rules."""
    row = session.execute(_BY_ID, {"the_institution": institution_id}).one_or_none()
    return Published(institution_id, QuarantineRules()) if row is None else _published(row)


def publish(session: Session, institution_id: UUID, version: int, rules: QuarantineRules) -> Published:
    """Publish one's own rules in place of those at ``version``, 0 being none."""
    content = codec.to_json(rules)
    if version:
        return _published(_CHANGE.run(session, version, {"institution_id": institution_id}, content=content))
    row = session.execute(_MAKE, {"institution_id": institution_id, "content": content}).one_or_none()
    if row is None:
        raise StaleVersion(WHAT, 0, of(session, institution_id).version)
    return _published(row)


def _published(row: Row[Any]) -> Published:
    return Published(row.institution_id, codec.from_json(QuarantineRules, row.content), row.version, row.updated_at)
