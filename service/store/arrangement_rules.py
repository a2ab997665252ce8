"""What each institution has settled about the order that it keeps. Who has settled nothing has the usual rules."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, select
from sqlalchemy.dialects.postgresql import insert
from sqlalchemy.orm import Session

from service.core.arrangement.rules import ArrangementRules
from service.core.errors import StaleVersion
from service.store import codec
from service.store.changes import Change
from service.store.tables import arrangement_rules as table

WHAT = "set of arrangement rules"


@dataclass(frozen=True, slots=True)
class KeptRules:
    """``version`` is 0 where nothing was settled yet."""

    rules: ArrangementRules
    version: int = 0
    updated_at: datetime | None = None


_OWN = select(*table.c).where(table.c.institution_id == bindparam("asker"))
_MAKE = insert(table).on_conflict_do_nothing().returning(*table.c)
_CHANGE = Change(WHAT, table, "institution_id")


def of(session: Session, institution_id: UUID) -> KeptRules:
    row = session.execute(_OWN, {"asker": institution_id}).one_or_none()
    return KeptRules(ArrangementRules()) if row is None else _kept(row)


def settle(session: Session, institution_id: UUID, version: int, rules: ArrangementRules) -> KeptRules:
    """Put rules in place of those at ``version``, 0 being none.

    :raises StaleVersion: when others have been settled since.
    """
    content = codec.to_json(rules)
    if version:
        return _kept(_CHANGE.run(session, version, {"institution_id": institution_id}, content=content))
    row = session.execute(_MAKE, {"institution_id": institution_id, "content": content}).one_or_none()
    if row is None:
        raise StaleVersion(WHAT, 0, of(session, institution_id).version)
    return _kept(row)


def _kept(row: Row[Any]) -> KeptRules:
    return KeptRules(codec.from_json(ArrangementRules, row.content), row.version, row.updated_at)
