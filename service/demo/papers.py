"""The scenario's packing bench, one parcel planned, and papers printed, of which one no longer holds."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from importlib.resources import files
from typing import Any

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.actions import papers as printing
from service.actions import parcel_plans as planning
from service.core.actor import Actor
from service.core.parcels.answer import Parcel
from service.store import packing_benches, parcel_plans, permits, transfers
from service.store import papers as kept_papers
from service.store.institutions import Institution
from service.store.papers import KeptPaper
from service.store.parcel_plans import KeptPlan
from service.store.session import open_session
from service.store.transfers import Kept
from service.web.schemas.papers import NewPaperSchema
from service.web.schemas.parcels import PackingBenchSchema, ParcelQuestionSchema
from service.web.schemas.transfers import PermitSchema

#: As the papers say it: the demo serves under another address, and papers of a real service say their own.
ADDRESS = "https://traybridge.example.org"


@dataclass(frozen=True, slots=True)
class Printed:
    """What the demo shows of the papers of one transfer."""

    code: str
    plan: KeptPlan
    papers: tuple[KeptPaper, ...]
    verified: tuple[printing.Verified, ...]


def load(engine: Engine, people: Mapping[str, Institution], now: datetime) -> Printed:
    """Write down the bench, plan the parcel and print the papers, those that are not there yet."""
    told = json.loads((files("service.demo") / "data" / "papers.json").read_text("utf-8"))
    owner = people[told["owner"]]
    with open_session(engine, owner.id) as session:
        _write_bench(session, owner, told["bench"])
        transfer = transfers.by_code(session, owner.id, told["transfer"])
        if transfer is None:
            raise ValueError(f"The scenario has no transfer {told['transfer']}.")
        plan = _plan(session, owner, transfer, told["plan"])
        papers = _papers(session, owner, transfer, told, plan, now)
        verified = tuple(printing.verify(session, paper.check_code) for paper in papers)
        session.commit()
    return Printed(transfer.code, plan, papers, verified)


def _write_bench(session: Session, owner: Institution, bench: dict[str, Any]) -> None:
    if packing_benches.of(session, owner.id).version == 0:
        packing_benches.write(session, owner.id, 0, PackingBenchSchema().load(bench))


def _plan(session: Session, owner: Institution, transfer: Kept, question: dict[str, Any]) -> KeptPlan:
    known = parcel_plans.page(session, transfer.id, None, 1).items
    if known:
        return known[-1]
    return planning.make(session, _actor(owner), transfer.id, ParcelQuestionSchema().load(question))


def _papers(
    session: Session, owner: Institution, transfer: Kept, told: dict[str, Any], plan: KeptPlan, now: datetime
) -> tuple[KeptPaper, ...]:
    """The papers; a permit is recorded behind the first, which therefore no longer says all."""
    known = kept_papers.page(session, transfer.id, None, 100).items
    if known:
        return known[::-1][: len(told["papers"])]
    made: list[KeptPaper] = []
    for paper in told["papers"]:
        if len(made) == 1:
            permits.make(session, transfer, owner.id, PermitSchema().load(told["permit_after_the_first"]))
        said = {**paper, **({"parcel_plan_id": str(plan.id)} if paper["kind"] == "parcel_text" else {})}
        new = NewPaperSchema().load(said)
        made.append(printing.print_paper(session, _actor(owner), transfer.id, new, ADDRESS, now))
    return tuple(made)


def _actor(institution: Institution) -> Actor:
    return Actor(institution.id, institution.code)


def in_words(printed: Printed) -> str:
    """What the demo prints of it: the parcels, and each paper with its code."""
    plan = printed.plan.plan
    parcels = [f"  {_parcel(parcel)}" for parcel in plan.parcels]
    papers = [f"  {_paper(verified)}" for verified in printed.verified]
    return "\n".join([f"Parcels of {printed.code}, and its papers with their check codes:", *parcels, *papers])


def _parcel(parcel: Parcel) -> str:
    outer = parcel.outer
    size = " × ".join(f"{side / 1e6:g}" for side in (outer.width_nm, outer.depth_nm, outer.height_nm))
    padding, charged = parcel.padding.least_nm / 1e6, (parcel.chargeable_g or 0) / 1000
    box = parcel.code or "a carton to make"
    return f"parcel {parcel.number}: {box}, {size} mm, {padding:g} mm of padding, charged as {charged:g} kg"


def _paper(verified: printing.Verified) -> str:
    state = "as printed" if verified.is_as_printed else "changed since"
    return f"{verified.paper.title:28}{verified.paper.check_code}  {state}"
