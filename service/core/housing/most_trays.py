"""Upper bounds: how many equal trays a drawer can hold at most, however they lie."""

from itertools import pairwise, product

from service.core.housing.smaller_numbers import Problem, shorts_beside

#: lying * trays that lie + standing * trays that stand <= limit
Limit = tuple[int, int, int]


def most_trays(problem: Problem) -> int:
    """No layout holds more: the lower of the rod bound and the line bound."""
    return min(by_rods(problem), by_lines(problem))


def by_rods(problem: Problem) -> int:
    """Cut each tray into thin rods of its long (then short) side: rods alone must leave some of the drawer empty.

    F. W. Barnes 1979, "Packing the maximum number of m x n tiles in a large p x q rectangle", Discrete Mathematics
    26.
    """
    empty = max(_left_by_rods(problem, problem.long), _left_by_rods(problem, problem.short))
    return (problem.width * problem.depth - empty) // problem.tray_area


def _left_by_rods(problem: Problem, rod: int) -> int:
    over_width, over_depth = problem.width % rod, problem.depth % rod
    return min(over_width * over_depth, (rod - over_width) * (rod - over_depth))


def by_lines(problem: Problem) -> int:
    """Every line across the drawer crosses a sum of sides that fits; averaged over all lines this limits the mix.

    Isermann 1987, "Ein Planungssystem zur Optimierung der Palettenbeladung", OR Spektrum 9. Two kinds of tray make it
    a linear program in two variables, whose dual needs at most two of the limits: all pairs are tried, in integers.
    """
    limits = line_limits(problem)
    more_lying = [limit for limit in limits if limit[0] >= limit[1]]
    more_standing = [limit for limit in limits if limit[0] <= limit[1]]
    return min(_from_pair(one, other) for one, other in product(more_lying, more_standing))


def _from_pair(one: Limit, other: Limit) -> int:
    """The largest sum of two numbers under both limits, rounded down."""
    scale = one[0] * other[1] - other[0] * one[1]
    if scale == 0:
        return min(one[2] // one[0], other[2] // other[0])
    return ((other[1] - other[0]) * one[2] + (one[0] - one[1]) * other[2]) // scale


def by_lines_in_whole_trays(problem: Problem) -> int:
    """The line bound where both the lying and the standing trays are whole: never higher, and slower."""
    limits = line_limits(problem)
    lying_at_most = min(limit // lying for lying, _, limit in limits if lying)
    return max(lying + _standing_beside(lying, limits) for lying in range(lying_at_most + 1))


def _standing_beside(lying: int, limits: list[Limit]) -> int:
    return min(
        (limit - per_lying * lying) // per_standing for per_lying, per_standing, limit in limits if per_standing
    )


def line_limits(problem: Problem) -> list[Limit]:
    """What the lines along the width and the lines along the depth allow."""
    long, short = problem.long, problem.short
    along_width = _hull(shorts_beside(problem.width, long, short))
    along_depth = _hull(shorts_beside(problem.depth, long, short))
    return [(longs * short, shorts * long, limit * problem.depth) for longs, shorts, limit in along_width] + [
        (shorts * long, longs * short, limit * problem.width) for longs, shorts, limit in along_depth
    ]


def _hull(fits: list[int]) -> list[Limit]:
    """The edges of the convex hull of the sums that fit, as limits on (long sides, short sides)."""
    corners: list[tuple[int, int]] = []
    for point in enumerate(fits):
        while len(corners) > 1 and _is_under(corners[-1], corners[-2], point):
            corners.pop()
        corners.append(point)
    edges = [
        (top - low, right - left, (top - low) * left + (right - left) * top)
        for (left, top), (right, low) in pairwise(corners)
    ]
    return [(0, 1, fits[0]), *edges, (1, 0, len(fits) - 1)]


def _is_under(middle: tuple[int, int], left: tuple[int, int], right: tuple[int, int]) -> bool:
    rise = (middle[1] - left[1]) * (right[0] - left[0])
    return rise <= (right[1] - left[1]) * (middle[0] - left[0])
