"""That institutions have something to be looked at, and not what: workers learn from here where to look."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import text
from sqlalchemy.orm import Session

_NOTE = text("INSERT INTO news (institution_id, due_at) VALUES (:whose, coalesce(:due_at, now()))")
_TAKE = text(
    "DELETE FROM news WHERE ctid = ANY (ARRAY("
    "SELECT ctid FROM news WHERE due_at <= now() ORDER BY due_at LIMIT :most FOR UPDATE SKIP LOCKED"
    ")) RETURNING institution_id"
)


def note(session: Session, institution_id: UUID, due_at: datetime | None = None) -> None:
    """Have somebody look after this institution, at once or from a moment on."""
    session.execute(_NOTE, {"whose": institution_id, "due_at": due_at})


def take(session: Session, most: int) -> tuple[int, tuple[UUID, ...]]:
    """Take what is due, so that nobody else does: how much it was, and which institutions."""
    rows = list(session.scalars(_TAKE, {"most": most}))
    return len(rows), tuple(dict.fromkeys(rows))
