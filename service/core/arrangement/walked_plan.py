"""A plan with all that it takes to carry it out later: what stood where it touches, and how each way is walked."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from service.core.arrangement.asked_again import on_paper
from service.core.arrangement.inventory import Drawer, Inventory, SystematicSequence
from service.core.arrangement.layout import laid_out
from service.core.arrangement.plan import (
    Alternative,
    ArrangementPlan,
    ArrangementWishes,
    CannotBeWalked,
    DrawerAfter,
    Move,
    NewDrawer,
    Question,
    Spot,
    WalkingList,
)
from service.core.arrangement.planning import plan_arrangement
from service.core.arrangement.standing import Standing, standing_of, taken
from service.core.arrangement.walking import walk_from


@dataclass(frozen=True)
class WalkedPlan:
    """``before`` is of the inventory what the plan touches: those drawers, their trays, those that waited, and the
    old drawers whose positions new ones are to have.

    ``walks`` has the walking list of each alternative. ``new_sequence`` is ``None`` where the sequence stays.
    """

    before: Inventory
    plan: ArrangementPlan
    walks: tuple[WalkingList, ...]
    new_sequence: SystematicSequence | None = None

    @property
    def changes_nothing(self) -> bool:
        """Whether all stands where it should, and no name and no sequence changes either."""
        return not (self.plan.renamed or self.new_sequence or any(walk_.steps for walk_ in self.walks))

    def standing_after(self, chosen: int, steps: int) -> Standing:
        """What stands in the drawers that an alternative touches, once so many of its steps are taken."""
        touched = touched_by(self.plan.alternatives[chosen - 1], self.walks[chosen - 1])
        drawers = {key: trays for key, trays in standing_of(self.before).drawers.items() if key in touched}
        standing = Standing(drawers)
        for step in self.walks[chosen - 1].steps[:steps]:
            standing = taken(standing, step)
        return standing


def touched_by(alternative: Alternative, walk_: WalkingList) -> frozenset[str]:
    """The drawers that something is taken out of or put into on the way."""
    passed = {drawer for step in walk_.steps for drawer in (step.from_drawer, step.to_drawer) if drawer}
    return frozenset(passed | {after.drawer for after in alternative.after})


def plan_and_walk(
    inventory: Inventory,
    question: Question,
    wishes: ArrangementWishes,
    mark: str,
    lifted: Mapping[str, Spot] | None = None,
) -> WalkedPlan:
    """Plan, walk each alternative, and keep what it touches. New drawers are named by ``mark`` and a number.

    ``lifted`` are trays on the bench that an order is asked of as if they still stood where they came from.

    :raises CannotBeArranged: where there is no arrangement.
    :raises CannotBeWalked: where none of the alternatives leaves room enough to move in.
    """
    lifted = lifted or {}
    paper = on_paper(inventory, lifted)
    plan = plan_arrangement(paper, question, wishes)
    walked, refusals = [], []
    for found in plan.alternatives:
        alternative = _putting_back(_named_by(mark, found, paper), paper, lifted)
        try:
            walked.append((alternative, _walk(inventory, plan, alternative, lifted, wishes)))
        except CannotBeWalked as error:
            refusals.append(error)
    if not walked:
        raise refusals[0]
    changed = None if plan.sequence == inventory.sequence else plan.sequence
    left_out = [f"One way is left out, because it cannot be walked: {error}" for error in refusals]
    nothing = [] if any(walk_.steps for _, walk_ in walked) else [_nothing_to_carry(plan, changed)]
    notes = (*nothing, *plan.notes, *left_out)
    alternatives = tuple(each for each, _ in walked)
    shown = replace(plan, alternatives=alternatives, sequence=SystematicSequence(), notes=notes)
    walks = tuple(each for _, each in walked)
    return WalkedPlan(_of_interest(inventory, shown, walks), shown, walks, changed)


def _nothing_to_carry(plan: ArrangementPlan, changed: SystematicSequence | None) -> str:
    if plan.renamed or changed is not None:
        return "Everything stands where it should. Say that this is done (through step 0), and the new names hold."
    return "Everything stands where it should: there is nothing to carry."


def _walk(
    inventory: Inventory,
    plan: ArrangementPlan,
    alternative: Alternative,
    lifted: Mapping[str, Spot],
    wishes: ArrangementWishes,
) -> WalkingList:
    standing = replace(standing_of(inventory), bench=tuple(lifted))
    return walk_from(standing, inventory, plan, alternative, max(wishes.bench_places, len(lifted)))


def _putting_back(alternative: Alternative, paper: Inventory, lifted: Mapping[str, Spot]) -> Alternative:
    """Trays on the bench go back into their drawers, where nothing else about these changes."""
    back = {spot.drawer for spot in lifted.values()} - {each.drawer for each in alternative.after}
    drawers = [drawer for drawer in paper.drawers if drawer.key in back]
    return replace(alternative, after=(*alternative.after, *(_as_on_paper(drawer, paper) for drawer in drawers)))


def _as_on_paper(drawer: Drawer, paper: Inventory) -> DrawerAfter:
    trays = paper.trays_by_drawer[drawer.key]
    reserve = paper.reserve_percent if drawer.reserve_percent is None else drawer.reserve_percent
    laid = laid_out(trays, drawer.style, reserve, paper.reading_order, paper.play_nm)
    return DrawerAfter(drawer.key, tuple(tray.key for tray in trays), laid.keeps_reserve if laid.fits else None)


def _of_interest(inventory: Inventory, plan: ArrangementPlan, walks: tuple[WalkingList, ...]) -> Inventory:
    touched = frozenset[str]().union(*map(touched_by, plan.alternatives, walks))
    lifted = {step.tray for each in walks for step in each.steps}
    given = {(new.cabinet, new.position) for each in plan.alternatives for new in each.new_drawers if new.position}
    drawers = tuple(
        drawer for drawer in inventory.drawers if drawer.key in touched or (drawer.cabinet, drawer.position) in given
    )
    cabinets = {drawer.cabinet for drawer in drawers} | {
        new.cabinet for alternative in plan.alternatives for new in alternative.new_drawers
    }
    return replace(
        inventory,
        drawers=drawers,
        trays=tuple(tray for tray in inventory.trays if tray.drawer in touched or tray.key in lifted),
        cabinets=tuple(cabinet for cabinet in inventory.cabinets if cabinet.key in cabinets),
        sequence=SystematicSequence(),
        waiting=(),
        meant=(),
    )


# New drawers get names that no drawer of another plan has


def _named_by(mark: str, alternative: Alternative, inventory: Inventory) -> Alternative:
    known = {drawer.key for drawer in inventory.drawers}
    new_keys = [new.key for new in alternative.new_drawers if new.key not in known]
    names = {key: f"{mark}-{at}" for at, key in enumerate(new_keys, start=1)}
    if not names:
        return alternative

    def named(key: str) -> str:
        return names.get(key, key)

    def spot(at: Spot) -> Spot:
        return replace(at, drawer=named(at.drawer))

    def moves() -> Iterator[Move]:
        for move in alternative.moves:
            yield replace(move, from_=None if move.from_ is None else spot(move.from_), to=spot(move.to))

    def after() -> Iterator[DrawerAfter]:
        for each in alternative.after:
            yield replace(each, drawer=named(each.drawer))

    def drawers() -> Iterator[NewDrawer]:
        for new in alternative.new_drawers:
            yield replace(new, key=named(new.key), behind=None if new.behind is None else named(new.behind))

    return replace(
        alternative,
        moves=tuple(moves()),
        after=tuple(after()),
        new_drawers=tuple(drawers()),
        reserve_missing=tuple(map(named, alternative.reserve_missing)),
    )
