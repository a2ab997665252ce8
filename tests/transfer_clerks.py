"""Two museums with a loan between them, and clerks who write to it through the use cases or over HTTP."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from members import Member, enter
from sqlalchemy import Engine

from service.actions import transfers as actions
from service.actions.transfers import NewFact, NewTransfer, PartyNamed, Text, View
from service.core.actor import Actor
from service.core.transfers.facts import Step
from service.core.transfers.lines import Line, TypeStatus
from service.core.transfers.parties import Person, Side
from service.core.transfers.terms import Terms
from service.core.transfers.transfer import TransferKind
from service.store.session import open_session

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
DAY = date(2026, 3, 1)


@dataclass
class Clerks:
    """A loan and those who work on it, each transaction committed."""

    engine: Engine
    north: Member
    south: Member
    transfer_id: UUID | None = None

    def actor(self, side: Side) -> Actor:
        member = self.north if side is Side.LENDER else self.south
        return Actor(member.id, member.code)

    def run(self, side: Side, work: Callable[..., Any], *args: Any) -> Any:
        actor = self.actor(side)
        with open_session(self.engine, actor.institution_id) as session:
            result = work(session, actor, *args)
            session.commit()
        return result

    def write(self, *lines: Line, code: str = "L-1", terms: Terms | None = None, **given: Any) -> View:
        parties = {"lender": PartyNamed(self.north.id), "borrower": PartyNamed(self.south.id)}
        text = Text(Person("B. Curator"), "revision of the genus", "A. Clerk", DAY, None, terms, lines or (a_lot(),))
        new = NewTransfer(code, given.pop("kind", TransferKind.LOAN), **(parties | given), text=text)
        seen: View = self.run(Side.LENDER, actions.make, new, NOW)
        self.transfer_id = seen.kept.id
        return seen

    def add(self, step: Step, side: Side = Side.LENDER, on: date = DAY, **said: Any) -> View:
        fact = NewFact(step, said.pop("by", "A. Clerk"), on, **said)
        seen: View = self.run(side, actions.add_fact, self.transfer_id, fact, NOW)
        return seen

    def agree(self) -> None:
        for side in Side:
            self.add(Step.SIGNED, side, agreement=self.view().kept.standing.agreement)

    def view(self, side: Side = Side.LENDER) -> View:
        seen: View = self.run(side, actions.view, self.transfer_id)
        return seen

    def dispatched(self, *lines: Line, **given: Any) -> "Clerks":
        self.write(*lines, **given)
        self.agree()
        self.add(Step.PACKED, everything=True)
        self.add(Step.DISPATCHED, everything=True)
        return self

    def in_use(self, *lines: Line, **given: Any) -> "Clerks":
        self.dispatched(*lines, **given)
        self.add(Step.RECEIVED, Side.BORROWER, everything=True)
        self.add(Step.ACKNOWLEDGED, Side.BORROWER)
        return self


def a_lot(key: str = "1", count: int = 20, **given: Any) -> Line:
    return Line(key, count, **({"taxon": "Carabus hortensis", "type_status": TypeStatus.NOT_A_TYPE} | given))


def two_museums(engine: Engine, mark: str = "") -> Clerks:
    return Clerks(
        engine,
        enter(engine, f"north{mark}", "North Museum", "NO"),
        enter(engine, f"south{mark}", "South Museum", "SE"),
    )
