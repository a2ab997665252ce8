"""The least that plans of column layouts can cost, with whole-number weights for a certificate."""

from fractions import Fraction

from service.core.housing.certificate import ONE, ColumnCapacity, ColumnCertificate, Weight
from service.core.housing.columns import ColumnPricing
from service.core.housing.patterns import Patterns


def prove_columns(patterns: Patterns, columns: ColumnPricing) -> ColumnCertificate | None:
    """Prices rounded down to whole weights, and the most weight in one column layout of each room, found anew.

    ``None`` where sides divide so finely that not every column layout was looked at.
    """
    if not columns.is_exact:
        return None
    task = patterns.task
    weights = [int(price * ONE) for price in patterns.solve().prices]
    heaviest: dict[int, int] = {}
    for worth, filled in columns.best(weights):
        heaviest[filled.room] = max(heaviest.get(filled.room, 0), round(worth))
    total = sum(weight * count for weight, count in zip(weights, task.counts, strict=True))
    dearest = max((Fraction(worth, task.rooms[room].cost) for room, worth in heaviest.items()), default=Fraction(1))
    least = -(-total // dearest) if dearest else 0
    capacities = tuple(
        ColumnCapacity(
            task.request.drawers[task.rooms[room].drawer].code,
            task.rooms[room].width * task.unit,
            task.rooms[room].depth * task.unit,
            task.rooms[room].cost,
            worth,
        )
        for room, worth in sorted(heaviest.items())
    )
    named = tuple(
        Weight(tuple(tray.code for tray in task.trays_of[kind] if tray.count), task.counts[at], weights[at])
        for at, kind in enumerate(task.kinds)
    )
    return ColumnCertificate(named, capacities, total, task.cost_alone + task.at_cost * int(least))
