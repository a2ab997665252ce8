"""What holds for every question: nothing lost, order kept, reserve kept, and no collision at any step."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from small_collections import TALL, a_tray, collections, contents_after, drawers_after, fits

from service.core.arrangement.inventory import DrawerStyle, Inventory, ReadingOrder, SystematicSequence
from service.core.arrangement.plan import (
    Alternative,
    ArrangementPlan,
    ArrangementWishes,
    CannotBeArranged,
    CannotBeWalked,
    ChangeDrawerStyle,
    EmptyCabinets,
    MergeTaxa,
    Question,
    ReorderTaxa,
    RestoreReserve,
    TakeIn,
    WalkingList,
)
from service.core.arrangement.planning import plan_arrangement
from service.core.arrangement.standing import fingerprint, standing_of, taken
from service.core.arrangement.walking import walk, walk_from

KINDS = (TakeIn, TakeIn, ReorderTaxa, ReorderTaxa, MergeTaxa, EmptyCabinets, RestoreReserve, ChangeDrawerStyle)
WIDE = DrawerStyle("wide", 300_000_000, 400_000_000)


@st.composite
def questions(draw: st.DrawFn, inventory: Inventory) -> Question:
    taxa = [taxon.name for taxon in inventory.sequence.taxa]
    assume(taxa)
    kind = draw(st.sampled_from(KINDS))
    if kind is TakeIn:
        names = draw(st.lists(st.sampled_from(taxa), min_size=1, max_size=5))
        sizes = st.sampled_from(((100, 100), (100, 200), (200, 100)))
        return TakeIn(tuple(a_tray(f"{name}{900 + at}", *draw(sizes)) for at, name in enumerate(names)))
    if kind is ReorderTaxa:
        return ReorderTaxa(SystematicSequence(tuple(draw(st.permutations(inventory.sequence.taxa)))))
    if kind is MergeTaxa:
        return MergeTaxa((draw(st.sampled_from(taxa)),), draw(st.sampled_from(taxa)))
    if kind is EmptyCabinets:
        return EmptyCabinets((draw(st.sampled_from(inventory.cabinets)).key,))
    return RestoreReserve() if kind is RestoreReserve else ChangeDrawerStyle("tall", WIDE)


@st.composite
def planned(draw: st.DrawFn) -> tuple[Inventory, Question, ArrangementPlan]:
    inventory = replace(draw(collections()), reading_order=draw(st.sampled_from(ReadingOrder)))
    question = draw(questions(inventory))
    wishes = ArrangementWishes(new_drawers=draw(st.sampled_from((None, TALL, TALL))))
    try:
        return inventory, question, plan_arrangement(inventory, question, wishes)
    except CannotBeArranged:
        assume(False)
        raise


cases = settings(max_examples=250, deadline=None)


@cases
@given(case=planned())
def test_nothing_is_lost_and_nothing_is_in_two_places(case) -> None:
    inventory, question, plan = case
    arriving = question.trays if isinstance(question, TakeIn) else ()
    expected = Counter([*(tray.key for tray in inventory.trays), *(tray.key for tray in arriving)])
    for at in range(len(plan.alternatives)):
        after = contents_after(inventory, plan, at)
        assert Counter(tray for trays in after.values() for tray in trays) == expected


@cases
@given(case=planned())
def test_the_collection_is_read_in_its_sequence_afterwards(case) -> None:
    inventory, question, plan = case
    named = {tray.key: tray.taxon for tray in (*inventory.trays, *plan.new_trays)} | dict(plan.renamed)
    assume(all(drawer.position is not None for way in plan.alternatives for drawer in way.new_drawers))
    for at in range(len(plan.alternatives)):
        after = contents_after(inventory, plan, at)
        read = [tray for drawer in drawers_after(inventory, plan, at) for tray in after[drawer.key]]
        ranks = [plan.sequence.rank(named[tray]) for tray in read]
        assert ranks == sorted(ranks)
        before = [tray.key for tray in inventory.trays_read()]
        if not isinstance(question, ReorderTaxa | MergeTaxa):
            assert [tray for tray in read if tray in before] == before


@cases
@given(case=planned())
def test_every_drawer_that_changes_keeps_its_reserve_or_is_named(case) -> None:
    inventory, question, plan = case
    known = {tray.key: tray for tray in (*inventory.trays, *plan.new_trays)}
    styles = {drawer.key: drawer.style for drawer in inventory.drawers}
    for way in plan.alternatives:
        styles_of_way = styles | {new.key: new.style for new in way.new_drawers}
        for after in way.after:
            trays = [known[key] for key in after.trays]
            if after.drawer not in way.reserve_missing:
                assert fits(inventory, styles_of_way[after.drawer], trays, inventory.reserve_percent)
            elif len(trays) > 1 and not isinstance(question, RestoreReserve):
                assert fits(inventory, styles_of_way[after.drawer], trays)


@cases
@given(case=planned())
def test_the_counts_are_those_of_the_moves(case) -> None:
    inventory, _, plan = case
    where = {tray.key: tray.drawer for tray in inventory.trays}
    for at, way in enumerate(plan.alternatives):
        after = contents_after(inventory, plan, at)
        now = {tray: drawer for drawer, trays in after.items() for tray in trays}
        changed = [tray for tray, drawer in now.items() if where.get(tray) != drawer]
        assert way.moved == sum(where.get(tray) is not None for tray in changed)
        assert way.put_in == sum(where.get(tray) is None for tray in changed)
        assert way.at_least <= way.weighed
        for move in way.moves:
            assert way.drawer_after[move.to.drawer].trays[move.to.place - 1] == move.tray
            assert where.get(move.tray) == (None if move.from_ is None else move.from_.drawer)
    shown = [(way.moved, way.drawers_opened) for way in plan.alternatives]
    assert shown == sorted(shown)
    assert [opened for _, opened in shown] == sorted({opened for _, opened in shown}, reverse=True)


@cases
@given(case=planned(), bench=st.integers(0, 2))
def test_every_step_of_the_walking_list_finds_room_and_the_last_one_ends_the_work(case, bench: int) -> None:
    inventory, _, plan = case
    known = {tray.key: tray for tray in (*inventory.trays, *plan.new_trays)}
    for at, way in enumerate(plan.alternatives):
        styles = {d.key: d.style for d in inventory.drawers} | {new.key: new.style for new in way.new_drawers}
        walking, enough = _walked(inventory, plan, way, bench)
        assert walking.bench_used <= enough
        assert enough == bench or walking.bench_used == enough > bench
        standing = standing_of(inventory)
        for step in walking.steps:
            standing = taken(standing, step)
            assert len(standing.bench) <= enough
            if step.to_drawer is not None:
                trays = standing.drawers[step.to_drawer]
                assert fits(inventory, styles[step.to_drawer], [known[tray] for tray in trays])
        after = contents_after(inventory, plan, at)
        assert {key: trays for key, trays in standing.drawers.items() if trays} == {
            k: t for k, t in after.items() if t
        }
        assert standing.bench == ()
        assert walking.lifts == len(walking.steps) >= way.moved + way.put_in + way.reset
        assert walking.lifts == way.moved + way.put_in + way.reset + walking.out_of_the_way


@cases
@given(case=planned(), stop=st.integers(0, 30))
def test_work_that_was_stopped_is_taken_up_where_it_stands(case, stop: int) -> None:
    inventory, _, plan = case
    way = plan.alternatives[0]
    try:
        walking = walk(inventory, plan, way)
    except CannotBeWalked:
        assume(False)
        raise
    standing = standing_of(inventory)
    for step in walking.steps[:stop]:
        standing = taken(standing, step)
    rest = walk_from(standing, inventory, plan, way, bench_places=50)
    for step in rest.steps:
        standing = taken(standing, step)
    after = contents_after(inventory, plan)
    assert _filled(standing.drawers) == _filled(after)


def _filled(drawers: Mapping[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    return {key: trays for key, trays in drawers.items() if trays}


def _walked(inventory: Inventory, plan: ArrangementPlan, way: Alternative, bench: int) -> tuple[WalkingList, int]:
    """The list, and the bench that it takes: this one, or the one that would do."""
    try:
        return walk(inventory, plan, way, bench), bench
    except CannotBeWalked as error:
        return walk(inventory, plan, way, error.bench_places or 0), error.bench_places or 0


@cases
@given(inventory=collections(), data=st.data())
def test_a_tray_that_somebody_moves_changes_the_fingerprint(inventory: Inventory, data: st.DataObject) -> None:
    assume(inventory.trays)
    tray = data.draw(st.sampled_from(inventory.trays))
    moved = replace(inventory, trays=tuple(each for each in inventory.trays if each is not tray))
    assert fingerprint(moved) != fingerprint(inventory)
    assert fingerprint(replace(inventory, trays=inventory.trays[::-1])) == fingerprint(inventory)
