"""Loans of the scenario, in the middle of their lives, told in days before today so that the desk is never empty."""

import json
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from importlib.resources import files
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import transfers as actions
from service.core.actor import Actor
from service.core.transfers.desk import DEFAULT_DAYS_AHEAD, Listed
from service.core.transfers.facts import Override, Step
from service.core.transfers.permits import Permit
from service.store import desk, loan_rules, permits, transfers
from service.store.institutions import Institution
from service.store.session import open_session
from service.web.schemas.transfers import LoanRulesSchema, NewFactSchema, NewTransferSchema, PermitSchema

#: The invented director goes over whatever the calendar of a demo runs into.
_LEAVE = Override("Agnes Thorne, director", "Agreed by letter.", ("no-post",))


def load(engine: Engine, people: Mapping[str, Institution], now: datetime) -> None:
    """Publish the loan rules and write the transfers down, those that are not there yet."""
    told = json.loads((files("service.demo") / "data" / "loans.json").read_text("utf-8"))
    for code, rules in told["rules"].items():
        _publish(engine, people[code], rules)
    for transfer in told["transfers"]:
        _write(engine, people, transfer, now)


def _publish(engine: Engine, owner: Institution, rules: dict[str, Any]) -> None:
    with open_session(engine, owner.id) as session:
        if loan_rules.of(session, owner.id).version == 0:
            loan_rules.publish(session, owner.id, 0, LoanRulesSchema().load(rules))
            session.commit()


def _write(engine: Engine, people: Mapping[str, Institution], told: dict[str, Any], now: datetime) -> None:
    """One transfer with all its facts, each written by its own side as it would be."""
    maker = people[told["maker"]]
    with open_session(engine, maker.id) as session:
        if transfers.by_code(session, maker.id, told["text"]["code"]) is not None:
            return
        new = NewTransferSchema().load(_addressed(told, people, now.date()))
        made = actions.make(session, _actor(maker), new, now)
        session.commit()
    for fact in told["facts"]:
        writer = people[fact["as"]]
        with open_session(engine, writer.id) as session:
            _add(session, _actor(writer), made, fact, now)
            session.commit()
    with open_session(engine, maker.id) as session:
        for permit in told["permits"]:
            permits.make(session, made.kept, maker.id, _permit(permit, now.date()))
        session.commit()


def _addressed(told: dict[str, Any], people: Mapping[str, Institution], today: date) -> dict[str, Any]:
    sides = {side: {"institution_id": str(people[told["text"][side]].id)} for side in ("lender", "borrower")}
    return {**told["text"], **sides, "on": _day(today, told["days_ago"])}


def _day(today: date, days_ago: int) -> str:
    return (today - timedelta(days=days_ago)).isoformat()


def _add(session: Session, actor: Actor, made: actions.View, told: dict[str, Any], now: datetime) -> None:
    said = {name: value for name, value in told.items() if name not in {"as", "days_ago"}}
    said["on"] = _day(now.date(), told["days_ago"])
    if said["step"] == Step.SIGNED:
        said["agreement"] = made.kept.standing.agreement
    if said["step"] in {Step.DISPATCHED, Step.SENT_BACK}:
        said["override"] = {"by": _LEAVE.by, "reason": _LEAVE.reason, "codes": list(_LEAVE.codes)}
    actions.add_fact(session, actor, made.kept.id, NewFactSchema().load(said), now)


def _permit(told: dict[str, Any], today: date) -> Permit:
    said = {name: value for name, value in told.items() if name != "valid_until_in_days"}
    ends = (today + timedelta(days=told["valid_until_in_days"])).isoformat()
    permit: Permit = PermitSchema().load(said | {"valid_until": ends})
    return permit


def _actor(institution: Institution) -> Actor:
    return Actor(institution.id, institution.code)


def desk_in_words(engine: Engine, owner: Institution, today: date) -> str:
    """What lies on an institution's desk this morning, one line for each list."""
    with open_session(engine, owner.id) as session:
        lists = [_in_words(session, listed, owner, today) for listed in Listed]
    return "\n".join([f"On the loans desk of {owner.name}, {today.isoformat()}:", *lists])


def _in_words(session: Session, listed: Listed, owner: Institution, today: date) -> str:
    rows = desk.page(session, listed, owner.id, today, DEFAULT_DAYS_AHEAD, None, 3).items
    told = "; ".join(_row(row, today) for row in rows) or "nothing"
    return f"  {listed.value.replace('_', ' '):20}{told}"


def _row(row: desk.DeskRow, today: date) -> str:
    line = f" line {row.line}" if row.line else ""
    count = f", {row.count}" if row.count else ""
    days = f", {abs((row.day - today).days)} days" if row.day else ""
    return f"{row.code}{line}{count}{days} ({row.other_name})"
