"""Adds up a certificate from what it says and what was asked for; it shares nothing with the search."""

from collections import Counter
from collections.abc import Iterable

from service.core.housing.certificate import FULL, ONE, Certificate
from service.core.housing.plan import HousingRequest


def heaviest(whole: int, numbers: Iterable[tuple[int, int]], counts: Counter[int]) -> int:
    """The largest sum of numbers over lengths that fit, each length no more often than there are trays with it."""
    sums = {0: 0}
    for length, number in numbers:
        for _ in range(min(counts[length], whole // length)):
            more = {at + length: value + number for at, value in sums.items() if at + length <= whole}
            sums.update({at: value for at, value in more.items() if value > sums.get(at, -1)})
    return max(sums.values())


def at_least(certificate: Certificate, request: HousingRequest) -> int:
    """The cost that the certificate proves; AssertionError where it claims what is not so."""
    prices = {limit.drawer: limit.weight for limit in certificate.limits}
    for room in certificate.rooms:
        sizes = [size for size in certificate.sizes if _may_stand(size.trays, room.drawer, request)]
        ways = [(size, w, d) for size in sizes for w, d in _ways(size.width_nm, size.depth_nm, size.may_turn)]
        widths, depths = Counter[int](), Counter[int]()
        for size, width, depth in ways:
            widths[width] += size.count
            depths[depth] += size.count
        for pair in room.scales:
            assert heaviest(room.width_nm, pair.width_numbers, widths) <= pair.width_capacity
            assert heaviest(room.depth_nm, pair.depth_numbers, depths) <= pair.depth_capacity
        budget = (room.cost * ONE + prices.get(room.drawer, 0)) * FULL**2
        assert sum(pair.times * pair.width_capacity * pair.depth_capacity for pair in room.scales) <= budget
        for size, width, depth in ways:
            if width <= room.width_nm and depth <= room.depth_nm:
                product = sum(
                    p.times * dict(p.width_numbers)[width] * dict(p.depth_numbers)[depth] for p in room.scales
                )
                assert size.weight * FULL**2 <= product
    total = sum(size.count * size.weight for size in certificate.sizes)
    total -= sum(limit.at_most * limit.weight for limit in certificate.limits)
    return certificate.cost_alone + certificate.at_cost * max(0, -(-total // ONE))


def _ways(width: int, depth: int, may_turn: bool) -> set[tuple[int, int]]:
    return {(width, depth), (depth, width)} if may_turn else {(width, depth)}


def _may_stand(codes: tuple[str, ...], drawer: str, request: HousingRequest) -> bool:
    (clear,) = (each.clear_height_nm for each in request.drawers if each.code == drawer)
    heights = [tray.height_nm for tray in request.trays if tray.code in codes]
    return all(clear is None or height is None or height <= clear for height in heights)
