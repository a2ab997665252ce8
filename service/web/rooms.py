"""Rooms and cabinets: where drawers stand."""

from typing import Any
from uuid import UUID

from service.actions.inventory import keeping
from service.paper.cabinet_fill_drawing import cabinet_fill_drawing
from service.store.inventory import standing
from service.store.inventory.rooms import KeptCabinet, KeptRoom, cabinets, rooms
from service.web.kit import negotiation, paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.inventory import (
    CabinetChangeSchema,
    KeptCabinetSchema,
    KeptRoomSchema,
    NewCabinetSchema,
    NewRoomSchema,
    RoomChangeSchema,
)
from service.web.transaction import transaction

rooms_resource = Blueprint(
    "rooms", __name__, url_prefix="/v1/rooms", description="Rooms, in the order in which one walks through them."
)
cabinets_resource = Blueprint(
    "cabinets", __name__, url_prefix="/v1/cabinets", description="Cabinets, and the positions that drawers stand in."
)
CABINETS = paging.page_of(KeptCabinetSchema)
ROOM, CABINET = "/<uuid:room_id>", "/<uuid:cabinet_id>"


def _room(kept: KeptRoom) -> Reply:
    return Reply(kept, version=kept.version, location=f"/v1/rooms/{kept.id}")


def _cabinet(kept: KeptCabinet) -> Reply:
    return Reply(kept, version=kept.version, location=f"/v1/cabinets/{kept.id}")


@rooms_resource.operation("GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(KeptRoomSchema))
def list_rooms(query: dict[str, Any]) -> Reply:
    """List your rooms, in the order of their codes.

    A room is where cabinets stand; they are listed apart.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        return page.answer(rooms.page(session, current_actor().own_institution(), page.at(0), page.size))


@rooms_resource.operation(
    "POST", "", scope="write", body=NewRoomSchema, returns=KeptRoomSchema, creates=True, errors=["code-taken"]
)
def create_room(body: dict[str, Any]) -> Reply:
    """Write a room down.

    Its code is your own, and no other room of yours may have it. Cabinets name their room by it.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        return _room(rooms.by_id(session, asker, rooms.make(session, asker, body)))


@rooms_resource.operation("GET", ROOM, scope="read", returns=KeptRoomSchema, conditional=True)
def get_room(room_id: UUID) -> Reply:
    """Read a room.

    Your own only; those of others are not found.
    """
    with transaction() as session:
        return _room(rooms.by_id(session, current_actor().own_institution(), room_id))


@rooms_resource.operation(
    "PUT", ROOM, scope="write", body=RoomChangeSchema, returns=KeptRoomSchema, conditional=True, errors=["code-taken"]
)
def change_room(room_id: UUID, body: dict[str, Any]) -> Reply:
    """Change a room.

    All that is said of it is replaced; the cabinets in it stay. The code may change, unless another room has it.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        rooms.change(session, asker, room_id, expected_version(), body)
        return _room(rooms.by_id(session, asker, room_id))


@rooms_resource.operation("DELETE", ROOM, scope="write", conditional=True, errors=["in-use"])
def delete_room(room_id: UUID) -> None:
    """Remove a room with no cabinet in it.

    Refused while a cabinet stands in it.
    """
    with transaction() as session:
        rooms.remove(session, current_actor().own_institution(), room_id, expected_version())


@cabinets_resource.operation(
    "GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(KeptCabinetSchema)
)
def list_cabinets(query: dict[str, Any]) -> Reply:
    """List your cabinets, in the order of their codes.

    What stands in them is read drawer by drawer, or as the whole inventory.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        return page.answer(cabinets.page(session, current_actor().own_institution(), page.at(0), page.size))


@cabinets_resource.operation(
    "POST", "", scope="write", body=NewCabinetSchema, returns=KeptCabinetSchema, creates=True, errors=["code-taken"]
)
def create_cabinet(body: dict[str, Any]) -> Reply:
    """Write a cabinet down, with all its positions empty.

    It stands in a room that is named by its code. Its code is your own, and no other cabinet of yours may have it.
    """
    actor = current_actor()
    with transaction() as session:
        made = keeping.make_cabinet(session, actor, body)
        return _cabinet(cabinets.by_id(session, actor.own_institution(), made))


@cabinets_resource.operation("GET", CABINET, scope="read", returns=KeptCabinetSchema, conditional=True)
def get_cabinet(cabinet_id: UUID) -> Reply:
    """Read a cabinet.

    Your own only; those of others are not found. What stands in it is on its drawing, and in the list of drawers.
    """
    with transaction() as session:
        return _cabinet(cabinets.by_id(session, current_actor().own_institution(), cabinet_id))


@cabinets_resource.operation(
    "PUT", CABINET, scope="write", body=CabinetChangeSchema, returns=KeptCabinetSchema, conditional=True,
    errors=["code-taken", "in-use"],
)  # fmt: skip
def change_cabinet(cabinet_id: UUID, body: dict[str, Any]) -> Reply:
    """Change a cabinet. A position that it is to have no more must be empty.

    All that is said of it is replaced, and it may go to another room with all that is in it. Refused while a drawer
    stands in a position that would be gone.
    """
    with transaction() as session:
        return _cabinet(keeping.change_cabinet(session, current_actor(), cabinet_id, expected_version(), body))


@cabinets_resource.operation("DELETE", CABINET, scope="write", conditional=True, errors=["in-use"])
def delete_cabinet(cabinet_id: UUID) -> None:
    """Remove a cabinet with no drawer in it.

    Refused while a drawer stands in it.
    """
    with transaction() as session:
        cabinets.remove(session, current_actor().own_institution(), cabinet_id, expected_version())


@cabinets_resource.operation("GET", CABINET + "/drawing", scope="read", media=[negotiation.SVG])
def get_cabinet_drawing(cabinet_id: UUID) -> Reply:
    """Draw the face of a cabinet as it stands: each drawer in its position, with its fill and its growth reserve.

    Seen from the front. Each drawer shows how far its trays reach, what is kept free for growth, and what is left.
    """
    asker = current_actor().own_institution()
    with transaction() as session:
        code = cabinets.by_id(session, asker, cabinet_id).code
        inventory = standing.whole(session, asker)
    return Reply(cabinet_fill_drawing(inventory, code))
