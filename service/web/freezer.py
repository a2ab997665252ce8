"""Questions about a freezer: how long a load takes, and which load goes when."""

from datetime import UTC, datetime

from service.actions import freezer as actions
from service.actions.freezer import CalendarAsked
from service.core.care.cooling import CoolingQuestion
from service.paper.quarantine_table import calendar_page
from service.web.kit import negotiation
from service.web.kit.auth import current_actor
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.quarantine import (
    CalendarAnswerSchema,
    CalendarQuestionSchema,
    CoolingAnswerSchema,
    CoolingQuestionSchema,
)
from service.web.transaction import transaction

freezer = Blueprint(
    "freezer",
    __name__,
    url_prefix="/v1",
    description="How long a load takes to cool, and which load goes into the freezer when.",
)
_OF_LOAD = ("in_on", "out_on", "over_on", "drawers", "shares")


@freezer.operation("POST", "/cooling-times", scope="read", body=CoolingQuestionSchema, returns=CoolingAnswerSchema)
def ask_cooling_times(body: CoolingQuestion) -> Reply:
    """Ask how long a load takes, by each regime of your rules.

    The lag follows from the load by conduction, on the safe side and times the factor of your rules; nothing is kept.
    A probe at the core goes before any prediction.
    """
    with transaction() as session:
        return Reply(actions.cooling_times(session, current_actor(), body))


@freezer.operation(
    "POST", "/freezer-calendars", scope="read", body=CalendarQuestionSchema, returns=CalendarAnswerSchema,
    media=[negotiation.TEXT],
)  # fmt: skip
def plan_freezer_loads(body: CalendarAsked) -> Reply:
    """Plan the freezer: as few loads as possible, with every promised date kept.

    Drawers of one lot may be parted over several loads. Promises that no calendar keeps are named, with the day they
    become; `at_least` is what no calendar goes below. Nothing is kept: ask again when something has changed.
    """
    with transaction() as session:
        found = actions.plan_loads(session, current_actor(), body, datetime.now(UTC))
    if negotiation.wanted() == negotiation.TEXT:
        return Reply(calendar_page(found.calendar, found.handling, found.of_loads))
    calendar, question = found.calendar, found.question
    return Reply(
        {
            "freezer_loads": [
                {name: getattr(load, name) for name in _OF_LOAD} | {"handling": handling}
                for load, handling in zip(calendar.loads, found.of_loads, strict=True)
            ],
            "at_least": calendar.at_least,
            "is_proved": calendar.is_proved,
            "broken": calendar.broken,
            "left_over": calendar.left_over,
            "days_in": question.days_in,
            "days_after": question.days_after,
            "capacity_drawers": question.capacity_drawers,
            "handling": found.handling,
        }
    )
