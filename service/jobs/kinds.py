"""The kinds of long work: what a child is asked to calculate, and what is kept of its answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import arrangement_plans, housing_plans
from service.actions.arrangement_plans import Gathered
from service.actions.housing_plans import Prepared
from service.core.arrangement.walked_plan import WalkedPlan
from service.core.housing.plan import HousingPlan
from service.core.operations import ARRANGING, STAGES, Kind, Progress
from service.store import arrangement_plans as kept_arrangements
from service.store import codec, operations
from service.store.operations import Operation


class Work(Protocol):
    """One piece of work. ``stages`` are its parts; ``refusal`` is the kind of problem when nothing can come of it."""

    @property
    def stages(self) -> Sequence[str]: ...

    @property
    def refusal(self) -> str: ...

    def task(self) -> Mapping[str, Any]:
        """What the child is asked."""

    def keep(self, session: Session, asker: UUID, answer: Mapping[str, Any]) -> tuple[UUID, Progress]:
        """Keep what the child answered; its id, and the progress that it ends with."""


@dataclass(frozen=True)
class HousingWork:
    """Making a housing plan."""

    prepared: Prepared
    stages: Sequence[str] = STAGES
    refusal: str = "cannot-be-housed"

    def task(self) -> Mapping[str, Any]:
        return {"request": codec.to_json(self.prepared.asked.request), "how_hard": self.prepared.how_hard.value}

    def keep(self, session: Session, asker: UUID, answer: Mapping[str, Any]) -> tuple[UUID, Progress]:
        plan = codec.from_json(HousingPlan, dict(answer))
        kept = housing_plans.keep(session, asker, self.prepared, plan)
        return kept.id, Progress("done", len(STAGES), len(STAGES), plan.cost, plan.at_least)


@dataclass(frozen=True)
class ArrangementWork:
    """Making an arrangement plan of what stood where when the work was taken up."""

    gathered: Gathered
    stages: Sequence[str] = ARRANGING
    refusal: str = "cannot-be-arranged"

    def task(self) -> Mapping[str, Any]:
        gathered = self.gathered
        return {
            "inventory": codec.to_json(gathered.inventory),
            "asked": kept_arrangements.question_to_json(gathered.asked),
            "mark": gathered.mark,
            "lifted": {tray: codec.to_json(spot) for tray, spot in gathered.lifted.items()},
        }

    def keep(self, session: Session, asker: UUID, answer: Mapping[str, Any]) -> tuple[UUID, Progress]:
        plan = codec.from_json(WalkedPlan, dict(answer))
        kept = arrangement_plans.keep(session, asker, self.gathered, plan)
        return kept, Progress("done", len(ARRANGING), len(ARRANGING))


def work_of(session: Session, mine: Operation) -> Work:
    """What an operation is to do.

    :raises Conflict: when it can be done no more.
    """
    return _READERS[mine.kind](session, mine.institution_id, operations.work_of(session, mine))


def _housing(_session: Session, _asker: UUID, work: dict[str, Any]) -> Work:
    return HousingWork(codec.from_json(Prepared, work))


def _arrangement(session: Session, asker: UUID, work: dict[str, Any]) -> Work:
    return ArrangementWork(arrangement_plans.from_work(session, asker, work))


_READERS: Final = {Kind.HOUSING_PLAN: _housing, Kind.ARRANGEMENT_PLAN: _arrangement}
