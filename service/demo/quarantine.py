"""A quarantine of the scenario in the middle of its life: a loan in the freezer, and a warm spell in its log."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import quarantines as actions
from service.core.actor import Actor
from service.core.care.load import Load, Packed
from service.core.care.quarantine import Quarantine, Subject
from service.core.care.regimes import Freezer, QuarantineRules
from service.core.care.temperature_log import Reading
from service.core.standards import SetPoint
from service.store import quarantine_rules, quarantines, transfers
from service.store.institutions import Institution
from service.store.session import open_session

HOLDER, LENDER, LOAN = "ambleford", "port-lindal", "PL-2026-4"
CODE, DAYS_AGO = "q-PL-2026-4", 8
#: The probe's hours and °C: cooling, cold for not quite long enough, the door left ajar, and cold again.
TOLD = ((10, 6.0), (60, -26.4), (3, -19.5), (50, -26.8))
RULES = QuarantineRules(
    room=SetPoint(19.0, 48.0), freezer=Freezer(24, -30.0), on_arrival=True, note="The freezer stands in the basement."
)


def load(engine: Engine, people: Mapping[str, Institution], now: datetime) -> str:
    """Publish the rules and write the quarantine down, if they are not there yet; how it stands, in words."""
    holder = people[HOLDER]
    with open_session(engine, holder.id) as session:
        if quarantine_rules.of(session, holder.id).version == 0:
            quarantine_rules.publish(session, holder.id, 0, RULES)
        known = [kept for kept in quarantines.of_owner(session, holder.id) if kept.code == CODE]
        kept = known[0] if known else _write(session, holder, people[LENDER], now)
        seen = actions.view(session, kept.id, now)
        session.commit()
    state = seen.standing.state.value.replace("_", " ")
    return f"In quarantine at {holder.name}:\n  {CODE}: {state}. {seen.standing.missing or ''}".rstrip()


def _write(session: Session, holder: Institution, lender: Institution, now: datetime) -> quarantines.Kept:
    shut = (now - timedelta(days=DAYS_AGO)).astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    loan = transfers.by_code(session, lender.id, LOAN)
    actor = Actor(holder.id, holder.code)
    text = Quarantine(
        Subject(transfer_id=loan.id) if loan else Subject(description=f"The loan {LOAN}"),
        shut.date() - timedelta(days=1),
        packing=Load(Packed.BAGGED_CRATE, 3),
        drawers=3,
        air_set_c=-30.0,
        shut_at=shut,
    )
    made = actions.make(session, actor, CODE, text, now)
    cores = [core for hours, core in TOLD for _ in range(hours)]
    readings = tuple(
        Reading(shut + timedelta(hours=hour), core_c=core, air_c=-29.5) for hour, core in enumerate(cores)
    )
    actions.add_log(session, actor, made.kept.id, "probe-1", readings, now)
    return quarantines.by_id(session, made.kept.id)
