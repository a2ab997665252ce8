"""What an institution wishes to be called for."""

from dataclasses import dataclass

from service.core.events import EventType


@dataclass(frozen=True, slots=True)
class Wish:
    """What the institution says of a webhook. Without ``types`` it is called for every type of event."""

    url: str
    description: str = ""
    types: tuple[EventType, ...] = ()
    enabled: bool = True
