"""Levels of curation and the health index, against what has been published."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st
from small_collections import a_tray, collection

from service.core.arrangement.curation import (
    health_of,
    health_of_cabinet,
    health_of_collection,
    health_of_drawer,
    level_of_drawer,
)
from service.core.arrangement.inventory import CurationLevel, Inventory
from service.core.handbook.curation import curation_levels, health_index_rule
from service.core.handbook.figures import figure

LEVELS = st.lists(st.none() | st.sampled_from(CurationLevel), max_size=20)


def at_levels(levels: dict[str, int]) -> Inventory:
    standing = collection("a1 a2", "b1 b2", "", "c1", per_cabinet=2)
    trays = tuple(
        replace(tray, level=CurationLevel(levels[tray.key]) if tray.key in levels else None)
        for tray in standing.trays
    )
    return replace(standing, trays=trays)


def test_the_index_counts_levels_3_6_7_and_8_over_all_units() -> None:
    """The formula as the slides on collection profiling write it after McGinley 1993: (L3 + L6-8) / all units. The
    counts by level are made up."""
    counts = dict(zip(CurationLevel, (31, 40, 120, 50, 200, 300, 40, 19), strict=True))
    health = health_of(level for level, count in counts.items() for _ in range(count))
    assert (health.units, health.sound, health.index) == (800, 479, Decimal("0.59875"))
    assert "McGinley" in health_index_rule().source


def test_every_level_has_words_and_a_source() -> None:
    """Level 6 leaves room for additions: 15 to 25 % (NCSU Insect Museum 2011, Profiling the pinned collection)."""
    assert [CurationLevel(level).value for level in curation_levels()] == [1, 2, 3, 4, 5, 6, 7, 8]
    assert "room for additions" in curation_levels()[6].meaning
    assert {"ncsu-profiling"} <= set(curation_levels()[6].cited) & set(figure("growth.reserve_least").cited)


def test_a_drawer_is_as_good_as_its_worst_tray_and_a_cabinet_counts_drawers() -> None:
    standing = at_levels({"a1": 6, "a2": 2, "b1": 7, "b2": 8, "c1": 3})
    assert level_of_drawer(standing.trays_by_drawer["D1"]) is CurationLevel.UNSORTED
    assert health_of_drawer(standing, "D1").index == Decimal("0.5")
    assert health_of_cabinet(standing, "C1").index == Decimal("0.5")
    collection_health = health_of_collection(standing)
    assert (collection_health.units, collection_health.sound) == (3, 2)


def test_a_level_that_nobody_has_said_is_unknown_and_not_fine() -> None:
    standing = at_levels({"a1": 6, "b1": 1})
    assert level_of_drawer(standing.trays_by_drawer["D1"]) is None
    assert level_of_drawer(standing.trays_by_drawer["D2"]) is CurationLevel.CONSERVATION_PROBLEM
    health = health_of_drawer(standing, "D1")
    assert (health.index, health.index_at_least, health.index_at_most) == (None, Decimal("0.5"), Decimal(1))
    assert health_of([]).index is None
    assert level_of_drawer([a_tray("a1")]) is None


@given(levels=LEVELS)
def test_whatever_the_unknown_turn_out_to_be_the_index_lies_between_its_ends(
    levels: list[CurationLevel | None],
) -> None:
    before = health_of(levels)
    if not levels:
        return
    for settled in CurationLevel:
        after = health_of(settled if level is None else level for level in levels)
        assert before.index_at_least is not None
        assert before.index_at_most is not None
        assert after.index is not None
        assert before.index_at_least <= after.index <= before.index_at_most
