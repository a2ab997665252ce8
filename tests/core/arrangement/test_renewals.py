"""Plans of every kind, stopped half-way while the world changes, and asked again: nothing lost, order kept, room."""

from dataclasses import dataclass, replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_collections import TALL, a_tray, collections, fits

from service.core.arrangement.inventory import Drawer, DrawerStyle, Inventory, SystematicSequence
from service.core.arrangement.plan import (
    ArrangementWishes,
    CannotBeArranged,
    CannotBeWalked,
    ChangeDrawerStyle,
    EmptyCabinets,
    InsertTaxa,
    MergeTaxa,
    NewTaxon,
    Question,
    ReorderTaxa,
    RestoreReserve,
    SplitPart,
    SplitTaxon,
    TakeIn,
)
from service.core.arrangement.renewal import Begun, renewed
from service.core.arrangement.standing import Standing, standing_of, taken
from service.core.arrangement.walked_plan import WalkedPlan, plan_and_walk

WIDE = DrawerStyle("wide", 300_000_000, 400_000_000)
#: As many trays may wait on a bench as there are, so that every plan can be walked.
WISHES = ArrangementWishes(TALL, bench_places=40)
KINDS = (
    TakeIn, InsertTaxa, MergeTaxa, SplitTaxon, ReorderTaxa, EmptyCabinets, RestoreReserve, ChangeDrawerStyle,
)  # fmt: skip


@st.composite
def questions(draw: st.DrawFn, kind: type, inventory: Inventory) -> Question:
    taxa = [taxon.name for taxon in inventory.sequence.taxa]
    assume(taxa)
    one = draw(st.sampled_from(taxa))
    size = draw(st.sampled_from(((100, 100), (100, 200), (50, 100))))
    new = tuple(a_tray(f"zz{at}", *size) for at in range(draw(st.integers(1, 4))))
    if kind is TakeIn:
        return TakeIn(tuple(replace(tray, taxon=draw(st.sampled_from(taxa))) for tray in new))
    if kind is InsertTaxa:
        return InsertTaxa((NewTaxon("zz", after=one),), new)
    if kind is MergeTaxa:
        return MergeTaxa((draw(st.sampled_from(taxa)),), one)
    if kind is SplitTaxon:
        trays = tuple(tray.key for tray in inventory.trays_read() if tray.taxon == one and draw(st.booleans()))
        return SplitTaxon(one, (SplitPart(NewTaxon("zz", after=draw(st.sampled_from(taxa))), trays, new),))
    if kind is ReorderTaxa:
        return ReorderTaxa(SystematicSequence(tuple(draw(st.permutations(inventory.sequence.taxa)))))
    if kind is EmptyCabinets:
        return EmptyCabinets((draw(st.sampled_from(inventory.cabinets)).key,))
    return RestoreReserve() if kind is RestoreReserve else ChangeDrawerStyle("tall", WIDE)


def planned(inventory: Inventory, question: Question, mark: str, lifted=None) -> WalkedPlan:
    try:
        return plan_and_walk(inventory, question, WISHES, mark, lifted)
    except (CannotBeArranged, CannotBeWalked):
        assume(False)
        raise


@dataclass(frozen=True)
class House:
    """What stands where, as a database would keep it: each step of a plan is carried out at once."""

    inventory: Inventory

    def carry(self, plan: WalkedPlan, first: int, end: int) -> "House":
        house, standing = self, standing_of(self.inventory)
        for step in plan.walks[0].steps[first:end]:
            house = house._with_what_comes(plan, step.tray, step.to_drawer)
            standing = taken(standing, step)
            house = House(_as(standing, house.inventory))
            house.has_room(step.to_drawer)
        return house

    def _with_what_comes(self, plan: WalkedPlan, tray: str, drawer: str | None) -> "House":
        """A new drawer goes to its position, or waits outside while another stands there."""
        inventory, way = self.inventory, plan.plan.alternatives[0]
        drawers, trays = list(inventory.drawers), list(inventory.trays)
        for new in way.new_drawers:
            if new.key == drawer and new.key not in {each.key for each in drawers}:
                is_free = (new.cabinet, new.position) not in {(each.cabinet, each.position) for each in drawers}
                place = (new.cabinet, new.position) if is_free else (None, None)
                drawers.append(Drawer(new.key, new.key, new.style, *place))
        if tray not in {each.key for each in trays}:
            trays += [each for each in plan.plan.new_trays if each.key == tray]
        return House(replace(inventory, drawers=tuple(drawers), trays=tuple(trays)))

    def has_room(self, drawer: str | None) -> None:
        for each in self.inventory.drawers:
            if each.key == drawer:
                assert fits(self.inventory, each.style, self.inventory.trays_by_drawer[drawer])

    def moved_by_hand(self, tray: str, drawer: str | None) -> "House":
        drawers = {key: [each for each in trays if each != tray] for key, trays in self.standing.drawers.items()}
        if drawer is not None:
            drawers[drawer].append(tray)
        return House(_as(Standing({key: tuple(trays) for key, trays in drawers.items()}), self.inventory))

    @property
    def standing(self) -> Standing:
        return standing_of(self.inventory)


def _as(standing: Standing, inventory: Inventory) -> Inventory:
    places = {tray: (key, at) for key, trays in standing.drawers.items() for at, tray in enumerate(trays, start=1)}
    trays = (replace(tray, drawer=None, place=None) for tray in inventory.trays)
    return replace(
        inventory,
        trays=tuple(
            replace(tray, drawer=places[tray.key][0], place=places[tray.key][1]) if tray.key in places else tray
            for tray in trays
        ),
    )


def read(inventory: Inventory, plan: WalkedPlan) -> list[str]:
    """The trays as they are read; new drawers behind the drawers that they follow."""
    drawers = [drawer.key for drawer in inventory.drawers_read]
    for new in plan.plan.alternatives[0].new_drawers:
        if new.key not in drawers and any(each.key == new.key for each in inventory.drawers):
            drawers.insert(drawers.index(new.behind) + 1 if new.behind in drawers else 0, new.key)
    return [tray.key for drawer in drawers for tray in inventory.trays_by_drawer[drawer]]


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_what_was_stopped_and_is_asked_again_comes_to_what_was_meant(kind: type, data: st.DataObject) -> None:
    """Without anybody in between: nothing is lost, each step finds room, and the order is the one first meant."""
    inventory = data.draw(collections())
    question = data.draw(questions(kind, inventory))
    first = planned(inventory, question, "new-a")
    meant = read(House(inventory).carry(first, 0, len(first.walks[0].steps)).inventory, first)
    done = data.draw(st.integers(0, len(first.walks[0].steps)))
    house, begun = House(inventory).carry(first, 0, done), [Begun(first, 1, done)]
    for mark in ("new-b", "new-c"):
        again = renewed(house.inventory, question, begun)
        plan = planned(again.inventory, again.question, mark, again.lifted)
        done = len(plan.walks[0].steps) if mark == "new-c" else data.draw(st.integers(0, len(plan.walks[0].steps)))
        house, begun = house.carry(plan, 0, done), [*begun, Begun(plan, 1, done)]
    assert _told(read(house.inventory, plan), question) == _told(meant, question)


def _told(trays: list[str], question: Question) -> list[str]:
    """Trays that come into a taxon by its name: of one taxon, they go in as they come."""
    taxa = {tray.key: tray.taxon for tray in question.trays} if isinstance(question, TakeIn | InsertTaxa) else {}
    if isinstance(question, SplitTaxon):
        (part,) = question.parts
        taxa = dict.fromkeys([*part.trays, *(tray.key for tray in part.new_trays)], part.taxon.name)
    return [f"one of {taxa[tray]}" if tray in taxa else tray for tray in trays]


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_a_tray_moved_behind_the_plans_back_disturbs_no_other(kind: type, data: st.DataObject) -> None:
    inventory = data.draw(collections())
    question = data.draw(questions(kind, inventory))
    first = planned(inventory, question, "new-a")
    meant = read(House(inventory).carry(first, 0, len(first.walks[0].steps)).inventory, first)
    done = data.draw(st.integers(0, len(first.walks[0].steps)))
    house = House(inventory).carry(first, 0, done)
    placed = [tray.key for tray in house.inventory.trays if tray.drawer is not None]
    assume(placed)
    tray = data.draw(st.sampled_from(placed))
    style = {drawer.key: drawer.style for drawer in house.inventory.drawers}
    known = {each.key: each for each in house.inventory.trays}
    roomy = [
        key
        for key, trays in house.standing.drawers.items()
        if fits(house.inventory, style[key], [known[each] for each in (*(t for t in trays if t != tray), tray)])
    ]
    house = house.moved_by_hand(tray, data.draw(st.sampled_from([None, *roomy])))
    there = {each.key for each in house.inventory.trays}
    again = renewed(house.inventory, question, [Begun(first, 1, done)])
    plan = planned(again.inventory, again.question, "new-b", again.lifted)
    house = house.carry(plan, 0, len(plan.walks[0].steps))
    after = read(house.inventory, plan)
    assert {each.key for each in house.inventory.trays} >= there
    assert len(set(after)) == len(after)
    assert set(meant) - set(after) <= {tray}
    # What is set in behind its taxon follows that to wherever somebody has put it.
    if not isinstance(question, TakeIn | InsertTaxa | SplitTaxon | MergeTaxa):
        assert [each for each in after if each != tray] == [each for each in meant if each != tray]
