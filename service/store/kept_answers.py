"""Answers that were given under an Idempotency-Key, kept in the transaction of the work they answer for.

Two locks: one of the transaction, which a second asker fails to get while the first is at work; and the key of the
row, which holds whatever happens.
"""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import bindparam, insert, select, text
from sqlalchemy.orm import Session

from service.store.tables import kept_answer as table


@dataclass(frozen=True, slots=True)
class Kept:
    """``fingerprint`` is the digest of the request that was answered so."""

    fingerprint: str
    status: int
    headers: dict[str, str]
    body: str


_TRY = text("SELECT pg_try_advisory_xact_lock(hashtextextended(:what, 0))")
_FIND = select(table.c.fingerprint, table.c.status, table.c.headers, table.c.body).where(
    table.c.institution_id == bindparam("the_institution"),
    table.c.operation == bindparam("the_operation"),
    table.c.key == bindparam("the_key"),
)
_KEEP = insert(table)
_FORGET = text(
    "DELETE FROM kept_answer WHERE institution_id = :the_institution AND created_at < now() - interval '30 days'"
    " RETURNING key"
)


def is_free(session: Session, institution_id: UUID, operation: str, key: str) -> bool:
    """Whether nobody else is at work under this key; if so, nobody else will be until the transaction is over."""
    return bool(session.scalar(_TRY, {"what": f"answer:{institution_id}:{operation}:{key}"}))


def find(session: Session, institution_id: UUID, operation: str, key: str) -> Kept | None:
    """The answer given earlier. A statement of its own, after :func:`is_free`, so that it sees what was committed."""
    bound = {"the_institution": institution_id, "the_operation": operation, "the_key": key}
    row = session.execute(_FIND, bound).one_or_none()
    return None if row is None else Kept(*row)


def keep(session: Session, institution_id: UUID, operation: str, key: str, answer: Kept) -> None:
    """Keep an answer with the work that it answers for."""
    values: dict[str, Any] = {
        "institution_id": institution_id,
        "operation": operation,
        "key": key,
        "fingerprint": answer.fingerprint,
        "status": answer.status,
        "headers": answer.headers,
        "body": answer.body,
    }
    session.execute(_KEEP, values)


def forget_old(session: Session, institution_id: UUID) -> int:
    """Throw away an institution's answers that are older than thirty days; how many there were."""
    return len(session.execute(_FORGET, {"the_institution": institution_id}).all())
