"""Housing plans to put on paper, made by the planner itself."""

from dataclasses import replace
from decimal import Decimal
from functools import cache

from service.core.housing.effort import QUICK
from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, Layout, Placed, TraySize
from service.core.housing.planning import plan_housing
from service.core.housing.tiling import Place

MM = 1_000_000
LONG = "Donaudampfschifffahrtsgesellschaftskapitän, Жуки, 甲虫, from the bequest of 1911, not yet determined " * 3
ROGUE = "<script>alert(1)</script> & \x00\x1b[2J"

HOUSE = DrawerType("D1", 430 * MM, 405 * MM, clear_height_nm=51 * MM, per_cabinet=25)
DEEP = DrawerType("Deep", 430 * MM, 405 * MM, clear_height_nm=110 * MM, cost=2, per_cabinet=12)


def trays(code: str, width: float, depth: float, count: int, **more) -> TraySize:
    return TraySize(code, round(width * MM), round(depth * MM), count, **more)


@cache
def planned(request: HousingRequest) -> HousingPlan:
    return plan_housing(request, QUICK)


def beetles(reserve: int = 10, play_mm: int = 1) -> HousingRequest:
    """Three sizes for two drawers, the second with one tray in it."""
    sizes = (
        trays("A", 105, 98, 5, label="Carabus granulatus", height_nm=43 * MM),
        trays("B", 212, 98, 2, label="Cicindela", height_nm=43 * MM),
        trays("C", 105, 200, 2, label="Жуки-усачи", height_nm=43 * MM),
    )
    return HousingRequest(sizes, (HOUSE,), Decimal(reserve), play_mm * MM)


def one_size(count: int = 48) -> HousingRequest:
    """Sixteen to a drawer, all drawers alike."""
    return HousingRequest((trays("A", 105, 98, count, label="Carabus", height_nm=43 * MM),), (HOUSE,))


def tiny() -> HousingRequest:
    """Two hundred to a drawer; nobody stated a height."""
    return HousingRequest((trays("P", 50.8, 38.1, 430, label="Ptiliidae"),), (DrawerType("S", 508 * MM, 762 * MM),))


def may_turn() -> HousingRequest:
    return HousingRequest((trays("R", 240, 160, 4, label="Dytiscus", may_turn=True),), (HOUSE,))


def two_types() -> HousingRequest:
    low = trays("A", 105, 98, 40, label="Carabus", height_nm=43 * MM)
    high = trays("H", 120, 120, 20, label="Dynastinae", height_nm=80 * MM)
    return HousingRequest((low, high), (HOUSE, DEEP), Decimal(5))


def named(text: str) -> HousingRequest:
    sizes = (trays(text, 105, 98, 3, label=text), trays("B", 40, 60, 9, label=text), trays("C", 12, 9, 5, label=text))
    return HousingRequest(sizes, (DrawerType(f"D {text}", 430 * MM, 405 * MM),), Decimal(5), MM)


def hundreds(drawers: int = 400) -> tuple[HousingRequest, HousingPlan]:
    """As many drawers with one tray each, no two alike: the planner's own plan, its layouts put in by hand."""
    sizes = tuple(trays(f"T{at}", 60 + at % 300, 80 + at // 2, 1, label=f"Species {at}") for at in range(drawers))
    request = HousingRequest(sizes, (HOUSE,), Decimal(0))
    layouts = tuple(
        Layout("D1", 1, (Placed(tray.code, Place(0, 0, tray.width_nm, tray.depth_nm)),)) for tray in sizes
    )
    return request, replace(planned(one_size()), layouts=layouts, cost=drawers, at_least=drawers - 2)
