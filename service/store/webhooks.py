"""Who wants to be called when something happens. Each institution sees and changes its own."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, func, insert, select
from sqlalchemy.orm import Session

from service.core.deliveries import Disabled
from service.core.errors import NotFound
from service.core.events import EventType
from service.core.webhooks import Wish
from service.store.changes import Change
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import webhook as table
from service.store.tables import webhook_progress as progress_table


@dataclass(frozen=True, slots=True)
class Webhook:
    """``secret`` signs each message, and until ``former_until`` so does ``former_secret``."""

    institution_id: UUID
    id: UUID
    url: str
    description: str
    types: tuple[EventType, ...]
    enabled: bool
    disabled_because: Disabled | None
    secret: str = field(repr=False)
    former_secret: str | None = field(repr=False)
    former_until: datetime | None
    version: int
    created_at: datetime
    updated_at: datetime

    def good_secrets(self, now: datetime) -> tuple[str, ...]:
        """What a message is signed with at a moment, the newest first."""
        if self.former_secret is None or self.former_until is None or self.former_until <= now:
            return (self.secret,)
        return (self.secret, self.former_secret)

    def wants(self, kind: EventType) -> bool:
        return not self.types or kind in self.types


_MINE = table.c.institution_id == bindparam("me")
_BY_ID = select(*table.c).where(_MINE, table.c.id == bindparam("webhook_id"))
_COUNT = select(func.count()).select_from(table).where(_MINE)
_LIST = newest_first(select(*table.c).where(_MINE), table.c.created_at, table.c.id)
_MAKE = insert(table).returning(*table.c)
_BEGIN = insert(progress_table)
_CHANGE = Change("webhook", table, "institution_id", "id")


def make(session: Session, institution_id: UUID, wish: Wish, secret: str, read_to: int) -> Webhook:
    """A new webhook, which is called for what comes behind the place ``read_to`` of the feed."""
    values = {"institution_id": institution_id, "id": new_id(), "secret": secret, **_says(wish)}
    made = _webhook(session.execute(_MAKE, values).one())
    session.execute(_BEGIN, {"institution_id": institution_id, "webhook_id": made.id, "read_to": read_to})
    return made


def by_id(session: Session, institution_id: UUID, webhook_id: UUID) -> Webhook:
    """:raises NotFound: when the institution has no such webhook."""
    row = session.execute(_BY_ID, {"me": institution_id, "webhook_id": webhook_id}).one_or_none()
    if row is None:
        raise NotFound("webhook", webhook_id)
    return _webhook(row)


def count(session: Session, institution_id: UUID) -> int:
    """How many an institution has."""
    return session.scalar(_COUNT, {"me": institution_id}) or 0


def page(session: Session, institution_id: UUID, after: Age | None, limit: int) -> Page[Webhook, Age]:
    """An institution's webhooks, the newest first."""
    return page_by_age(session, _LIST, after, limit, _webhook, me=institution_id)


def change(session: Session, webhook: Webhook, version: int, wish: Wish) -> Webhook:
    """Change what is wished, if the webhook still is at ``version``."""
    because = None if wish.enabled or webhook.disabled_because is None else webhook.disabled_because.value
    return _webhook(_CHANGE.run(session, version, _key(webhook), disabled_because=because, **_says(wish)))


def change_secret(session: Session, webhook: Webhook, version: int, secret: str, former_until: datetime) -> Webhook:
    """Sign with another secret from now on, and with the one before it as well until ``former_until``."""
    values = {"secret": secret, "former_secret": webhook.secret, "former_until": former_until}
    return _webhook(_CHANGE.run(session, version, _key(webhook), **values))


def disable(session: Session, webhook: Webhook, why: Disabled) -> None:
    """Call it no more, until its owner enables it again."""
    _CHANGE.run(session, webhook.version, _key(webhook), enabled=False, disabled_because=why.value)


def remove(session: Session, webhook: Webhook, version: int) -> None:
    """Remove a webhook, with the log of its attempts and what was still to be sent."""
    _CHANGE.remove(session, version, _key(webhook))


def _says(wish: Wish) -> dict[str, object]:
    return {
        "url": wish.url,
        "description": wish.description,
        "types": [one.value for one in wish.types],
        "enabled": wish.enabled,
    }


def _key(webhook: Webhook) -> dict[str, object]:
    return {"institution_id": webhook.institution_id, "id": webhook.id}


def _webhook(row: Row[Any]) -> Webhook:
    known = {column.name: getattr(row, column.name) for column in table.c}
    because = known["disabled_because"]
    read = {
        "types": tuple(map(EventType, known["types"])),
        "disabled_because": None if because is None else Disabled(because),
    }
    return Webhook(**(known | read))
