"""Showing what an institution has settled once for itself: its parts, whose it is, and at which version."""

from typing import Any

from service.store.settled import Settled
from service.web.kit.operation import Reply


def settled_reply(found: Settled[Any]) -> Reply:
    """The answer to whoever reads it or has just changed it."""
    said = {name: getattr(found.content, name) for name in found.content.__dataclass_fields__}
    about = {name: getattr(found, name) for name in ("institution_id", "version", "updated_at")}
    return Reply(said | about, version=found.version)
