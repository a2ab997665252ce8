"""Drawers: what they are, where they stand, and what stands in them."""

from typing import Any
from uuid import UUID

from service.actions.inventory import keeping
from service.store.inventory.drawers import KeptDrawer, drawers
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.inventory import DrawerChangeSchema, KeptDrawerSchema, NewDrawerSchema
from service.web.transaction import transaction

drawers_resource = Blueprint(
    "drawers",
    __name__,
    url_prefix="/v1/drawers",
    description="Drawers, each in one position of a cabinet or in none.",
)
ONE = "/<uuid:drawer_id>"
REFUSALS = ("code-taken", "place-taken")


def _reply(kept: KeptDrawer) -> Reply:
    return Reply(kept, version=kept.version, location=f"/v1/drawers/{kept.id}")


@drawers_resource.operation("GET", "", scope="read", query=paging.PageQuery, returns=paging.page_of(KeptDrawerSchema))
def list_drawers(query: dict[str, Any]) -> Reply:
    """List your drawers, in the order of their codes.

    Each with its size, its growth reserve and its position; the trays in it are listed apart.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        return page.answer(drawers.page(session, current_actor().own_institution(), page.at(0), page.size))


@drawers_resource.operation(
    "POST", "", scope="write", body=NewDrawerSchema, returns=KeptDrawerSchema, creates=True, errors=list(REFUSALS)
)
def create_drawer(body: dict[str, Any]) -> Reply:
    """Write a drawer down, with nothing in it.

    In a position of a cabinet, or in none for now. Refused where another drawer is in the way: a high one takes up
    several positions.
    """
    actor = current_actor()
    asker = actor.own_institution()
    with transaction() as session:
        made = drawers.make(session, asker, keeping.with_position(session, actor, body))
        return _reply(drawers.by_id(session, asker, made))


@drawers_resource.operation("GET", ONE, scope="read", returns=KeptDrawerSchema, conditional=True)
def get_drawer(drawer_id: UUID) -> Reply:
    """Read a drawer.

    Your own only; those of others are not found.
    """
    with transaction() as session:
        return _reply(drawers.by_id(session, current_actor().own_institution(), drawer_id))


@drawers_resource.operation(
    "PUT", ONE, scope="write", body=DrawerChangeSchema, returns=KeptDrawerSchema, conditional=True,
    errors=[*REFUSALS, "outside-drawer", "in-use"],
)  # fmt: skip
def change_drawer(drawer_id: UUID, body: dict[str, Any]) -> Reply:
    """Change a drawer. Another position moves it, with all that is in it.

    Refused where another drawer is in the way, or where its trays would be larger than the new inside.
    """
    actor = current_actor()
    asker = actor.own_institution()
    with transaction() as session:
        drawers.by_id(session, asker, drawer_id)
        kept = keeping.with_position(session, actor, body)
        drawers.change(session, asker, drawer_id, expected_version(), kept)
        return _reply(drawers.by_id(session, asker, drawer_id))


@drawers_resource.operation("DELETE", ONE, scope="write", conditional=True, errors=["in-use"])
def delete_drawer(drawer_id: UUID) -> None:
    """Remove a drawer with no tray in it.

    Refused while a tray stands in it.
    """
    with transaction() as session:
        drawers.remove(session, current_actor().own_institution(), drawer_id, expected_version())
