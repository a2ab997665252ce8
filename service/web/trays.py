"""Trays, and carrying them from place to place."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import handling
from service.actions.inventory import keeping, moving
from service.actions.inventory.moving import WantedMove
from service.store.inventory import moves as kept_moves
from service.store.inventory.moves import Carried
from service.store.inventory.trays import KeptTray, trays
from service.store.paging import Age
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Code
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.inventory import (
    KeptTraySchema,
    MovesDoneSchema,
    NewTraySchema,
    OneTraySchema,
    TrayChangeSchema,
    TrayMoveSchema,
    WantedMovesSchema,
)
from service.web.schemas.parts import Handling
from service.web.transaction import transaction

trays_resource = Blueprint(
    "trays", __name__, url_prefix="/v1/trays", description="Unit trays: what is in each, and where it stands."
)
tray_moves = Blueprint(
    "tray-moves",
    __name__,
    url_prefix="/v1/tray-moves",
    description="Trays that are carried from place to place, and the book of who carried which.",
)
ONE = "/<uuid:tray_id>"


class MovesQuery(paging.PageQuery):
    """Which moves to list."""

    tray = Code(metadata={"description": "only those of this tray", "example": "T-0007"})


_PAGE = paging.page_of(KeptTraySchema, handling=Handling(required=True))
_SHOWN = tuple(KeptTraySchema().fields)


def _reply(session: Session, kept: KeptTray) -> Reply:
    minded = handling.of_trays(session, current_actor().own_institution(), [kept.code])
    shown = {name: getattr(kept, name) for name in _SHOWN} | {"handling": minded}
    return Reply(shown, version=kept.version, location=f"/v1/trays/{kept.id}")


@trays_resource.operation("GET", "", scope="read", query=paging.PageQuery, returns=_PAGE)
def list_trays(query: dict[str, Any]) -> Reply:
    """List your trays, in the order of their codes.

    Each with what is in it and where it stands.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        asker = current_actor().own_institution()
        found = trays.page(session, asker, page.at(0), page.size)
        minded = handling.of_trays(session, asker, [tray.code for tray in found.items])
    return page.answer(found, handling=minded)


@trays_resource.operation(
    "POST", "", scope="write", body=NewTraySchema, returns=OneTraySchema, creates=True,
    errors=["code-taken", "place-taken", "outside-drawer", "in-quarantine"],
)  # fmt: skip
def create_tray(body: dict[str, Any]) -> Reply:
    """Write a tray down: in a place that is free, behind what stands in its drawer, or waiting for a place.

    Refused where its place is taken, where the drawer has no room for it, and where it is in quarantine. Without a
    drawer it waits for one, and an arrangement plan can take it in.
    """
    actor = current_actor()
    with transaction() as session:
        made = keeping.make_tray(session, actor, body)
        return _reply(session, trays.by_id(session, actor.own_institution(), made))


@trays_resource.operation("GET", ONE, scope="read", returns=OneTraySchema, conditional=True)
def get_tray(tray_id: UUID) -> Reply:
    """Read a tray, and where it stands.

    Your own only; those of others are not found. Its label leads here.
    """
    with transaction() as session:
        return _reply(session, trays.by_id(session, current_actor().own_institution(), tray_id))


@trays_resource.operation(
    "PUT", ONE, scope="write", body=TrayChangeSchema, returns=OneTraySchema, conditional=True,
    errors=["code-taken", "outside-drawer"],
)  # fmt: skip
def change_tray(tray_id: UUID, body: dict[str, Any]) -> Reply:
    """Change what is said of a tray. It stays where it stands: carrying it is a move.

    All that is said of it is replaced. Refused where it would be too large for the drawer in which it stands.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        trays.change(session, asker, tray_id, expected_version(), body)
        return _reply(session, trays.by_id(session, asker, tray_id))


@trays_resource.operation("DELETE", ONE, scope="write", conditional=True)
def delete_tray(tray_id: UUID) -> None:
    """Remove a tray that is there no more. What was written down of its moves stays.

    Its place is free from now on.
    """
    with transaction() as session:
        trays.remove(session, current_actor().own_institution(), tray_id, expected_version())


@tray_moves.operation("GET", "", scope="read", query=MovesQuery, returns=paging.page_of(TrayMoveSchema))
def list_tray_moves(query: dict[str, Any]) -> Reply:
    """List who carried which tray from where to where, the latest first.

    Moves that were made one by one, and steps of arrangement plans alike. Nothing is ever removed from this list.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        asker = current_actor().own_institution()
        return page.answer(kept_moves.page(session, asker, page.position(Age), page.size, query.get("tray")))


@tray_moves.operation(
    "POST", "", scope="write", body=WantedMovesSchema, returns=MovesDoneSchema, moves=True,
    errors=["place-taken", "outside-drawer", "tray-elsewhere", "in-quarantine"],
)  # fmt: skip
def move_trays(body: dict[str, Any]) -> Reply:
    """Carry trays: all of them or none.

    Two who carry trays to one place get one of them there; the other is told that the place is taken. Name
    `from_drawer` to be told when a tray is no longer where you believe it to be.
    """
    wanted: Sequence[WantedMove] = [WantedMove(**each) for each in body["moves"]]
    with transaction() as session:
        told: list[Carried] = moving.move(session, current_actor(), body["by"], wanted)
    return Reply({"moves": told})
