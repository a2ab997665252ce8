"""Checks a bound that counts trays whole by going through every load of a drawer; for few sizes and large trays."""

from collections.abc import Iterator
from fractions import Fraction
from math import ceil

from relative_places import lie_together

from service.core.housing.certificate import RoomLoads, WholeTrayCertificate
from service.core.housing.plan import HousingRequest

Size = tuple[int, int]


def heaviest_load(room: RoomLoads, sizes: list[Size], weights: list[int], counts: list[int]) -> int:
    """The most that a load weighs which the scales allow and which holds none of the sets that never lie together."""
    limits = [
        (
            [dict(pair.width_numbers)[width] * dict(pair.depth_numbers)[depth] for width, depth in sizes],
            pair.width_capacity * pair.depth_capacity,
        )
        for pair in room.scales
    ]
    never = [{(width, depth): count for width, depth, count in trays} for trays in room.never]

    def loads(at: int, load: list[int]) -> Iterator[list[int]]:
        if any(sum(n * count for n, count in zip(numbers, load, strict=False)) > most for numbers, most in limits):
            return
        if at == len(sizes):
            yield load
            return
        for count in range(counts[at] + 1):
            if (
                sum(w * d * n for (w, d), n in zip(sizes, [*load, count], strict=False))
                > room.width_nm * room.depth_nm
            ):
                return
            yield from loads(at + 1, [*load, count])

    return max(
        sum(weight * count for weight, count in zip(weights, load, strict=True))
        for load in loads(0, [])
        if not any(_holds(dict(zip(sizes, load, strict=True)), trays) for trays in never)
    )


def _holds(load: dict[Size, int], trays: dict[Size, int]) -> bool:
    return all(load[size] >= count for size, count in trays.items())


def at_least(certificate: WholeTrayCertificate, request: HousingRequest) -> int:
    """The fewest drawers that it proves, for one type of drawer and trays that do not turn."""
    (room,) = certificate.rooms
    trays = {tray.code: tray for tray in request.trays}
    sizes = [(trays[each.trays[0]].width_nm, trays[each.trays[0]].depth_nm) for each in certificate.weights]
    weights, counts = [each.weight for each in certificate.weights], [each.count for each in certificate.weights]
    assert counts == [sum(trays[code].count for code in each.trays) for each in certificate.weights]
    for never in room.never:
        each = [(width, depth) for width, depth, count in never for _ in range(count)]
        assert not lie_together(room.width_nm, room.depth_nm, each)
    assert heaviest_load(room, sizes, weights, counts) <= room.heaviest
    worth = sum(weight * count for weight, count in zip(weights, counts, strict=True))
    return ceil(Fraction(worth, room.heaviest))
