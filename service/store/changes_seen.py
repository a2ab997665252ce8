"""What has changed, for whoever sees it: the list that another database catches up from, and that misses nothing.

A change is noted by the database, in the transaction that makes it, under that transaction's number. Transactions end
in another order than they begin, so only what lies below the oldest one still running is shown: nothing can appear
there any more. What changes again moves on; what is gone, or no longer the asker's to see, stays as removed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final, NamedTuple
from uuid import UUID

from sqlalchemy import bindparam, text
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.orm import Session
from sqlalchemy.types import Text

#: Stand for everybody, and for every institution of this service, in the place of one that sees a change.
EVERYBODY: Final = UUID(int=0)
MEMBERS: Final = UUID(int=1)


class Kind(StrEnum):
    """What is kept track of."""

    INSTITUTION = "institution"
    STORAGE_SYSTEM = "storage_system"
    CONSIGNMENT = "consignment"
    TRANSFER = "transfer"


class Place(NamedTuple):
    """How far somebody has read."""

    changed_in: int
    kind: str
    thing_id: UUID


START: Final = Place(0, "", EVERYBODY)


@dataclass(frozen=True, slots=True)
class Change:
    """A thing that has changed since; as it is now is to be read at its own address."""

    kind: Kind
    thing_id: UUID
    removed: bool
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class Changes:
    """``reached`` is where to go on from, and ``more`` whether there is more already."""

    items: tuple[Change, ...]
    reached: Place
    more: bool


# Each branch runs along the index of one viewer and ends as soon as the page is full. An institution's own notes are
# left out of what everybody sees: it has them already.
_BRANCH = (
    "(SELECT kind, thing_id, removed, changed_at, changed_in FROM thing_change WHERE viewer_id = :{viewer}{others}"
    " AND (changed_in, kind, thing_id) > (:in, :kind, :thing) AND kind = ANY(:kinds)"
    " AND changed_in < pg_snapshot_xmin(pg_current_snapshot())::text::bigint"
    " ORDER BY changed_in, kind, thing_id LIMIT :rows)"
)
_OTHERS = " AND (institution_id <> :me OR kind = 'institution')"
_SINCE = text(
    " UNION ALL ".join(
        [
            _BRANCH.format(viewer="me", others=""),
            _BRANCH.format(viewer="everybody", others=_OTHERS),
            _BRANCH.format(viewer="members", others=_OTHERS),
        ]
    )
    + " ORDER BY changed_in, kind, thing_id LIMIT :rows"
).bindparams(bindparam("kinds", type_=ARRAY(Text)))


def since(session: Session, me: UUID, kinds: Sequence[Kind], place: Place, limit: int) -> Changes:
    """What has changed for an institution since a place, in the order of the changes."""
    bound = {"me": me, "everybody": EVERYBODY, "members": MEMBERS, "kinds": [kind.value for kind in kinds]}
    at = {"in": place.changed_in, "kind": place.kind, "thing": place.thing_id}
    rows = session.execute(_SINCE, bound | at | {"rows": limit + 1}).all()
    shown = rows[:limit]
    reached = Place(shown[-1].changed_in, shown[-1].kind, shown[-1].thing_id) if shown else place
    items = tuple(Change(Kind(row.kind), row.thing_id, row.removed, row.changed_at) for row in shown)
    return Changes(items, reached, len(rows) > limit)
