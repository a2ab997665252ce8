"""A lower bound that anyone can check by adding and multiplying whole numbers.

Give each length along a drawer's width a number such that lengths which lie side by side never have more than
``width_capacity`` together, and each length along its depth likewise. Then the products of a tray's two numbers,
over the trays of one drawer, never pass the product of the two capacities, however the trays lie (Fekete & Schepers
2004, "A general framework for bounds for higher-dimensional orthogonal packing problems", Mathematical Methods of
Operations Research 60, on conservative scales). Several such pairs, each taken ``times`` over, add up to weights;
every drawer carries no more weight than its cost in millionths of millionths, so no plan is cheaper than all weights.
"""

from dataclasses import dataclass

#: A weight of this much is worth a cost of 1.
ONE = 10**9
#: What fills a side of a drawer. Divided by every whole number to 16, so that a third of a drawer stays a third.
FULL = 720_720


@dataclass(frozen=True, slots=True)
class Scales:
    """A pair of scales for one room: numbers for lengths in nm, and what numbers of lengths that fit never pass."""

    width_numbers: tuple[tuple[int, int], ...]
    depth_numbers: tuple[tuple[int, int], ...]
    width_capacity: int
    depth_capacity: int
    times: int


@dataclass(frozen=True, slots=True)
class RoomProof:
    """The part of a drawer that trays may take. Sum of times × capacities ≤ (cost × ONE + limit_weight) × FULL²."""

    drawer: str
    width_nm: int
    depth_nm: int
    cost: int
    scales: tuple[Scales, ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """Like trays, play included; weight × FULL² ≤ sum of times × products in each room that takes them, each way."""

    trays: tuple[str, ...]
    width_nm: int
    depth_nm: int
    may_turn: bool
    count: int
    weight: int


@dataclass(frozen=True, slots=True)
class LimitPrice:
    """What it is worth that a type has no more than ``at_most`` drawers: the sum less ``weight`` for each."""

    drawer: str
    at_most: int
    weight: int


@dataclass(frozen=True, slots=True)
class Certificate:
    """``at_least`` = cost_alone + at_cost × (sum / ONE, rounded up), sum = counts × weights − limits × their weights.

    ``cost_alone`` is that of trays which fill a whole drawer each; ``at_cost`` is the greatest common divisor of
    the drawers' costs, in which the rooms' costs are counted.
    """

    rooms: tuple[RoomProof, ...]
    sizes: tuple[Weighed, ...]
    limits: tuple[LimitPrice, ...]
    sum: int
    cost_alone: int
    at_cost: int
    at_least: int


@dataclass(frozen=True, slots=True)
class Weight:
    """What each of ``count`` like trays weighs."""

    trays: tuple[str, ...]
    count: int
    weight: int


@dataclass(frozen=True, slots=True)
class ColumnCapacity:
    """The most that a column layout of this part of a drawer can weigh, by exact search, and the drawer's cost."""

    drawer: str
    width_nm: int
    depth_nm: int
    cost: int
    capacity: int


@dataclass(frozen=True, slots=True)
class ColumnCertificate:
    """``at_least`` = cost_alone + at_cost × (sum / largest capacity per cost, rounded up), both as above."""

    weights: tuple[Weight, ...]
    capacities: tuple[ColumnCapacity, ...]
    sum: int
    at_least: int


@dataclass(frozen=True, slots=True)
class RoomLoads:
    """No load of a room that its scales allow, and that holds none of ``never``, weighs more than ``heaviest``.

    ``scales`` allow a load when the products of its trays' numbers do not pass the product of the capacities; their
    ``times`` are of no meaning here. ``never`` are sets of trays, as (width, depth, count) with play, that an
    exhaustive search found not to lie in the room together. ``heaviest`` comes from a whole-number program.
    """

    drawer: str
    width_nm: int
    depth_nm: int
    cost: int
    scales: tuple[Scales, ...]
    never: tuple[tuple[tuple[int, int, int], ...], ...]
    heaviest: int


@dataclass(frozen=True, slots=True)
class WholeTrayCertificate:
    """A bound that counts a drawer's trays whole.

    ``at_least`` = cost_alone + at_cost × (total rounded up), cost_alone and at_cost as in ``Certificate``. Let over
    be the largest heaviest / (cost × ONE + weight of its limit) of any room; then total = sum of counts × weights /
    (over × ONE) − sum of limits × their weights / ONE.
    """

    rooms: tuple[RoomLoads, ...]
    weights: tuple[Weight, ...]
    limits: tuple[LimitPrice, ...]
    at_least: int
