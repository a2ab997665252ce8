"""Laws that hold for any trays and drawers, and every small case against trying everything."""

from dataclasses import replace
from decimal import Decimal

from certificate_checker import at_least
from every_plan import fewest_drawers
from housing_cases import MM, Trays, request_for
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from service.core.housing.effort import QUICK, Effort
from service.core.housing.placement_check import faults
from service.core.housing.plan import DrawerType, HousingRequest, TraySize
from service.core.housing.planning import plan_housing

SMALL = Effort(
    mixing_work=300,
    restarts=1,
    rounds=1,
    passes=20,
    choices=100,
    choosing_nodes=20,
    search_nodes=3_000,
    closing_work=50,
)
unhurried = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])

sides = st.integers(1, 6)
small_drawers = st.tuples(st.integers(3, 6), st.integers(3, 6))
few_trays = st.lists(st.tuples(sides, sides, st.integers(1, 2)), min_size=1, max_size=4, unique_by=lambda t: t[:2])


def fits(drawer: tuple[int, int], trays: Trays) -> bool:
    return all(width <= drawer[0] and depth <= drawer[1] for width, depth, _ in trays)


def drawers_with_trays(sizes: int, most: int) -> st.SearchStrategy[tuple[tuple[int, int], Trays]]:
    drawer = st.tuples(st.integers(300, 500), st.integers(300, 500))
    size = st.tuples(st.integers(60, 300), st.integers(60, 300), st.integers(1, most))
    return st.tuples(drawer, st.lists(size, min_size=1, max_size=sizes, unique_by=lambda t: t[:2]))


@unhurried
@given(small_drawers, few_trays, st.booleans())
def test_no_plan_is_below_its_bound_or_below_the_best_of_all_plans(
    drawer: tuple[int, int], trays: Trays, may_turn: bool
) -> None:
    assume(fits(drawer, trays))
    plan = plan_housing(request_for(drawer, trays, may_turn=may_turn), SMALL)
    fewest = fewest_drawers(drawer, trays, may_turn=may_turn)
    assert plan.at_least <= fewest <= plan.cost
    assert not plan.is_proved or plan.cost == fewest


@unhurried
@given(small_drawers, few_trays, st.booleans())
def test_small_cases_get_the_fewest_drawers(drawer: tuple[int, int], trays: Trays, may_turn: bool) -> None:
    assume(fits(drawer, trays))
    plan = plan_housing(request_for(drawer, trays, may_turn=may_turn), QUICK)
    assert plan.drawer_count == fewest_drawers(drawer, trays, may_turn=may_turn)


@unhurried
@given(drawers_with_trays(5, 60), st.booleans(), st.sampled_from([0, 15, 25]), st.sampled_from([0, MM // 2]))
def test_every_plan_passes_the_independent_look_and_its_certificate_adds_up(
    case: tuple[tuple[int, int], Trays], may_turn: bool, reserve: int, play_nm: int
) -> None:
    request = replace(request_for(*case, may_turn=may_turn), reserve_percent=Decimal(reserve), play_nm=play_nm)
    plan = plan_housing(request, SMALL)
    assert faults(request, plan) == []
    assert at_least(plan.certificate, request) == plan.certificate.at_least <= plan.at_least <= plan.cost


def first_fit(drawer: tuple[int, int], trays: Trays) -> int:
    """Drawers when trays are put, the deepest first, into the first row of the first drawer that takes them."""
    drawers: list[list[tuple[int, int]]] = []  # for each drawer its rows: depth and width taken

    def put(width: int, depth: int) -> None:
        for rows in drawers:
            for at, (row, taken) in enumerate(rows):
                if depth <= row and taken + width <= drawer[0]:
                    rows[at] = row, taken + width
                    return
            if sum(row for row, _ in rows) + depth <= drawer[1]:
                rows.append((depth, width))
                return
        drawers.append([(depth, width)])

    for width, depth, count in sorted(trays, key=lambda tray: (-tray[1], -tray[0])):
        for _ in range(count):
            put(width, depth)
    return len(drawers)


@unhurried
@given(drawers_with_trays(8, 40), st.booleans())
def test_no_plan_is_above_first_fit(case: tuple[tuple[int, int], Trays], may_turn: bool) -> None:
    plan = plan_housing(request_for(*case, may_turn=may_turn), SMALL)
    assert plan.drawer_count <= first_fit(*case)


@unhurried
@given(drawers_with_trays(5, 40), st.booleans(), st.randoms(use_true_random=False))
def test_the_order_of_what_is_written_changes_nothing(
    case: tuple[tuple[int, int], Trays], may_turn: bool, order: "object"
) -> None:
    request = request_for(*case, may_turn=may_turn)
    request = replace(request, drawers=(*request.drawers, DrawerType("other", 310 * MM, 450 * MM)))
    mixed = list(request.trays)
    order.shuffle(mixed)  # type: ignore[attr-defined]
    other = replace(request, trays=tuple(mixed), drawers=request.drawers[::-1])
    assert plan_housing(request, SMALL) == plan_housing(other, SMALL)


@unhurried
@given(drawers_with_trays(4, 40))
def test_the_bound_never_falls_when_a_tray_is_added(case: tuple[tuple[int, int], Trays]) -> None:
    drawer, trays = case
    (width, depth, count), *rest = trays
    before = plan_housing(request_for(drawer, trays), SMALL).at_least
    assert plan_housing(request_for(drawer, [(width, depth, count + 1), *rest]), SMALL).at_least >= before


@unhurried
@given(drawers_with_trays(4, 40), st.booleans())
def test_turning_drawer_and_trays_together_changes_no_count(
    case: tuple[tuple[int, int], Trays], may_turn: bool
) -> None:
    drawer, trays = case
    plan = plan_housing(request_for(drawer, trays, may_turn=may_turn), SMALL)
    turned = [(depth, width, count) for width, depth, count in trays]
    other = plan_housing(request_for(drawer[::-1], turned, may_turn=may_turn), SMALL)
    assert max(plan.at_least, other.at_least) <= min(plan.cost, other.cost)
    assert not (plan.is_proved and other.is_proved) or plan.cost == other.cost


@unhurried
@given(drawers_with_trays(4, 40), st.integers(0, 60), st.integers(0, 60))
def test_a_larger_drawer_never_needs_more_than_the_smaller_ones_plan(
    case: tuple[tuple[int, int], Trays], wider: int, deeper: int
) -> None:
    drawer, trays = case
    smaller = plan_housing(request_for(drawer, trays), SMALL)
    larger = plan_housing(request_for((drawer[0] + wider, drawer[1] + deeper), trays), SMALL)
    assert larger.at_least <= smaller.cost
    assert not larger.is_proved or larger.cost <= smaller.cost


@unhurried
@given(drawers_with_trays(4, 40), st.booleans())
def test_trays_that_may_turn_never_need_a_higher_bound_than_those_that_may_not(
    case: tuple[tuple[int, int], Trays], may_turn: bool
) -> None:
    fixed = plan_housing(request_for(*case, may_turn=False), SMALL)
    free = plan_housing(request_for(*case, may_turn=True), SMALL)
    assert free.at_least <= fixed.cost
    assert not may_turn or free.at_least <= free.cost


@unhurried
@given(drawers_with_trays(3, 30), st.integers(1, 9), st.integers(1, 9))
def test_two_types_of_drawer_never_cost_more_than_the_better_of_them_alone(
    case: tuple[tuple[int, int], Trays], cost: int, other_cost: int
) -> None:
    drawer, trays = case
    one = DrawerType("one", drawer[0] * MM, drawer[1] * MM, cost=cost)
    other = DrawerType("other", 520 * MM, 510 * MM, cost=other_cost)
    sizes: tuple[TraySize, ...] = request_for(drawer, trays).trays
    both = plan_housing(HousingRequest(sizes, (one, other)), SMALL)
    alone = [plan_housing(HousingRequest(sizes, (each,)), SMALL) for each in (one, other)]
    assert both.at_least <= min(each.cost for each in alone)
    assert not both.is_proved or both.cost <= min(each.cost for each in alone)
