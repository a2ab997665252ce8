"""From scales in floating point to a certificate in whole numbers, which holds by itself."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.core.housing.certificate import (
    FULL,
    ONE,
    Certificate,
    LimitPrice,
    RoomProof,
    Scales,
    Weighed,
)
from service.core.housing.knapsack import largest_whole_sum
from service.core.housing.rooms import Task
from service.core.housing.scales import Axis, Pair, RoomScales

#: What a number may be short of a whole one and still be taken for it: linear programs are exact to about 1e-9.
_NEARLY = 1e-4


@dataclass(frozen=True, slots=True)
class Mixture:
    """For each room its pairs of scales and how much of each; for each type of drawer the price of its limit."""

    pairs: tuple[tuple[tuple[float, Pair], ...], ...]
    limit_prices: tuple[float, ...]


def certify(task: Task, scales: Sequence[RoomScales], mixture: Mixture) -> Certificate:
    """Round every number down, measure the capacities anew, and weigh the trays by that alone."""
    limits = limit_prices(task, mixture.limit_prices)
    spare = {limit.drawer: limit.weight for limit in limits}
    proofs = []
    for room, pairs in zip(scales, mixture.pairs, strict=True):
        drawer = task.request.drawers[room.room.drawer]
        whole = [whole_scales(task, room, pair, share) for share, pair in pairs]
        within = _within(tuple(whole), room.room.cost * ONE + spare.get(drawer.code, 0))
        proofs.append(
            RoomProof(drawer.code, room.room.width * task.unit, room.room.depth * task.unit, room.room.cost, within)
        )
    sizes = tuple(_weighed(task, kind, proofs) for kind in range(len(task.kinds)))
    total = sum(size.count * size.weight for size in sizes) - sum(limit.at_most * limit.weight for limit in limits)
    at_least = task.cost_alone + task.at_cost * max(0, -(-total // ONE))
    return Certificate(tuple(proofs), sizes, limits, total, task.cost_alone, task.at_cost, at_least)


def limit_prices(task: Task, of_types: Sequence[float]) -> tuple[LimitPrice, ...]:
    prices = zip(task.request.drawers, task.limits, of_types, strict=True)
    return tuple(
        LimitPrice(drawer.code, limit, int(price * ONE))
        for drawer, limit, price in prices
        if limit is not None and int(price * ONE)
    )


def whole_scales(task: Task, room: RoomScales, pair: Pair, share: float) -> Scales:
    """One pair in whole numbers, its capacities found anew."""
    across, width_capacity = _whole_numbers(room.width, pair.along_width)
    along, depth_capacity = _whole_numbers(room.depth, pair.along_depth)
    widths = tuple((length * task.unit, number) for length, number in zip(room.width.lengths, across, strict=True))
    depths = tuple((length * task.unit, number) for length, number in zip(room.depth.lengths, along, strict=True))
    full = max(1, width_capacity * depth_capacity)
    return Scales(widths, depths, width_capacity, depth_capacity, int(share * ONE * FULL * FULL / full))


def _whole_numbers(axis: Axis, numbers: Sequence[float]) -> tuple[list[int], int]:
    whole = [int(number * FULL + _NEARLY) for number in numbers]
    return whole, largest_whole_sum(axis.side, whole)


def _within(scales: tuple[Scales, ...], budget: int) -> tuple[Scales, ...]:
    """As many times each as the budget allows: rounding may have passed it by a hair."""
    spent = sum(each.times * each.width_capacity * each.depth_capacity for each in scales)
    allowed = budget * FULL * FULL
    if spent <= allowed:
        return scales
    return tuple(
        Scales(
            each.width_numbers,
            each.depth_numbers,
            each.width_capacity,
            each.depth_capacity,
            each.times * allowed // spent,
        )
        for each in scales
    )


def _weighed(task: Task, kind: int, proofs: Sequence[RoomProof]) -> Weighed:
    weights = [
        sum(
            scales.times
            * dict(scales.width_numbers)[piece.width * task.unit]
            * dict(scales.depth_numbers)[piece.depth * task.unit]
            for scales in proof.scales
        )
        // (FULL * FULL)
        for room, proof in zip(task.rooms, proofs, strict=True)
        for piece in room.pieces
        if piece.kind == kind
    ]
    each = task.kinds[kind]
    codes = tuple(tray.code for tray in task.trays_of[each] if tray.count)
    return Weighed(
        codes, each.width * task.unit, each.depth * task.unit, each.may_turn, task.counts[kind], min(weights)
    )
