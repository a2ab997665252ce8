"""Writing rooms, cabinets, drawers and trays down, one at a time; what one stands in is named by its code."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.inventory.places import Places
from service.core.actor import Actor
from service.core.errors import Invalid
from service.store.inventory.drawers import drawers
from service.store.inventory.rooms import KeptCabinet, cabinets, lay_out, rooms
from service.store.inventory.trays import trays

Said = Mapping[str, Any]


def make_cabinet(session: Session, actor: Actor, said: Said) -> UUID:
    """A cabinet, with all its positions empty.

    :raises Invalid: when there is no such room.
    """
    asker = actor.own_institution()
    made = cabinets.make(session, asker, _with_room(session, asker, said))
    lay_out(session, asker, made)
    return made


def change_cabinet(session: Session, actor: Actor, cabinet_id: UUID, version: int, said: Said) -> KeptCabinet:
    """Change a cabinet; positions that it has no more must be empty."""
    asker = actor.own_institution()
    cabinets.by_id(session, asker, cabinet_id)
    cabinets.change(session, asker, cabinet_id, version, _with_room(session, asker, said))
    lay_out(session, asker, cabinet_id)
    return cabinets.by_id(session, asker, cabinet_id)


def _with_room(session: Session, asker: UUID, said: Said) -> dict[str, Any]:
    room_id = rooms.id_of(session, asker, "room", said["room"])
    stated = {name: value for name, value in said.items() if name != "room"}
    return stated | {"room_id": room_id, "takes": list(said["takes"])}


def with_position(session: Session, actor: Actor, said: Said) -> dict[str, Any]:
    """What is kept of a drawer, with the id of the cabinet that its code names.

    :raises Invalid: when there is no such cabinet or it has no such position, or one is named without the other.
    """
    stated = {name: value for name, value in said.items() if name != "cabinet"}
    code, position = said["cabinet"], said["position"]
    if (code is None) != (position is None):
        raise Invalid("position", "Give a cabinet and a position together, or neither.")
    if code is None:
        return stated | {"cabinet_id": None}
    cabinet = cabinets.by_code(session, actor.own_institution(), code)
    if cabinet is None:
        raise Invalid("cabinet", f"You have no cabinet with the code {code}.")
    if position > cabinet.column_count * cabinet.positions_per_column:
        raise Invalid("position", f"Cabinet {code} has no position {position}.")
    return stated | {"cabinet_id": cabinet.id}


def make_tray(session: Session, actor: Actor, said: Said) -> UUID:
    """A tray, in a place that is free, or behind what stands in its drawer, or waiting for a place.

    :raises Invalid: when there is no such drawer.
    :raises Conflict: when the place is taken.
    """
    asker = actor.own_institution()
    stated = {name: value for name, value in said.items() if name not in ("drawer", "place")}
    drawer, place = said["drawer"], said["place"]
    if drawer is None and place is not None:
        raise Invalid("place", "A place is in a drawer; name the drawer.")
    made = trays.make(session, asker, stated)
    if drawer is not None:
        drawers.id_of(session, asker, "drawer", drawer)
        places = Places.held(session, asker, [drawer])
        places.know(said["code"], made)
        places.put(said["code"], drawer, place)
        places.write(session, asker)
    return made
