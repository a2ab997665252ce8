"""What other databases call the things of this one: looked up, read and given."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import naming
from service.actions.naming import LineName
from service.core.identifiers import Identifier, Kind, NotAnIdentifier, identifier
from service.store import identifiers as store
from service.store.identifiers import Named, Place, Wanted
from service.store.paging import Page
from service.web import names
from service.web.kit import paging
from service.web.kit.auth import Door, current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Choice, Code, List, Nested, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.problems import Fault, Refusal, invalid
from service.web.kit.schema import Strict
from service.web.schemas.consignment import MOST_LINES
from service.web.schemas.identifiers import (
    MOST_IDENTIFIERS,
    Identifiers,
    IdentifierSchema,
    NamedThingSchema,
    read_identifier,
    scheme_text,
)
from service.web.transaction import transaction

external_identifiers = Blueprint(
    "external-identifiers",
    __name__,
    url_prefix="/v1",
    description="What other databases call the things of this one. Whoever sees a thing may name it; its owner's and "
    "its sides' names are read by everybody who sees it. A record identifier finds the lots sent with it.",
)


class LookUpQuery(paging.PageQuery):
    """Which names to look up."""

    scheme = scheme_text()
    value = Text(max_length=500, metadata={"description": "what it is called", "example": "015hz7p22"})
    kind = Choice(Kind, metadata={"description": "only of things of this kind"})
    thing_id = Uuid(metadata={"description": "only what this thing, or a line of it, is called"})


class NamesSchema(Strict):
    """What a thing is called."""

    items = List(Nested(NamedThingSchema), max_items=100_000, required=True)


class GivenNamesSchema(Strict):
    """Your own names for a thing; those that you gave before and that are left out fall."""

    identifiers = Identifiers(required=True)


class LineNameSchema(IdentifierSchema):
    """A name for a transfer, or for a line of it."""

    makes = staticmethod(lambda scheme, value, line=None: LineName(read_identifier(scheme, value), line))
    line = Code(metadata={"description": "key of the line; left out: the transfer itself"})


class TransferNamesSchema(Strict):
    """Your own names for a transfer and its lines."""

    identifiers = List(
        Nested(LineNameSchema),
        max_items=MOST_LINES + MOST_IDENTIFIERS,
        required=True,
        metadata={"description": "all names that you give; those left out fall"},
    )


@external_identifiers.operation(
    "GET", "/external-identifiers", scope="public", query=LookUpQuery, returns=paging.page_of(NamedThingSchema)
)
def look_up_identifiers(query: dict[str, Any]) -> Reply:
    """Look up things by what another database calls them.

    By scheme and value, or all names of one thing. Names of one institution are unique among its things of a kind;
    lines and lots may share theirs. By the scheme `record`, lots are found by their record in the sender's database.
    """
    page = paging.page(query, (str, str, str, UUID, UUID, str))
    wanted = _wanted(query)
    with transaction() as session:
        found = store.page(session, wanted, page.position(Place), page.size)
    return page.answer(Page(tuple(map(_shown, found.items)), found.next))


def _wanted(query: dict[str, Any]) -> Wanted:
    """Both together are taken in their one spelling, so that a ROR id is found by its last nine characters too."""
    scheme, value = query.get("scheme"), query.get("value")
    if scheme and value:
        try:
            value = identifier(scheme, value).value
        except NotAnIdentifier as error:
            raise invalid([Fault("value", str(error), "parameter")]) from error
    return Wanted(scheme, value, query.get("kind"), query.get("thing_id"))


def _shown(one: Named) -> dict[str, Any]:
    said = {name: getattr(one, name) for name in ("scheme", "value", "given_by", "kind", "thing_id", "line")}
    return said | {"href": names.address(one.kind, one.thing_id)}


def _names(session: Session, kind: Kind, thing_id: UUID) -> Reply:
    found = naming.names_of(session, kind, thing_id)
    return Reply({"items": [_shown(one) for one in found]}, version=naming.version_of(found))


def _check(session: Session, kind: Kind, thing_id: UUID) -> None:
    version = naming.take_turns(session, current_actor(), kind, thing_id)
    if version != expected_version():
        raise Refusal(
            "stale-version", "What this is called has changed since you read it. Read it again, and say it anew."
        )


def _given(kind: Kind, thing_id: UUID, given: Sequence[Identifier]) -> Reply:
    with transaction() as session:
        _check(session, kind, thing_id)
        naming.name(session, current_actor(), kind, thing_id, given)
        return _names(session, kind, thing_id)


def _reading(kind: Kind, path: str, called: str, scope: Door) -> None:
    def view(**at: UUID) -> Reply:
        with transaction() as session:
            return _names(session, kind, *at.values())

    view.__name__ = f"get_{kind.value}_identifiers"
    view.__doc__ = (
        f"Read what {called} is called.\n\nEach name stands with the institution that gave it. Names of its lines are"
        " among them, where it has lines."
    )
    external_identifiers.operation("GET", f"{path}/identifiers", scope=scope, returns=NamesSchema, conditional=True)(
        view
    )


def _giving(kind: Kind, path: str, called: str, scope: Door) -> None:
    def view(body: dict[str, Any], **at: UUID) -> Reply:
        (thing_id,) = at.values()
        return _given(kind, thing_id, body["identifiers"])

    view.__name__ = f"change_{kind.value}_identifiers"
    view.__doc__ = (
        f"Say what you call {called}.\n\nReplaces your own names for it; those that others gave stay as they are."
    )
    external_identifiers.operation(
        "PUT", f"{path}/identifiers", scope=scope, body=GivenNamesSchema, returns=NamesSchema,
        conditional=True, errors=["identifier-taken", "forbidden"],
    )(view)  # fmt: skip


_reading(Kind.INSTITUTION, "/institutions/<uuid:institution_id>", "an institution", "public")
_giving(Kind.INSTITUTION, "/institutions/<uuid:institution_id>", "your own institution", "admin")
_reading(Kind.STORAGE_SYSTEM, "/storage-systems/<uuid:system_id>", "a storage system", "public")
_giving(Kind.STORAGE_SYSTEM, "/storage-systems/<uuid:system_id>", "a storage system", "write")
_reading(Kind.CONSIGNMENT, "/consignments/<uuid:consignment_id>", "a consignment", "read")
_giving(Kind.CONSIGNMENT, "/consignments/<uuid:consignment_id>", "a consignment", "write")
_reading(Kind.TRANSFER, "/transfers/<uuid:transfer_id>", "a transfer", "read")


@external_identifiers.operation(
    "PUT", "/transfers/<uuid:transfer_id>/identifiers", scope="write", body=TransferNamesSchema,
    returns=NamesSchema, conditional=True, errors=["identifier-taken"],
)  # fmt: skip
def change_transfer_identifiers(transfer_id: UUID, body: dict[str, Any]) -> Reply:
    """Say what you call a transfer and its lines.

    Each side does so for itself, at any time: the text that both signed is not touched.
    """
    with transaction() as session:
        _check(session, Kind.TRANSFER, transfer_id)
        naming.name_transfer(session, current_actor(), transfer_id, body["identifiers"])
        return _names(session, Kind.TRANSFER, transfer_id)
