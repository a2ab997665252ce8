"""What has changed since somebody last looked: the list that a nightly job catches up from."""

from typing import Any

from service.core.identifiers import Kind as Named
from service.store import changes_seen as store
from service.store import identifiers
from service.store.changes_seen import START, Change, Kind, Place
from service.web import names
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.paging import LARGEST_PAGE, USUAL_PAGE
from service.web.kit.schema import Parameters, Strict
from service.web.schemas.identifiers import GivenIdentifiers
from service.web.transaction import transaction

changes = Blueprint(
    "changes",
    __name__,
    url_prefix="/v1/changes",
    description="What has changed since you last looked, each thing once however often it changed.",
)
_LONGEST = 1_000


class ChangesQuery(Parameters):
    """From where on, and of what."""

    updated_since = Text(
        max_length=_LONGEST,
        metadata={
            "description": "updated_since of the answer before; left out: everything that there is",
            "example": "WzEsIjAiLCI3NDIiLCJjb25zaWdubWVudCJd",
        },
    )
    kind = List(
        Choice(Kind),
        min_items=1,
        max_items=4,
        unique=True,
        metadata={"description": "left out: all", "example": ["consignment"]},
    )
    page_size = Int(
        min=1, max=LARGEST_PAGE, load_default=USUAL_PAGE, metadata={"description": "most items of a page"}
    )


class SeenChangeSchema(Strict):
    """A thing that has changed."""

    kind = Choice(Kind, required=True)
    id = Uuid(required=True)
    href = Text(max_length=300, required=True, metadata={"description": "where to read it as it is now"})
    removed = Flag(required=True, metadata={"description": "true: it is gone, or no longer yours to see"})
    changed_at = Instant(required=True, metadata={"description": "for people; the order is that of the list"})
    identifiers = GivenIdentifiers()


class SeenChangesSchema(Strict):
    """Some of what has changed, in the order in which it did."""

    items = List(Nested(SeenChangeSchema), max_items=LARGEST_PAGE, required=True)
    updated_since = Text(
        max_length=_LONGEST, required=True, metadata={"description": "keep this, and send it with your next question"}
    )
    more = Flag(required=True, metadata={"description": "true: ask on at once"})


@changes.operation("GET", "", scope="read", query=ChangesQuery, returns=SeenChangesSchema)
def list_changes(query: dict[str, Any]) -> Reply:
    """List what has changed since you last asked.

    Institutions, storage systems and their revisions, consignments with their lines and lots, transfers with their
    facts and permits, as far as you see them. Nothing is ever missed: a change shows once it is certain that no
    earlier one is still to come, which takes as long as the oldest transaction under way. What changes again comes
    again; of what is removed, the last that is said is `removed`.
    """
    kinds = query.get("kind") or tuple(Kind)
    asked = paging.fingerprint({"kind": sorted(kinds)})
    place = _place(query.get("updated_since"), asked)
    with transaction() as session:
        found = store.since(session, current_actor().own_institution(), kinds, place, query["page_size"])
        called = identifiers.of_things(session, [one.thing_id for one in found.items])
    items = [_shown(one) | {"identifiers": called.get(one.thing_id, ())} for one in found.items]
    return Reply({"items": items, "updated_since": paging.encode(asked, found.reached), "more": found.more})


def _place(since: str | None, asked: str) -> Place:
    if since is None:
        return START
    return Place(*paging.decode(since, asked, (int, str, paging.BY_AGE[1]), parameter="updated_since"))


def _shown(one: Change) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "id": one.thing_id,
        "href": names.address(Named(one.kind.value), one.thing_id),
        "removed": one.removed,
        "changed_at": one.changed_at,
    }
