"""Asking for a plan, at once where that is quick and else by a worker; asking again when it is overtaken."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final
from uuid import UUID

from sqlalchemy.orm import Session

from service import __version__
from service.actions import operations
from service.core.actor import Actor
from service.core.arrangement.inventory import Inventory
from service.core.arrangement.plan import CannotBeArranged, CannotBeWalked, Spot
from service.core.arrangement.questions import Asked
from service.core.arrangement.renewal import Begun, renewed
from service.core.arrangement.walked_plan import WalkedPlan, plan_and_walk
from service.core.errors import Conflict, Invalid
from service.core.operations import Kind
from service.store import arrangement_plans as store
from service.store import arrangement_rules
from service.store.arrangement_plans import KeptArrangement
from service.store.ids import new_id
from service.store.inventory import standing
from service.store.operations import Operation

#: More trays than this are a worker's: reading and searching them takes longer than a request may.
MOST_TRAYS_AT_ONCE: Final = 10_000
#: What leaves the order of what stands as it is, or brings its own.
_NEED_NO_SEQUENCE: Final = frozenset({"reorder_taxa", "empty_cabinets", "restore_reserve", "change_drawer_style"})


@dataclass(frozen=True)
class Gathered:
    """All that a plan is made from. ``lifted`` are trays on the bench from the plan that it takes the place of."""

    inventory: Inventory
    asked: Asked
    mark: str
    lifted: Mapping[str, Spot] = field(default_factory=dict)
    replaces: UUID | None = None

    @property
    def is_quick(self) -> bool:
        return len(self.inventory.trays) <= MOST_TRAYS_AT_ONCE


def gather(session: Session, asker: UUID, asked: Asked, replaces: UUID | None = None) -> Gathered:
    """All that stands anywhere, and the question with what the rules of the institution add to it.

    :raises Conflict: when nobody has stated the growth reserve, or there is no sequence to keep.
    """
    rules = arrangement_rules.of(session, asker).content
    if rules.reserve_percent is None:
        raise Conflict(
            "rules_missing",
            "Nobody has stated how much of each drawer is kept free for growth; settle it in your arrangement rules,"
            " be it 0.",
        )
    inventory = standing.whole(session, asker)
    if not inventory.sequence.taxa and asked.word not in _NEED_NO_SEQUENCE:
        raise Conflict("no_sequence", "Upload the order in which you keep your taxa, or settle on the alphabet.")
    if not asked.wishes.bench_places:
        asked = replace(asked, wishes=replace(asked.wishes, bench_places=rules.bench_places))
    mark = f"new-{str(new_id())[-6:]}"
    if replaces is None:
        return Gathered(inventory, asked, mark)
    return _again(session, Gathered(inventory, asked, mark, replaces=replaces), asker)


def _again(session: Session, gathered: Gathered, asker: UUID) -> Gathered:
    """The question of a plan that was carried out in part, as far as it is still open."""
    assert gathered.replaces is not None  # noqa: S101 - it is called for no other
    begun = [
        Begun(each.content, each.chosen, each.done_count) for each in store.line_of(session, asker, gathered.replaces)
    ]
    again = renewed(gathered.inventory, gathered.asked.question, begun)
    asked = replace(gathered.asked, question=again.question)
    return replace(gathered, inventory=again.inventory, asked=asked, lifted=again.lifted)


def made_now(gathered: Gathered) -> WalkedPlan:
    """The plan, however long it takes.

    :raises Conflict: when there is no arrangement, or no room to move in.
    """
    try:
        return plan_and_walk(
            gathered.inventory, gathered.asked.question, gathered.asked.wishes, gathered.mark, gathered.lifted
        )
    except CannotBeArranged as error:
        raise Conflict("cannot_be_arranged", str(error)) from error
    except CannotBeWalked as error:
        raise Conflict("cannot_be_walked", str(error)) from error


def keep(session: Session, asker: UUID, gathered: Gathered, plan: WalkedPlan) -> UUID:
    """Keep a plan for good; one that it takes the place of is over.

    :raises Conflict: when that one was replaced by another meanwhile.
    """
    made = store.keep(session, asker, gathered.asked, plan, __version__)
    if gathered.replaces is not None:
        earlier = open_one(session, asker, gathered.replaces)
        store.replace(session, earlier, made)
    return made


def hand_over(session: Session, actor: Actor, asked: Asked, replaces: UUID | None = None) -> Operation:
    """Let a worker make the plan, of what stands where when it begins; the operation tells how far it is.

    :raises TooManyAtOnce: when the institution has as much under way as it may.
    """
    return operations.begin(session, actor, Kind.ARRANGEMENT_PLAN, to_work(asked, replaces))


def to_work(asked: Asked, replaces: UUID | None) -> dict[str, Any]:
    """What a worker is handed."""
    return {"asked": store.question_to_json(asked), "replaces": None if replaces is None else str(replaces)}


def from_work(session: Session, asker: UUID, work: Mapping[str, Any]) -> Gathered:
    """What a worker makes of it, with all that stands anywhere by now."""
    replaces = None if work["replaces"] is None else UUID(work["replaces"])
    return gather(session, asker, store.question_from_json(work["asked"]), replaces)


def open_one(session: Session, asker: UUID, plan_id: UUID) -> KeptArrangement:
    """A plan that nobody else carries on until the transaction is over.

    :raises Conflict: when it has been carried out or replaced.
    """
    kept = store.locked(session, asker, plan_id)
    if kept.replaced_by is not None:
        raise Conflict("plan_is_over", "Another plan has taken the place of this one.")
    if kept.is_carried_out:
        raise Conflict("plan_is_over", "This plan has been carried out.")
    return kept


def choose(session: Session, actor: Actor, plan_id: UUID, alternative: int) -> None:
    """Take another of a plan's alternatives, before anything is carried.

    :raises Conflict: when it has begun, or is over.
    :raises Invalid: when it has fewer alternatives.
    """
    kept = open_one(session, actor.own_institution(), plan_id)
    if kept.done_count:
        raise Conflict("plan_has_begun", "Steps of it have been carried out; renew it, and choose then.")
    if alternative > kept.alternatives:
        raise Invalid("alternative", f"This plan has {kept.alternatives} alternatives.")
    store.choose(session, kept, alternative)
