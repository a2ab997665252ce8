"""What a curator would do with a few drawers in front of them, tray by tray."""

import pytest
from small_collections import TALL, a_tray, collection, sequence, shown

from service.core.arrangement.inventory import DrawerStyle
from service.core.arrangement.plan import (
    Aim,
    ArrangementWishes,
    CannotBeArranged,
    CannotBeWalked,
    ChangeDrawerStyle,
    EmptyCabinets,
    InsertTaxa,
    MergeTaxa,
    NewTaxon,
    ReorderTaxa,
    RestoreReserve,
    SplitPart,
    SplitTaxon,
    TakeIn,
)
from service.core.arrangement.planning import plan_arrangement
from service.core.arrangement.walking import walk

FULL = "a1 a2 a3 a4 b1 b2 b3 b4"


def test_a_gap_is_used_before_anything_shifts() -> None:
    standing = collection("a1 a2 a3", "b1 b2", "c1")
    (way,) = plan_arrangement(standing, TakeIn((a_tray("a9"), a_tray("c9")))).alternatives
    assert shown(way.after) == {"D1": "a1 a2 a3 a9", "D3": "c1 c9"}
    assert (way.moved, way.put_in, way.is_proved) == (0, 2, True)


def test_of_as_few_moves_the_way_that_touches_fewer_drawers_is_taken() -> None:
    """a9 could stand last in the first drawer; the second, which b9 comes to anyway, is no further drawer."""
    standing = collection("a1 a2 a3", "b1 b2", "c1")
    (way,) = plan_arrangement(standing, TakeIn((a_tray("a9"), a_tray("b9")))).alternatives
    assert shown(way.after) == {"D2": "a9 b1 b2 b9"}


def test_the_worked_example_in_prose() -> None:
    """Three drawers hold eight trays each; the third has two places left. A tray of taxon a arrives.

    It belongs behind a8, in the first drawer, which is full. So the last tray of the first drawer would have to go to
    the second, which is full too, and the last of the second to the third. a9 itself may stand first in the second
    drawer, though: then only b8 has to move, one drawer on, to the front of the third. One tray moved, two drawers
    touched; b8 goes first, since a9 finds no room before. A naive clerk who re-shelves everything behind a8 lifts
    fourteen trays.
    """
    standing = collection("a1 a2 a3 a4 a5 a6 a7 a8", "b1 b2 b3 b4 b5 b6 b7 b8", "c1 c2 c3 c4 c5 c6")
    plan = plan_arrangement(standing, TakeIn((a_tray("a9"),)))
    (way,) = plan.alternatives
    assert shown(way.after) == {"D2": "a9 b1 b2 b3 b4 b5 b6 b7", "D3": "b8 c1 c2 c3 c4 c5 c6"}
    assert (way.moved, way.put_in, way.drawers_touched, way.at_least) == (1, 1, 2, 1)
    walking = walk(standing, plan, way)
    assert [(step.tray, step.from_drawer, step.to_drawer, step.place, step.after) for step in walking.steps] == [
        ("b8", "D2", "D3", 1, None),
        ("a9", None, "D2", 1, None),
    ]
    assert (walking.lifts, walking.drawers_handled, walking.out_of_the_way) == (2, 2, 0)
    # 2 trays at 120 an hour and 2 drawers at 60 an hour: 1 minute and 2 minutes.
    assert walking.hours.hours is not None
    assert round(float(walking.hours.hours) * 60, 6) == 3
    assert (way.specimens.in_trays_that_stay, way.specimens.in_trays_that_move) == (210, 20)


def test_fewer_moves_or_fewer_drawers_is_for_the_curator_to_choose() -> None:
    full = [" ".join(f"{name}{at}" for at in range(8)) for name in "abc"]
    standing = collection(full[0], full[1], full[2], "d1")
    wishes = ArrangementWishes(new_drawers=TALL)
    least_work, least_wood = plan_arrangement(standing, TakeIn((a_tray("a9"),)), wishes).alternatives
    assert (least_work.aim, least_work.moved, len(least_work.new_drawers)) == (Aim.FEWEST_MOVES, 0, 1)
    assert (least_wood.aim, least_wood.moved, len(least_wood.new_drawers)) == (Aim.FEWEST_DRAWERS, 2, 0)
    assert least_work.is_proved
    assert least_wood.is_proved


def test_a_new_drawer_goes_into_a_free_position_of_its_cabinet() -> None:
    standing = collection("a1 a2 a3 a4 a5 a6 a7 a8", "-", "b1")
    wishes = ArrangementWishes(new_drawers=TALL)
    way = plan_arrangement(standing, TakeIn(tuple(a_tray(f"a{at}") for at in range(10, 18))), wishes).alternatives[0]
    (new,) = way.new_drawers
    assert (new.cabinet, new.position) == ("C1", 2)
    assert way.moved == 0


def test_a_new_taxon_stands_where_its_sequence_says_and_not_the_alphabet() -> None:
    standing = collection("a1 a2", "b1 b2")
    question = InsertTaxa((NewTaxon("zz", after="a"),), (a_tray("zz1"),))
    (way,) = plan_arrangement(standing, question).alternatives
    assert shown(way.after) == {"D1": "a1 a2 zz1"}


def test_merged_taxa_stand_together_under_the_name_that_stays() -> None:
    standing = collection("a1 a2", "b1 c1", "d1 d2")
    plan = plan_arrangement(standing, MergeTaxa(("d",), "a"))
    assert dict(plan.renamed) == {"d1": "a", "d2": "a"}
    assert [taxon.name for taxon in plan.sequence.taxa] == ["a", "b", "c"]
    (way,) = plan.alternatives
    assert shown(way.after) == {"D1": "a1 a2 d1 d2", "D3": ""}
    assert (way.moved, way.drawers_emptied, way.is_proved) == (2, 1, True)


def test_a_split_taxon_leaves_its_trays_where_they_are_when_the_order_allows() -> None:
    standing = collection("a1 a2 a3", "b1")
    part = SplitPart(NewTaxon("aa", after="a"), ("a3",), (a_tray("x1", specimens=4),), specimens_picked_out=4)
    plan = plan_arrangement(standing, SplitTaxon("a", (part,)))
    (way,) = plan.alternatives
    assert shown(way.after) == {"D1": "a1 a2 a3 x1"}
    assert (way.moved, way.specimens.picked_out_one_by_one) == (0, 4)
    assert dict(plan.renamed) == {"a3": "aa"}


def test_the_smaller_of_two_taxa_changes_places_when_they_swap() -> None:
    standing = collection("a1 a2 a3", "b1", "c1")
    (way,) = plan_arrangement(standing, ReorderTaxa(sequence("b", "a", "c"))).alternatives
    assert (way.moved, way.reset) == (1, 0)
    assert shown(way.after) == {"D1": "b1 a1 a2 a3", "D2": ""}


def test_trays_that_change_places_within_a_drawer_do_not_leave_it() -> None:
    standing = collection("a1 a2 b1 c1", "d1")
    (way,) = plan_arrangement(standing, ReorderTaxa(sequence("b", "a", "c", "d"))).alternatives
    assert (way.moved, way.reset, way.drawers_touched) == (0, 1, 1)


def test_an_emptied_cabinet_goes_to_its_neighbours_in_order() -> None:
    standing = collection("a1 a2", "b1", "c1 c2", "d1", per_cabinet=1)
    plan = plan_arrangement(standing, EmptyCabinets(("C2",)))
    (way,) = plan.alternatives
    assert shown(way.after) == {"D2": "", "D1": "a1 a2 b1"}
    assert (way.moved, way.at_least) == (1, 1)


def test_a_drawer_over_its_reserve_is_left_alone_until_somebody_asks() -> None:
    standing = collection(FULL, "c1", reserve=50)
    (way,) = plan_arrangement(standing, TakeIn((a_tray("c2"),))).alternatives
    assert shown(way.after) == {"D2": "c1 c2"}
    (way,) = plan_arrangement(collection(FULL, "", "c1", reserve=50), RestoreReserve()).alternatives
    assert shown(way.after) == {"D1": "a1 a2 a3 a4", "D2": "b1 b2 b3 b4"}
    assert (way.moved, way.at_least, way.reserve_missing) == (4, 4, ())


def test_where_there_is_no_room_for_the_reserve_the_plan_names_the_drawers() -> None:
    plan = plan_arrangement(collection("a1 a2 a3 a4", "b1 b2 b3 b4", reserve=50), TakeIn((a_tray("a9"),)))
    (way,) = plan.alternatives
    assert len(way.reserve_missing) == 1
    assert way.is_proved
    assert any("less than their growth reserve" in note for note in plan.notes)


def test_another_style_of_drawer_takes_everything_over_in_order() -> None:
    standing = collection("a1 a2 a3 a4 a5 a6 a7 a8", "b1 b2")
    small = DrawerStyle("small", 100 * 1_000_000, 400 * 1_000_000)
    plan = plan_arrangement(standing, ChangeDrawerStyle("tall", small))
    (way,) = plan.alternatives
    assert list(shown(way.after).values()) == ["", "", "a1 a2 a3 a4", "a5 a6 a7 a8", "b1 b2"]
    assert (way.moved, way.is_proved, len(way.new_drawers)) == (10, True, 3)


def test_two_full_drawers_that_swap_a_tray_need_a_place_to_wait() -> None:
    rows = ("a1 a2 a3 d1 a5 a6 a7 a8", "c1 c2 c3 b1 c5 c6 c7 c8")
    standing = collection(*rows, "e1")
    plan = plan_arrangement(standing, ReorderTaxa(sequence("a", "b", "c", "d", "e")))
    (way,) = plan.alternatives
    walking = walk(standing, plan, way)
    assert walking.out_of_the_way == walking.lifts - way.moved - way.reset
    on_a_bench = walk(standing, plan, way, bench_places=1)
    assert on_a_bench.bench_used <= 1


def test_two_full_drawers_swap_a_tray_over_the_bench_and_without_one_the_list_says_so() -> None:
    standing = collection("a1 a2 a3 a4 a5 a6 a7 b1", "c1 d1 d2 d3 d4 d5 d6 d7")
    plan = plan_arrangement(standing, ReorderTaxa(sequence("a", "c", "b", "d")))
    (way,) = plan.alternatives
    assert (way.moved, way.reset, way.is_proved) == (2, 0, True)
    with pytest.raises(CannotBeWalked, match=r"no free place.*A bench for 1 tray would do") as refused:
        walk(standing, plan, way)
    assert refused.value.bench_places == 1
    walking = walk(standing, plan, way, bench_places=1)
    steps = [(step.tray, step.from_drawer, step.to_drawer) for step in walking.steps]
    assert steps == [("c1", "D2", None), ("b1", "D1", "D2"), ("c1", None, "D1")]
    assert (walking.lifts, walking.out_of_the_way, walking.bench_used) == (3, 1, 1)


def test_a_drawer_that_by_its_sizes_cannot_be_so_full_may_stay_as_it_stands_and_in_no_other_order() -> None:
    crowded = "a1 a2 a3 a4 b1 b2 b3 b4 b5"
    (way,) = plan_arrangement(collection(crowded, "c1"), TakeIn((a_tray("c2"),))).alternatives
    assert shown(way.after) == {"D2": "c1 c2"}
    (way,) = plan_arrangement(collection(crowded, ""), ReorderTaxa(sequence("b", "a"))).alternatives
    assert shown(way.after) == {"D1": "b1 b2 b3 b4 b5 a1 a2 a3", "D2": "a4"}
    assert way.moved == 1


def test_what_nobody_has_a_place_for_is_refused_in_words() -> None:
    standing = collection("a1", "b1")
    with pytest.raises(CannotBeArranged, match="no place for “q”"):
        plan_arrangement(standing, TakeIn((a_tray("q1"),)))
    with pytest.raises(CannotBeArranged, match="There is no room for it"):
        plan_arrangement(collection(FULL), TakeIn((a_tray("b9"),)))
