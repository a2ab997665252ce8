"""Whether trays lie in one drawer, decided exactly."""

import pytest
from every_plan import fewest_drawers
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.housing.one_drawer import DrawerSearch, Fits
from service.core.housing.rooms import Piece, Put

sides = st.integers(1, 5)


def search(width: int, depth: int, trays: list[tuple[int, int, int]], nodes: int = 200_000) -> tuple[Fits, list[Put]]:
    pieces = [Piece(kind, *size, turned=False) for kind, (*size, _) in enumerate(trays)]
    fits, puts = DrawerSearch(width, depth, pieces, nodes).look([count for _, _, count in trays])
    return fits, list(puts)


@settings(max_examples=150, deadline=None)
@given(
    st.integers(3, 6),
    st.integers(3, 6),
    st.lists(st.tuples(sides, sides, st.integers(1, 3)), min_size=1, max_size=4, unique_by=lambda t: t[:2]),
)
def test_the_search_agrees_with_trying_every_place(width: int, depth: int, trays: list[tuple[int, int, int]]) -> None:
    inside = all(w <= width and d <= depth for w, d, _ in trays)
    by_area = sum(w * d * count for w, d, count in trays) <= width * depth
    possible = inside and by_area and fewest_drawers((width, depth), trays, may_turn=False) == 1
    fits, puts = search(width, depth, trays)
    assert fits is (Fits.YES if possible else Fits.NO)
    cells = [
        (x, y)
        for put in puts
        for x in range(put.x, put.x + put.piece.width)
        for y in range(put.y, put.y + put.piece.depth)
    ]
    assert len(cells) == len(set(cells)) == (sum(w * d * count for w, d, count in trays) if possible else 0)
    assert all(x < width and y < depth for x, y in cells)


def test_a_search_that_runs_out_of_steps_says_so() -> None:
    # github.com/secnot/rectpack, issue 52: it can be done, but not in three steps
    assert search(114, 120, [(24, 18, 16), (18, 24, 15)], nodes=3)[0] is Fits.UNDECIDED


@pytest.mark.parametrize(("count", "answer"), [(4, Fits.YES), (5, Fits.NO)])
def test_squares_of_half_the_drawer(count: int, answer: Fits) -> None:
    assert search(10, 10, [(5, 5, count)])[0] is answer
