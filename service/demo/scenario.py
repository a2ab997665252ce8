"""Loading the scenario, once, through the same schemas and use cases as everybody's data."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import fit_checks, standards
from service.actions.fit_checks import Question
from service.actions.standards import CoverSheet, Draft
from service.core.actor import Actor
from service.core.consignment import ConsignmentKind
from service.core.errors import NotFound
from service.demo import arrangement, housing, loans, papers, quarantine
from service.store import consignments, institutions, keys, systems
from service.store import fit_checks as kept_checks
from service.store.arrangement_plans import KeptArrangement
from service.store.consignments import Cover, Sender
from service.store.fit_checks import FitCheck, FitCheckHead
from service.store.housing_plans import KeptPlan
from service.store.ids import new_id
from service.store.institutions import Institution
from service.store.session import ANONYMOUS, open_session
from service.store.systems import Visibility
from service.web.schemas.consignment import LineSchema
from service.web.schemas.standards import StorageSystemContentSchema

RECEIVER = "ambleford"
SYSTEMS = {"ambleford": "main-hall", "kesselbrook": "range-b", "port-lindal": "turm"}
PAGE = 200


@dataclass(frozen=True, slots=True)
class Scenario:
    """What the demo needs to know of what it loaded."""

    receiver: Institution
    fit_check: FitCheck
    housing_plan: KeptPlan
    arrangement: KeptArrangement
    in_quarantine: str
    printed: papers.Printed


def load(engine: Engine) -> Scenario:
    """The scenario, made on the first call and found again on later ones."""
    people = {entry["code"]: _institution(engine, entry) for entry in _read("institutions.json")}
    for code in SYSTEMS:
        _publish_system(engine, people[code])
    now = datetime.now(UTC)
    loans.load(engine, people, now)
    printed = papers.load(engine, people, now)
    in_quarantine = quarantine.load(engine, people, now)
    check = _fit_check(engine, people[RECEIVER])
    arranged = arrangement.load(engine, people[RECEIVER])
    return Scenario(people[RECEIVER], check, housing.load(engine, check), arranged, in_quarantine, printed)


def new_key(engine: Engine, institution: Institution) -> str:
    """A key for the demo's visitor, who may read and write as the receiver."""
    secret = keys.new_secret()
    with open_session(engine, institution.id) as session:
        keys.make(session, institution.id, "demo", ["read", "write"], secret)
        session.commit()
    return secret.written


def key_is_good(engine: Engine, institution: Institution, written: str) -> bool:
    """Whether a key from an earlier run still opens the demo."""
    with open_session(engine, institution.id) as session:
        return keys.by_secret(session, keys.sha256_of(written)) is not None


def _institution(engine: Engine, entry: Mapping[str, str]) -> Institution:
    with open_session(engine, ANONYMOUS) as session:
        try:
            return institutions.by_code(session, entry["code"])
        except NotFound:
            pass
    own_id = new_id()
    with open_session(engine, own_id) as session:
        entered = institutions.enter(session, own_id, entry["code"], entry["name"], entry["country"])
        session.commit()
    return entered


def _publish_system(engine: Engine, owner: Institution) -> None:
    sheet = _read(f"{owner.code}-system.json")
    actor = Actor(owner.id, owner.code)
    with open_session(engine, owner.id) as session:
        try:
            systems.by_code(session, owner.id, sheet["code"])
            return
        except NotFound:
            pass
        cover = CoverSheet(sheet["name"], Visibility(sheet["visibility"]), sheet["description"])
        system = standards.make_system(session, actor, sheet["code"], cover)
        content = StorageSystemContentSchema().load(sheet["revision"]["content"])
        draft = standards.begin_draft(session, system.id, Draft(content, sheet["revision"]["note"]))
        standards.publish(session, system.id, draft.number, draft.version, datetime.now(UTC))
        session.commit()


def _fit_check(engine: Engine, receiver: Institution) -> FitCheck:
    with open_session(engine, receiver.id) as session:
        if (first := _first_check(session, receiver)) is not None:
            return kept_checks.by_id(session, receiver.id, first.id)
        question = Question(
            _consignment(session, receiver), systems.by_code(session, receiver.id, SYSTEMS[RECEIVER]).id
        )
        asked = fit_checks.ask(session, Actor(receiver.id, receiver.code), question)
        session.commit()
        return asked


def _first_check(session: Session, receiver: Institution) -> FitCheckHead | None:
    """The demo's own: it was made before any visitor came, and no check is ever removed."""
    oldest, after = None, None
    while True:
        page = kept_checks.page(session, receiver.id, after, PAGE)
        oldest = page.items[-1] if page.items else oldest
        if (after := page.next) is None:
            return oldest


def _consignment(session: Session, receiver: Institution) -> Any:
    offer = _read("donation.json")
    cover = Cover(ConsignmentKind(offer["kind"]), Sender(name=offer["sender"]["name"]), note=offer["note"])
    lines = [LineSchema().load(line) for line in offer["lines"]]
    return consignments.make(session, receiver.id, offer["code"], cover, lines).id


def _read(name: str) -> Any:
    return json.loads((files("service.demo") / "data" / name).read_text("utf-8"))
