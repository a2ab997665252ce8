"""The builder's question, before any wood is cut: who would take this drawer, and what makes more of them take it?"""

from typing import Any

from service.actions import builder as actions
from service.web.kit import rate
from service.web.kit.operation import Blueprint
from service.web.schemas.builder import BuilderAnswerSchema, BuilderQuery, builder_answer, question_in
from service.web.transaction import transaction

drawer_takers = Blueprint(
    "drawer-takers",
    __name__,
    url_prefix="/v1/drawer-takers",
    description="Before wood is cut: which published systems would take a drawer of this size, and what smallest "
    "change makes more of them take it. No key is needed.",
)


@drawer_takers.operation(
    "GET", "", scope="public", query=BuilderQuery, returns=BuilderAnswerSchema, errors=["too-many-requests"]
)
def find_drawer_takers(query: dict[str, Any]) -> dict[str, Any]:
    """Ask who would take a drawer that is still to be built.

    Over every storage system that is published to everybody: who takes the drawer as it is, who takes its unit trays,
    and which changes would make more of them take it. Each change is a whole number of the cuts that you can make,
    and at the size that it names it is taken by as many systems as it says; none that can be cut is smaller or, for
    its size, worth more.
    """
    rate.ask_no_more_than_others()
    with transaction() as session:
        return builder_answer(actions.ask(session, question_in(query)))
