"""The event feed: what happened, in order, from any place on."""

from typing import Any
from uuid import UUID

from service.core.events import Event, EventType
from service.store import events as store
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.fields import Choice, Flag, List
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.events import EventFeedSchema, EventSchema
from service.web.transaction import transaction

events = Blueprint(
    "events",
    __name__,
    url_prefix="/v1/events",
    description="What happened to what is yours or concerns you, in an order into which nothing is ever put "
    "afterwards.",
)


class FeedQuery(paging.PageQuery):
    """From where to read, and what."""

    type = List(
        Choice(EventType),
        max_items=len(EventType),
        unique=True,
        metadata={"description": "only these; may be repeated"},
    )
    from_end = Flag(
        load_default=False,
        metadata={"description": "true, without a cursor: nothing of the past, only a cursor for what is to come"},
    )


@events.operation("GET", "", scope="read", query=FeedQuery, returns=EventFeedSchema)
def list_events(query: dict[str, Any]) -> Reply:
    """Read the events of your institution, the oldest first.

    Keep `next_cursor` and ask again with it, as often as you like: nothing is skipped and nothing comes twice,
    whatever happens at the same time. There is always one, also at the end of the feed, where `items` is empty. Both
    sides of a transfer are told of each of its facts and of the quarantines of what belongs to it, and those whom a
    consignment is offered to of its changes.

    Events are written with what somebody does. What nobody writes down has none: that a quarantine is over, or that
    an arrangement plan is overtaken, is seen by reading it.
    """
    # A place in the feed is a place whatever is asked for from there on, so the cursor is bound to nothing else.
    page = paging.page({name: query.get(name) for name in ("page_size", "cursor")}, (int,))
    me, types = current_actor().own_institution(), query.get("type", ())
    with transaction() as session:
        store.catch_up(session, me)
        end = store.last_position(session, me)
        begin = end if query["from_end"] and page.after is None else page.at(0) or 0
        found = store.after(session, me, begin, page.size + 1, types)
    shown, more = found[: page.size], len(found) > page.size
    last = shown[-1].position if shown else begin
    cursor = paging.encode(page.asked, (last if more else max(last, end),))
    return Reply(
        {"items": [event.as_json() for event in shown], "next_cursor": cursor, "more": more},
        headers={"Link": paging.link("next", cursor)},
    )


@events.operation("GET", "/<uuid:event_id>", scope="read", returns=EventSchema)
def get_event(event_id: UUID) -> dict[str, Any]:
    """Read one event of your feed.

    It is the same for everybody who is told of it. What it was about may have changed since: read that at its `href`.
    """
    me = current_actor().own_institution()
    with transaction() as session:
        store.catch_up(session, me)
        found: Event = store.by_id(session, me, event_id)
    return found.as_json()
