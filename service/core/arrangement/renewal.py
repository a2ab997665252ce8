"""Asking a plan's question again, after part of it was carried out and the world has changed besides.

A plan that is stopped half-way leaves trays out of their order: of two that go to the next drawer, one is there by
now. The order to keep is what the plan meant, and not what happens to stand: today's, in which the trays that stand
where the plan left them take one another's places. What somebody else has moved stays where it was put. Trays on the
bench count as if they still stood where they came from, and new drawers that wait outside the cabinets as if they
stood where they belong.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from service.core.arrangement.asked_again import asked_again
from service.core.arrangement.inventory import Inventory, Waiting
from service.core.arrangement.plan import Alternative, Question, Spot
from service.core.arrangement.standing import standing_of
from service.core.arrangement.walked_plan import WalkedPlan


@dataclass(frozen=True, slots=True)
class Begun:
    """A plan, which of its alternatives was chosen, and how many of its steps are done."""

    content: WalkedPlan
    chosen: int
    done: int

    @property
    def alternative(self) -> Alternative:
        return self.content.plan.alternatives[self.chosen - 1]


@dataclass(frozen=True, slots=True)
class Renewal:
    """What to plan from: the inventory with what it waits for, the question that is left, and trays on the bench."""

    inventory: Inventory
    question: Question
    lifted: Mapping[str, Spot]


def renewed(inventory: Inventory, question: Question, begun: Sequence[Begun]) -> Renewal:
    """The question once more. ``begun`` ends with the plan that is renewed; before it those it took the place of."""
    lifted = {key: spot for each in reversed(begun) for key, spot in _lifted(each, inventory).items()}
    waiting = dict[str, Waiting]()
    for one in reversed(begun):
        waiting |= {key: each for key, each in _waiting(one, inventory).items() if key not in waiting}
    inventory = replace(inventory, waiting=tuple(waiting.values()))
    inventory = replace(inventory, meant=_meant(begun[-1], inventory, lifted))
    return Renewal(inventory, asked_again(question, inventory, lifted), lifted)


def _lifted(begun: Begun, inventory: Inventory) -> dict[str, Spot]:
    """Trays that the plan picked up out of a drawer and that wait on the bench, with where they came from."""
    waiting = {tray.key for tray in inventory.unplaced}
    before = {tray.key: tray for tray in begun.content.before.trays}
    standing = {drawer.key for drawer in inventory.drawers}
    lifted: dict[str, Spot] = {}
    for step in begun.content.walks[begun.chosen - 1].steps[: begun.done]:
        stood = before.get(step.tray)
        if step.tray in waiting and stood is not None and stood.drawer in standing:
            lifted[step.tray] = Spot(stood.drawer or "", stood.place or 1)
    return lifted


def _waiting(begun: Begun, inventory: Inventory) -> dict[str, Waiting]:
    """New drawers of the plan that are there by now and stand in no cabinet, each behind one that is there too."""
    there = {drawer.key: drawer for drawer in inventory.drawers}
    follows = {new.key: new.behind for new in begun.alternative.new_drawers}
    waiting: dict[str, Waiting] = {}
    for new in begun.alternative.new_drawers:
        behind = new.behind
        while behind is not None and behind not in there:
            behind = follows.get(behind)
        if new.key in there and there[new.key].position is None:
            waiting[new.key] = Waiting(new.key, behind, new.cabinet, new.position)
    return waiting


def _meant(begun: Begun, inventory: Inventory, lifted: Mapping[str, Spot]) -> tuple[str, ...]:
    """The trays that stand where the plan left them or has not been, in the order that it meant."""
    now = standing_of(inventory).drawer_of()
    left = begun.content.standing_after(begun.chosen, begun.done).drawer_of()
    as_left = {tray for tray, drawer in left.items() if now.get(tray) == drawer} | lifted.keys()
    after = begun.alternative.drawer_after
    planned = {tray for each in after.values() for tray in each.trays}
    meant = list[str]()
    for drawer in _read_afterwards(begun.alternative, inventory):
        if drawer in after:
            meant += (tray for tray in after[drawer].trays if tray in as_left)
        else:
            standing = (tray.key for tray in inventory.trays_by_drawer.get(drawer, ()))
            meant += (tray for tray in standing if tray not in planned)
    return tuple(meant)


def _read_afterwards(alternative: Alternative, inventory: Inventory) -> list[str]:
    """The drawers in reading order, those among them that have still to be had."""
    read = [drawer.key for drawer in inventory.drawers_read]
    for new in alternative.new_drawers:
        if new.key not in read:
            read.insert(read.index(new.behind) + 1 if new.behind in read else 0, new.key)
    return read
