"""Questions about a freezer, answered by the asker's own rules."""

from dataclasses import dataclass
from datetime import date, datetime
from math import ceil

from sqlalchemy.orm import Session

from service.actions import quarantines as quarantine_actions
from service.core.actor import Actor
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.care.cooling import CoolingAnswer, CoolingQuestion, cooling, full_load_h
from service.core.care.freezer_calendar import CalendarQuestion, FreezerCalendar, Waiting, calendar, faults_in
from service.core.care.load import Load, Packed
from service.core.care.quarantine import State
from service.core.care.quarantine_cautions import treatment_cautions
from service.core.care.regimes import Freezer, Method, QuarantineRules
from service.core.errors import Faults, Invalid
from service.store import quarantine_rules, quarantines
from service.store.quarantines import Kept

HOURS_PER_DAY = 24


@dataclass(frozen=True, slots=True)
class CalendarAsked:
    """What was asked; what is left out of the freezer is that of the asker's rules."""

    first_day: date
    lots: tuple[Waiting, ...] = ()
    waiting: bool = False
    days: int = 92
    capacity_drawers: int | None = None
    freezers: int | None = None
    days_in: int | None = None
    days_after: int | None = None
    closed_on: tuple[date, ...] = ()


@dataclass(frozen=True, slots=True)
class CalendarAnswer:
    """The calendar with the question that it answers, filled up from the rules.

    ``handling`` is what to mind with the treatment and with all that waits, ``of_loads`` with what is in each load.
    """

    question: CalendarQuestion
    calendar: FreezerCalendar
    handling: tuple[HandlingCaution, ...]
    of_loads: tuple[tuple[HandlingCaution, ...], ...]


def cooling_times(session: Session, actor: Actor, question: CoolingQuestion) -> CoolingAnswer:
    """How long a load takes, by the asker's rules."""
    return cooling(question, quarantine_rules.of(session, actor.own_institution()).content)


def plan_loads(session: Session, actor: Actor, asked: CalendarAsked, now: datetime) -> CalendarAnswer:
    """Which load goes when.

    :raises Invalid: where the freezer is neither stated nor in the rules.
    """
    rules = quarantine_rules.of(session, actor.own_institution()).content
    lots = (*asked.lots, *(_waiting(session, actor, now) if asked.waiting else ()))
    question = _question(asked, lots, rules)
    if faults := faults_in(question):
        raise Faults(faults)
    air_c = rules.freezer.set_point_c if rules.freezer else None
    found, used = calendar(question), {lot.code: lot.used for lot in lots}
    return CalendarAnswer(
        question,
        found,
        (
            *treatment_cautions(Method.FREEZING, None, air_c, rules),
            *handling_cautions(each for lot in lots for each in lot.used),
        ),
        tuple(handling_cautions(each for share in load.shares for each in used[share.code]) for load in found.loads),
    )


def _waiting(session: Session, actor: Actor, now: datetime) -> tuple[Waiting, ...]:
    """The asker's quarantines that wait for a freezer and say how many drawers they are."""
    kept = [one for one in quarantines.of_owner(session, actor.own_institution()) if _may_wait(one)]
    return tuple(
        Waiting(
            view.kept.code,
            text.drawers or 1,
            text.arrived_on,
            text.promised_on,
            tuple(quarantine_actions.used_on(session, text)),
        )
        for view in quarantine_actions.listed(session, kept, now)
        if view.standing.state is State.WAITING
        for text in (view.kept.quarantine,)
    )


def _may_wait(kept: Kept) -> bool:
    text = kept.quarantine
    return text.method is Method.FREEZING and text.shut_at is None and text.drawers is not None


def _question(asked: CalendarAsked, lots: tuple[Waiting, ...], rules: QuarantineRules) -> CalendarQuestion:
    freezer = rules.freezer
    capacity = asked.capacity_drawers or (freezer.capacity_drawers if freezer else None)
    if capacity is None:
        raise Invalid("capacity_drawers", "Say how many drawers the freezer takes, here or in your quarantine rules.")
    return CalendarQuestion(
        lots,
        asked.first_day,
        asked.days,
        capacity,
        asked.days_in or _days_in(capacity, freezer, rules),
        ceil(rules.acclimatise_h / HOURS_PER_DAY) if asked.days_after is None else asked.days_after,
        asked.freezers or (freezer.count if freezer else 1),
        asked.closed_on,
    )


def _days_in(capacity: int, freezer: Freezer | None, rules: QuarantineRules) -> int:
    """How long a full load takes, in whole days."""
    if freezer is None:
        raise Invalid("days_in", "Say how many days a load stays in, or what your freezer is set to in your rules.")
    load = Load(Packed.BAGGED_CRATE, min(capacity, 1_000))
    hours = full_load_h(rules.of(Method.FREEZING), load, freezer.set_point_c, rules)
    if hours is None:
        raise Invalid("days_in", "No treatment of your rules is reached in a freezer that is set like yours.")
    return ceil(hours / HOURS_PER_DAY)
