"""Showing things together with what other databases call them."""

from collections.abc import Mapping
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.identifiers import Kind
from service.store import identifiers as store
from service.store.paging import Page

P = TypeVar("P")

_PLACES: Mapping[Kind, str] = {
    Kind.INSTITUTION: "/v1/institutions/{}",
    Kind.STORAGE_SYSTEM: "/v1/storage-systems/{}",
    Kind.CONSIGNMENT: "/v1/consignments/{}",
    Kind.CONSIGNMENT_LINE: "/v1/consignments/{}",
    Kind.LOT: "/v1/consignments/{}/lots",
    Kind.TRANSFER: "/v1/transfers/{}",
}


def address(kind: Kind, thing_id: UUID) -> str:
    """Where a thing is to be read."""
    return _PLACES[kind].format(thing_id)


def named(session: Session, thing: Any) -> dict[str, Any]:
    """One thing with its names."""
    return _shown(thing, store.of_things(session, [thing.id]))


def all_named(session: Session, found: Page[Any, P]) -> Page[dict[str, Any], P]:
    """A page of things with their names."""
    names = store.of_things(session, [thing.id for thing in found.items])
    return Page(tuple(_shown(thing, names) for thing in found.items), found.next)


def _shown(thing: Any, names: Mapping[UUID, Any]) -> dict[str, Any]:
    said = {name: getattr(thing, name) for name in thing.__dataclass_fields__}
    return said | {"identifiers": names.get(thing.id, ())}
