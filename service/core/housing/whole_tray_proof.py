"""The certificate of a bound that counts whole trays: prices and scales in whole numbers, loads weighed anew."""

from collections.abc import Sequence
from fractions import Fraction
from math import ceil

from service.core.housing.certificate import ONE, LimitPrice, RoomLoads, Scales, Weight, WholeTrayCertificate
from service.core.housing.certify import limit_prices, whole_scales
from service.core.housing.linear import heaviest
from service.core.housing.prices import Prices
from service.core.housing.rooms import Room, Task
from service.core.housing.whole_trays import DrawerLimits

_GAP = 1e-7
#: On top of what the solver says no load passes, as a share: it reckons in floating point to about 1e-9.
_MARGIN = 1e-7


def prove_whole_trays(task: Task, prices: Prices, limits: Sequence[DrawerLimits], nodes: int) -> WholeTrayCertificate:
    """Round prices down, weigh the heaviest loads once more within whole-number scales, and add up."""
    weights = [int(price * ONE) for price in prices.kinds]
    of_limits = limit_prices(task, prices.limits)
    rooms = tuple(_loads(task, each, weights, nodes) for each in limits)
    named = tuple(
        Weight(tuple(tray.code for tray in task.trays_of[kind] if tray.count), task.counts[at], weights[at])
        for at, kind in enumerate(task.kinds)
    )
    least = task.cost_alone + task.at_cost * max(0, _total(rooms, named, of_limits))
    return WholeTrayCertificate(rooms, named, of_limits, least)


def _total(rooms: Sequence[RoomLoads], weights: Sequence[Weight], limits: Sequence[LimitPrice]) -> int:
    prices = {limit.drawer: limit.weight for limit in limits}
    over = max(Fraction(room.heaviest, room.cost * ONE + prices.get(room.drawer, 0)) for room in rooms)
    if not over:
        return 0
    worth = sum(weight.count * weight.weight for weight in weights) / (over * ONE)
    return ceil(worth - Fraction(sum(limit.at_most * limit.weight for limit in limits), ONE))


def _loads(task: Task, known: DrawerLimits, weights: Sequence[int], nodes: int) -> RoomLoads:
    room = known.scales.room
    scales = tuple(whole_scales(task, known.scales, pair, 0.0) for pair in known.pairs)
    never = tuple(
        tuple(
            (piece.width * task.unit, piece.depth * task.unit, count)
            for piece, count in zip(room.pieces, load, strict=True)
            if count
        )
        for load in known.never
    )
    worths = [weights[piece.kind] / ONE for piece in room.pieces]
    rows = [(_shares(task, room, each), 1 + 1e-9) for each in scales]
    worth = heaviest(worths, known.most, rows, known.never, gap=_GAP, nodes=nodes).at_most
    code = task.request.drawers[room.drawer].code
    most = ceil(worth * (1 + _MARGIN) * ONE)
    return RoomLoads(code, room.width * task.unit, room.depth * task.unit, room.cost, scales, never, most)


def _shares(task: Task, room: Room, scales: Scales) -> list[float]:
    """How much of the product of the capacities each piece takes."""
    widths, depths = dict(scales.width_numbers), dict(scales.depth_numbers)
    full = max(1, scales.width_capacity * scales.depth_capacity)
    return [widths[piece.width * task.unit] * depths[piece.depth * task.unit] / full for piece in room.pieces]
