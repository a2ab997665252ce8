"""Asking for a housing plan: at once where that is quick, and else by a worker.

Nothing is worked out inside a transaction: one gathers what the plan is made from, another keeps what came of it.
"""

import time
from dataclasses import dataclass, replace
from typing import Final
from uuid import UUID

from sqlalchemy.orm import Session

from service import __version__
from service.actions import operations, standards
from service.core.actor import Actor
from service.core.errors import Conflict
from service.core.housing.asking import ask
from service.core.housing.effort import Noticed, Watch
from service.core.housing.how_hard import HowHard
from service.core.housing.plan import CannotBeHoused, HousingPlan
from service.core.housing.planning import plan_housing
from service.core.housing.wishes import Asked, PlanQuestion
from service.core.operations import Kind
from service.store import codec, consignments, housing_plans, institutions
from service.store.housing_plans import PlanHead, Subject
from service.store.operations import Operation

#: How long a request may think. A plan that takes longer is a worker's, which begins anew and ends the same.
WITHIN_A_REQUEST_S: Final = 1.5
#: More sizes of tray than this are a worker's from the start.
MOST_SIZES_AT_ONCE: Final = 30
#: And so are more trays: a plan of so many takes its time to be written down alone.
MOST_TRAYS_AT_ONCE: Final = 20_000


@dataclass(frozen=True, slots=True)
class Prepared:
    """A question with all that the answer is made from."""

    subject: Subject
    asked: Asked
    how_hard: HowHard


def prepare(session: Session, question: PlanQuestion) -> Prepared:
    """Gather what the plan is made from.

    :raises NotFound: when consignment or system are not there, or not for the asker.
    :raises Conflict: when there are no lines, none goes by the tray, or nothing is published.
    :raises Invalid: when something has to be stated first.
    """
    contents, code = question.contents, ""
    if question.consignment_id is not None:
        consignment = consignments.by_id(session, question.consignment_id)
        contents, code = replace(contents, lines=consignments.lines(session, consignment)), consignment.code
        if not contents.lines:
            raise Conflict("no_lines", f"The consignment {code} has no lines yet; there is nothing to house.")
    if question.storage_system_id is None:
        asked = ask(contents, question.wishes, None, question.own_drawers)
        return Prepared(Subject(question.consignment_id), replace(asked, consignment=code), question.how_hard)
    system, revision = standards.published(session, question.storage_system_id, question.revision)
    asked = ask(contents, question.wishes, revision.content)
    owner = institutions.by_id(session, system.institution_id)
    named = replace(
        asked, consignment=code, system=f"{system.name}, {owner.name}", content_sha256=revision.content_sha256
    )
    return Prepared(Subject(question.consignment_id, system.id, revision.number), named, question.how_hard)


def at_once(prepared: Prepared) -> HousingPlan | None:
    """The plan, where it takes no longer than a request may; ``None`` where a worker should make it.

    :raises Conflict: when there is none.
    """
    trays = prepared.asked.request.trays
    if prepared.how_hard is HowHard.THOROUGH or len(trays) > MOST_SIZES_AT_ONCE:
        return None
    if sum(tray.count for tray in trays) > MOST_TRAYS_AT_ONCE:
        return None
    # Of this thread on a processor: what others are doing does not change which plans are answered at once.
    until = time.thread_time() + WITHIN_A_REQUEST_S
    stop = Noticed(lambda: time.thread_time() > until)
    try:
        plan = plan_housing(prepared.asked.request, prepared.how_hard.effort, Watch(stop))
    except CannotBeHoused as error:
        raise Conflict("cannot_be_housed", str(error)) from error
    return None if stop.was_so else plan


def made_now(prepared: Prepared) -> HousingPlan:
    """The plan, however long it takes.

    :raises CannotBeHoused: when there is none.
    """
    return plan_housing(prepared.asked.request, prepared.how_hard.effort)


def keep(session: Session, institution_id: UUID, prepared: Prepared, plan: HousingPlan) -> PlanHead:
    """Keep a plan for good, with all that it was made from."""
    return housing_plans.keep(session, institution_id, prepared.subject, prepared.asked, plan, __version__)


def hand_over(session: Session, actor: Actor, prepared: Prepared) -> Operation:
    """Let a worker make the plan; the operation tells how far it is.

    :raises TooManyAtOnce: when the institution has as much under way as it may.
    """
    return operations.begin(session, actor, Kind.HOUSING_PLAN, codec.to_json(prepared))
