"""The builder's question the other way round: so many drawers are there already; whom to offer them to?"""

from typing import Any

from service.actions import builder as actions
from service.web.kit import rate
from service.web.kit.operation import Blueprint
from service.web.schemas.builder import NOTES, HomesAnswerSchema, HomesQuery, sizes_in, taker
from service.web.transaction import transaction

drawer_homes = Blueprint(
    "drawer-homes",
    __name__,
    url_prefix="/v1/drawer-homes",
    description="For drawers that there are already: which institutions take that size as it is, and have room. "
    "No key is needed.",
)


@drawer_homes.operation(
    "GET", "", scope="public", query=HomesQuery, returns=HomesAnswerSchema, errors=["too-many-requests"]
)
def find_drawer_homes(query: dict[str, Any]) -> dict[str, Any]:
    """Ask whom to offer a number of drawers to.

    Institutions whose systems are published to everybody and take this size as it is, with the positions that they
    say are free: who has room for all of them first, by the closest fit; then who has room for some; then the rest.
    """
    rate.ask_no_more_than_others()
    with transaction() as session:
        answer = actions.homes_for(session, sizes_in(query), query["count"])
    return {
        "institutions": answer.institutions,
        "first": [
            {
                "institution_id": home.systems[0].institution_id,
                "institution_code": home.systems[0].institution_code,
                "institution_name": home.systems[0].institution_name,
                "room_for": home.room_for,
                "has_room_for_all": home.room_for is not None and home.room_for >= answer.count,
                "systems": [taker(found) for found in home.systems],
            }
            for home in answer.homes
        ],
        "notes": list(NOTES),
    }
