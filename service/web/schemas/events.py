"""Events, as the feed lists them and webhooks send them."""

from service.core.events import EventType
from service.web.kit.fields import Choice, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.paging import LARGEST_PAGE
from service.web.kit.schema import Strict


class EventDataSchema(Strict):
    """What it happened to. Read it at `href`, as it is by now."""

    href = Text(max_length=300, required=True, metadata={"description": "under the address of this service"})
    subject_id = Uuid(required=True, metadata={"description": "id of what it happened to"})
    number = Int(
        min=1,
        max=2**31 - 1,
        metadata={
            "description": "of a transfer's fact in its chain; of a storage system's revision; of the last step of "
            "an arrangement plan that was carried out"
        },
    )
    made_by = Uuid(required=True, metadata={"description": "the institution that did it"})


class EventSchema(Strict):
    """Something that happened. The same event has the same id for everybody who is told of it."""

    id = Uuid(required=True, metadata={"description": "sent as webhook-id"})
    type = Choice(EventType, required=True)
    timestamp = Instant(required=True, metadata={"description": "when it was recorded"})
    data = Nested(EventDataSchema, required=True, metadata={"description": "what it happened to, and who did it"})


class EventFeedSchema(Strict):
    """Some events in their order, and where to go on."""

    items = List(Nested(EventSchema), max_items=LARGEST_PAGE, required=True)
    next_cursor = Text(
        max_length=1_000, required=True, metadata={"description": "keep it: the next request goes on from here"}
    )
    more = Flag(required=True, metadata={"description": "whether there are more to be had at once"})
