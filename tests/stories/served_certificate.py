"""Adds up the certificate of a housing plan as it is served, by a few lines that know nothing of the service."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from math import ceil, prod
from typing import Any

from relative_places import lie_together

Json = dict[str, Any]


def bound_from(certificate: Json) -> int:
    """What the scales prove, by adding and multiplying whole numbers; fails where they claim too much."""
    one, full = int(certificate["one"]), int(certificate["full"])
    widths, depths = Counter[int](), Counter[int]()
    for size in certificate["sizes"]:
        widths[size["width_nm"]] += size["count"]
        depths[size["depth_nm"]] += size["count"]
    for room in certificate["rooms"]:
        _check_capacities(room, widths, depths)
        spent = sum(int(p["times"]) * p["width_capacity"] * p["depth_capacity"] for p in room["scales"])
        assert spent <= room["cost"] * one * full**2
        for size in certificate["sizes"]:
            if size["width_nm"] <= room["width_nm"] and size["depth_nm"] <= room["depth_nm"]:
                products = [
                    int(p["times"])
                    * dict(p["width_numbers"])[size["width_nm"]]
                    * dict(p["depth_numbers"])[size["depth_nm"]]
                    for p in room["scales"]
                ]
                assert int(size["weight"]) * full**2 <= sum(products)
    total = sum(size["count"] * int(size["weight"]) for size in certificate["sizes"])
    return int(certificate["cost_alone"] + certificate["at_cost"] * -(-total // one))


def bound_in_whole_trays_from(certificate: Json) -> int:
    """What whole trays prove for one type of drawer and trays that do not turn: every load is gone through.

    The trays' sizes are taken from the first certificate, so ``bound_from`` belongs before this.
    """
    (room,) = certificate["whole_trays"]["rooms"]
    weights = certificate["whole_trays"]["weights"]
    sides = {tuple(size["trays"]): (size["width_nm"], size["depth_nm"]) for size in certificate["sizes"]}
    sizes = [sides[tuple(each["trays"])] for each in weights]
    there = [each["count"] for each in weights]
    _check_capacities(
        room,
        Counter({width: sum(n for (w, _), n in zip(sizes, there, strict=True) if w == width) for width, _ in sizes}),
        Counter({depth: sum(n for (_, d), n in zip(sizes, there, strict=True) if d == depth) for _, depth in sizes}),
    )
    for trays in room["never"]:
        every = [(width, depth) for width, depth, count in trays for _ in range(count)]
        assert not lie_together(room["width_nm"], room["depth_nm"], every)
    never = [{(width, depth): count for width, depth, count in trays} for trays in room["never"]]
    for load in _loads(room, sizes, there):
        if not any(all(load[size] >= count for size, count in trays.items()) for trays in never):
            weight = sum(int(each["weight"]) * load[size] for each, size in zip(weights, sizes, strict=True))
            assert weight <= int(room["heaviest"])
    worth = sum(int(each["weight"]) * each["count"] for each in weights)
    return int(certificate["cost_alone"] + certificate["at_cost"] * ceil(Fraction(worth, int(room["heaviest"]))))


def _loads(room: Json, sizes: list[tuple[int, int]], there: list[int]) -> Iterator[dict[tuple[int, int], int]]:
    """Every number of trays of each size that all scales and the drawer's area allow."""
    limits = [
        (
            [dict(pair["width_numbers"])[width] * dict(pair["depth_numbers"])[depth] for width, depth in sizes],
            pair["width_capacity"] * pair["depth_capacity"],
        )
        for pair in room["scales"]
    ] + [([prod(size) for size in sizes], room["width_nm"] * room["depth_nm"])]

    def further(load: list[int]) -> Iterator[list[int]]:
        if len(load) == len(sizes):
            yield load
            return
        for count in range(there[len(load)] + 1):
            more = [*load, count]
            if any(sum(n * k for n, k in zip(numbers, more, strict=False)) > most for numbers, most in limits):
                return
            yield from further(more)

    for load in further([]):
        yield dict(zip(sizes, load, strict=True))


def _check_capacities(room: Json, widths: Counter[int], depths: Counter[int]) -> None:
    for pair in room["scales"]:
        assert _heaviest(room["width_nm"], pair["width_numbers"], widths) <= pair["width_capacity"]
        assert _heaviest(room["depth_nm"], pair["depth_numbers"], depths) <= pair["depth_capacity"]


def _heaviest(whole: int, numbers: list[list[int]], there: Counter[int]) -> int:
    """The largest sum of numbers over lengths that fit beside each other, each as often as trays have it at most."""
    best = {0: 0}
    for length, number in numbers:
        for _ in range(min(there[length], whole // length)):
            longer = {used + length: sum_ + number for used, sum_ in best.items() if used + length <= whole}
            best |= {used: sum_ for used, sum_ in longer.items() if sum_ > best.get(used, -1)}
    return max(best.values())
