"""Ambleford's beetles, drawer by drawer, and a plan for a dozen trays of the donation, half carried out."""

import json
from importlib.resources import files
from typing import Any

from sqlalchemy import Engine

from service.actions import arrangement_plans as actions
from service.actions import carrying_out
from service.actions.inventory import sheet
from service.core.actor import Actor
from service.core.arrangement.plan import TakeIn
from service.core.arrangement.questions import Asked
from service.core.arrangement.rules import ArrangementRules
from service.formats.inventory_csv import INVENTORY, SEQUENCE
from service.store import arrangement_plans, arrangement_rules, taxon_sequences
from service.store.arrangement_plans import KeptArrangement
from service.store.institutions import Institution
from service.store.session import open_session
from service.store.taxon_sequences import SequenceRow
from service.web.schemas.arrangement import ArrangementQuestionSchema
from service.web.schemas.inventory import InventoryRowSchema, NewSequenceRowSchema, RulesChangeSchema
from service.web.sheets import loaded, rows_of

KEEPER, CARRIER = "Marta Quillfeather", "Tomasz Brill"
_PAGE = 200


def load(engine: Engine, owner: Institution) -> KeptArrangement:
    """The plan, made on the first call and found again on later ones."""
    with open_session(engine, owner.id) as session:
        oldest, after = None, None
        while True:
            page = arrangement_plans.page(session, owner.id, after, _PAGE)
            oldest = page.items[-1] if page.items else oldest
            if (after := page.next) is None:
                break
        if oldest is not None:
            return arrangement_plans.by_id(session, owner.id, oldest.id)
    return _make(engine, owner)


def _make(engine: Engine, owner: Institution) -> KeptArrangement:
    told = json.loads(_read("arrangement.json"))
    actor = Actor(owner.id, owner.code)
    rules: ArrangementRules = RulesChangeSchema().load(told.pop("rules"))
    with open_session(engine, owner.id) as session:
        sheet.take_in(
            session, actor, KEEPER, loaded(rows_of(INVENTORY.read, _read("inventory.csv")), InventoryRowSchema())
        )
        arrangement_rules.settle(session, owner.id, 0, rules)
        taxa = loaded(rows_of(SEQUENCE.read, _read("taxon-sequence.csv")), NewSequenceRowSchema())
        taxon_sequences.replace(session, owner.id, [SequenceRow(at, **row) for at, row in enumerate(taxa, start=1)])
        gathered = actions.gather(session, owner.id, _asked(told))
        made = actions.keep(session, owner.id, gathered, actions.made_now(gathered))
        kept = arrangement_plans.by_id(session, owner.id, made)
        carrying_out.carry_out(session, actor, made, kept.step_count // 2, CARRIER)
        session.commit()
        return arrangement_plans.by_id(session, owner.id, made)


def _asked(told: dict[str, Any]) -> Asked:
    said = ArrangementQuestionSchema().load(told)
    return Asked(TakeIn(said["take_in"]["trays"]), said["wishes"])


def _read(name: str) -> bytes:
    return (files("service.demo") / "data" / name).read_bytes()


def in_words(kept: KeptArrangement) -> str:
    """What the plan asks of whose hands, in a line or two."""
    way, walk = kept.content.plan.alternatives[kept.chosen - 1], kept.walk
    proof = "proved the fewest" if way.is_proved else f"at most {way.gap} above the fewest"
    hours = "" if walk.hours.hours is None else f", about {walk.hours.hours:.1f} hours"
    return (
        f"Arrangement plan\n  {way.put_in} trays of the donation go in among Ambleford's beetles: {way.moved} others"
        f" change their drawer, {proof}{hours}.\n  {way.specimens.in_trays_that_stay:,} specimens stay where they"
        f" are, and none is touched. {kept.done_count} of the {kept.step_count} steps of the walking list are done."
    )
