"""The most equal trays in one drawer when each may be turned: layouts first, then bounds, then exact search."""

from fractions import Fraction
from itertools import islice

from service.core.housing.blocks import BlockSearch, simple_layout
from service.core.housing.most_trays import by_lines_in_whole_trays, by_rods
from service.core.housing.row_by_row import OutOfWorkError, RowSearch
from service.core.housing.smaller_numbers import Laid, Problem, alike, back_to

#: Limits of work, in steps and not in seconds, so that the same drawer gets the same answer on any machine.
STEPS_FOR_BLOCKS = 100_000
STATES_FOR_RUNS = 8_000
STATES_FOR_TRAYS = 40_000
#: Beyond this many trays blocks in rows are good enough: the share of a drawer that is lost gets small.
MOST_TRAYS_SEARCHED = 600
#: Problems alike in smaller numbers that are compared: the first few differ in what area they leave over.
LARGEST_SHORT_SIDE = 120
MOST_ALIKE = 40


def most_equal_trays(problem: Problem, lies_rather: bool) -> tuple[tuple[Laid, ...], int]:
    """A layout, and the count that no layout exceeds; trays lie (or stand) where that costs nothing."""
    if problem.long < problem.short:
        raise ValueError("the long side of a tray is not its shorter one")
    if problem.width < problem.depth:
        layout, at_most = most_equal_trays(_on_its_side(problem), not lies_rather)
        return tuple(_turned_over(tray) for tray in layout), at_most
    simple = simple_layout(problem, lies_rather)
    at_most = min(by_rods(problem), by_lines_in_whole_trays(problem)) if simple else 0
    if len(simple) == at_most or at_most > MOST_TRAYS_SEARCHED:
        return tuple(simple), at_most
    return _searched(problem, simple, at_most, lies_rather)


def _searched(problem: Problem, simple: list[Laid], at_most: int, lies_rather: bool) -> tuple[tuple[Laid, ...], int]:
    """Better than the simple layout where that can be, in the smaller numbers that leave the least area over."""
    # Ratios alike lie between two fractions whose denominators count long sides; the sum of the two is short enough.
    always_enough = 2 * (problem.width // problem.long + 1)
    same = list(islice(alike(problem, max(LARGEST_SHORT_SIDE, always_enough)), MOST_ALIKE))
    at_most = min(at_most, *(by_rods(small) for small in same))
    small = min(same, key=lambda each: Fraction(each.width * each.depth, each.tray_area))
    best = BlockSearch(small, lies_rather, STEPS_FOR_BLOCKS).best(at_most) if len(simple) < at_most else []
    layout = back_to(problem, small, best) if len(best) > len(simple) else simple
    if len(layout) < at_most and (found := _run_by_run(small, len(layout), at_most)):
        layout = back_to(problem, small, found)
    if len(layout) < at_most:
        found, at_most = _tray_by_tray(small, len(layout), at_most)
        layout = back_to(problem, small, found) if found else layout
    return tuple(layout), at_most


def _run_by_run(problem: Problem, held: int, at_most: int) -> list[Laid]:
    """A layout of more than ``held`` trays, if one is quickly found, along the width or along the depth."""
    for count in range(at_most, held, -1):
        for way, back in ((problem, _as_it_is), (_on_its_side(problem), _turned_over)):
            try:
                found = RowSearch(way, count, STATES_FOR_RUNS // (at_most - held), in_runs=True).layout()
            except OutOfWorkError:
                continue
            if found is not None:
                return [back(tray) for tray in found]
    return []


def _tray_by_tray(problem: Problem, held: int, at_most: int) -> tuple[list[Laid], int]:
    """A layout that holds ``at_most``, or none and how far the search brought ``at_most`` down to ``held``."""
    across = _on_its_side(problem)  # front lines along the shorter side are fewer
    states = STATES_FOR_TRAYS
    while held < at_most:
        search = RowSearch(across, at_most, states, in_runs=False)
        try:
            found = search.layout()
        except OutOfWorkError:
            break
        if found is not None:
            return [_turned_over(tray) for tray in found], at_most
        states = search.states
        at_most -= 1
    return [], at_most


def _as_it_is(tray: Laid) -> Laid:
    return tray


def _on_its_side(problem: Problem) -> Problem:
    return Problem(problem.depth, problem.width, problem.long, problem.short)


def _turned_over(tray: Laid) -> Laid:
    """The same tray with the drawer's width and depth exchanged."""
    return Laid(tray.y, tray.x, not tray.lies)
