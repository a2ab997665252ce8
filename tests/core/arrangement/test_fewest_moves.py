"""The fewest moves, against everything tried, and laws that hold for any drawers."""

from hypothesis import given, settings
from hypothesis import strategies as st
from small_cases import Small, allowed, cheapest_by_trying, smalls

from service.core.arrangement.cuts import PER_MOVE, Look, Weights, Window, cut_window
from service.core.arrangement.task import LOOSE
from service.core.arrangement.windows import Effort, NoRoom, arrange


def arranged(small: Small, opened: int, effort: Effort | None = None):
    try:
        return arrange(small.task(), Weights(opened), effort)
    except NoRoom:
        return None


@settings(max_examples=600, deadline=None)
@given(small=smalls(), opened=st.sampled_from((0, 0, 1, 3, 50)))
def test_no_way_of_cutting_the_order_moves_fewer_trays(small: Small, opened: int) -> None:
    found, best = arranged(small, opened), cheapest_by_trying(small, opened)
    assert (found is None) == (best is None)
    if found is not None and best is not None:
        assert (found.cost, found.at_least) == (best[0], best[0])


@settings(max_examples=300, deadline=None)
@given(small=smalls(), opened=st.sampled_from((0, 2)))
def test_among_the_fewest_moves_no_way_touches_fewer_drawers(small: Small, opened: int) -> None:
    """Proved where the whole collection is looked at; in a window the fewest drawers are those of the window."""
    task = small.task()
    whole = Window(0, task.slots, 0, len(task))
    found, complete = cut_window(task, whole, Weights(opened), 1 << 30, Look(1 << 40))
    assert complete
    best = cheapest_by_trying(small, opened)
    assert (None if found is None else divmod(found.cost, PER_MOVE)) == best


@st.composite
def rows_of_drawers(draw: st.DrawFn) -> Small:
    """Up to forty drawers of equal trays, most of them nearly full, with some trays loose or astray."""
    counts = draw(st.lists(st.sampled_from((0, 2, 3, 4, 4, 4)), min_size=10, max_size=40))
    where = [slot for slot, count in enumerate(counts) for _ in range(count)]
    for at in draw(st.lists(st.integers(0, len(where)), max_size=6)):
        where.insert(at, draw(st.sampled_from((LOOSE, LOOSE, draw(st.integers(0, len(counts) - 1))))))
    slots = tuple((4, 1, 0) for _ in counts)
    return Small(tuple((1, 1, slot) for slot in where), slots, draw(st.booleans()))


@settings(max_examples=300, deadline=None)
@given(small=rows_of_drawers(), opened=st.sampled_from((0, 2)))
def test_looking_only_around_what_changes_misses_nothing(small: Small, opened: int) -> None:
    task = small.task()
    whole = Window(0, task.slots, 0, len(task))
    exact, _ = cut_window(task, whole, Weights(opened), 1 << 30, Look(1 << 40))
    found = arranged(small, opened)
    assert (found is None) == (exact is None)
    if found is not None and exact is not None:
        assert (found.cost, found.at_least) == (exact.moves, exact.moves)


@settings(max_examples=300, deadline=None)
@given(small=st.one_of(smalls(), rows_of_drawers()), opened=st.sampled_from((0, 2)))
def test_with_little_effort_the_plan_is_sound_and_the_bound_true(small: Small, opened: int) -> None:
    exact, found = arranged(small, opened), arranged(small, opened, Effort(states=0, band=(0, 1)))
    assert (found is None) == (exact is None)
    if found is not None and exact is not None:
        assert found.at_least <= exact.cost <= found.cost
        _is_sound(small, found.ends.tolist())


def _is_sound(small: Small, ends: list[int]) -> None:
    """Every tray is in one slot, in order, and every slot holds what it may."""
    bounds = [0, *ends]
    assert bounds == sorted(bounds)
    assert bounds[-1] == len(small.trays)
    if len(small.trays) <= 12:
        assert all(allowed(small, slot, bounds[slot], bounds[slot + 1]) for slot in range(len(small.slots)))


@settings(max_examples=300, deadline=None)
@given(small=smalls())
def test_reserve_is_given_up_only_where_there_is_no_room_with_it(small: Small) -> None:
    strict = arranged(small, 0)
    try:
        relaxed = arrange(small.task(), Weights(reserve_may_be_less=True))
    except NoRoom:
        relaxed = None
    if strict is not None:
        assert relaxed is not None
        assert relaxed.cost == strict.cost
