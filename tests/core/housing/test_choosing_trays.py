"""Trays for taxa: the least area that holds the specimens, at the density that the receiver pins."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.housing.choosing_trays import TaxonCount, TaxonTrays, TrayChoice, as_tray_sizes, choose_trays
from service.core.housing.effort import QUICK
from service.core.housing.plan import DrawerType, HousingRequest
from service.core.housing.planning import plan_housing

MM = 1_000_000
QUARTER = TrayChoice("quarter", 100 * MM, 50 * MM, holds=12)
HALF = TrayChoice("half", 100 * MM, 100 * MM, holds=26)
WHOLE = TrayChoice("whole", 200 * MM, 100 * MM, holds=54)


def chosen(specimens: int, *choices: TrayChoice) -> dict[str, int]:
    (trays,) = choose_trays([TaxonCount("Carabus auratus", specimens)], choices)
    return {choice.code: count for choice, count in trays.trays}


def test_few_specimens_get_the_smallest_tray_and_none_get_none() -> None:
    assert chosen(1, QUARTER, HALF, WHOLE) == {"quarter": 1}
    assert chosen(0, QUARTER, HALF, WHOLE) == {}


def test_of_trays_that_take_the_same_room_the_fewest_are_chosen() -> None:
    # By hand: 24 in two quarters or in one half, both 100 cm2
    assert chosen(24, QUARTER, HALF, WHOLE) == {"half": 1}


def test_a_quarter_beside_a_whole_is_less_than_a_whole_and_a_half() -> None:
    assert chosen(60, QUARTER, HALF, WHOLE) == {"whole": 1, "quarter": 1}


def test_a_taxon_of_thousands_is_housed_in_the_densest_tray_but_for_the_rest() -> None:
    # By hand: 185 wholes hold 9,990; a quarter holds the other ten
    assert chosen(10_000, QUARTER, HALF, WHOLE) == {"whole": 185, "quarter": 1}


def test_the_play_of_many_small_trays_counts_against_them() -> None:
    # By hand: 65 in one half and three quarters is 248 mm of width, in two halves and a quarter 248.5; with half a
    # millimetre of play for each both take 250, and the fewer trays are taken
    half, quarter = TrayChoice("half", 99_500_000, 97 * MM, 30), TrayChoice("quarter", 49_500_000, 97 * MM, 12)
    taxa = [TaxonCount("Noctua pronuba", 65)]
    bare, with_play = (choose_trays(taxa, [half, quarter], play_nm)[0] for play_nm in (0, MM // 2))
    assert bare.trays == ((half, 1), (quarter, 3))
    assert with_play.trays == ((half, 2), (quarter, 1))


def area(trays: TaxonTrays) -> int:
    return sum(choice.width_nm * choice.depth_nm * count for choice, count in trays.trays)


sizes = st.tuples(st.integers(1, 9), st.integers(1, 9), st.integers(1, 12))


@given(st.integers(0, 60), st.lists(sizes, min_size=1, max_size=3))
def test_no_other_choice_holds_them_in_less(specimens: int, listed: list[tuple[int, int, int]]) -> None:
    choices = [TrayChoice(str(at), width, depth, holds) for at, (width, depth, holds) in enumerate(listed)]
    (trays,) = choose_trays([TaxonCount("a", specimens)], choices)
    ways = product(*(range(-(-specimens // choice.holds) + 1) for choice in choices))
    holding = [way for way in ways if sum(n * c.holds for n, c in zip(way, choices, strict=True)) >= specimens]
    least = min(
        (sum(n * c.width_nm * c.depth_nm for n, c in zip(way, choices, strict=True)), sum(way)) for way in holding
    )
    assert (area(trays), sum(count for _, count in trays.trays)) == least
    assert trays.places_free == sum(c.holds * count for c, count in trays.trays) - specimens >= 0


def test_chosen_trays_go_into_a_housing_plan_with_their_labels() -> None:
    taxa = [TaxonCount("Carabus auratus", 60), TaxonCount("Carabus nitens", 3)]
    trays = as_tray_sizes(choose_trays(taxa, [QUARTER, HALF, WHOLE]), together=True)
    assert [(tray.label, tray.count, tray.together) for tray in trays] == [
        ("Carabus auratus", 1, "Carabus auratus"),
        ("Carabus auratus", 1, "Carabus auratus"),
        ("Carabus nitens", 1, "Carabus nitens"),
    ]
    # By hand: 100 x 100 for two quarters beside 200 x 100
    assert plan_housing(HousingRequest(trays, (DrawerType("d", 300 * MM, 100 * MM),)), QUICK).drawer_count == 1


@pytest.mark.parametrize(
    ("taxa", "choices", "says"),
    [
        ([], [], "no size of tray"),
        ([TaxonCount("a", -1)], [QUARTER], "-1 specimens"),
        ([], [TrayChoice("x", 1, 1, 0)], "“x” needs"),
    ],
)
def test_nonsense_is_refused(taxa: list[TaxonCount], choices: list[TrayChoice], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        choose_trays(taxa, choices)
