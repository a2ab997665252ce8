"""The types of drawer that a housing plan may use: those of a storage system, or the asker's own."""

from collections.abc import Sequence
from decimal import Decimal

from service.core.errors import Invalid
from service.core.fit.floors import height_above_lining
from service.core.fit.room_in_cabinets import capacity
from service.core.housing.plan import DrawerType
from service.core.housing.wishes import (
    AllowedDrawer,
    OwnDrawer,
    Wishes,
)
from service.core.standards import DrawerStandard, StorageSystem

_CENTS = 100


def drawers_asked(
    wishes: Wishes, system: StorageSystem | None, own: Sequence[OwnDrawer]
) -> tuple[tuple[DrawerType, ...], bool]:
    """The types of drawer, and whether their costs are money: hundredths of the currency."""
    if system is None:
        costs = _costs("drawers", [drawer.cost for drawer in own], None)
        types = [
            DrawerType(each.code, each.width_nm, each.depth_nm, each.height_nm, cost, each.at_most, each.per_cabinet)
            for each, cost in zip(own, costs or [1] * len(own), strict=True)
        ]
        return tuple(types), costs is not None
    chosen = _chosen(wishes.drawers, system)
    costs = _costs("allowed_drawers", [wish.cost for _, wish in chosen], system.rates.drawer)
    types = [
        _type(drawer, wish, cost, system)
        for (drawer, wish), cost in zip(chosen, costs or [1] * len(chosen), strict=True)
    ]
    return tuple(types), costs is not None


def _chosen(allowed: Sequence[AllowedDrawer], system: StorageSystem) -> list[tuple[DrawerStandard, AllowedDrawer]]:
    """The system's drawers that may be used: those named, or all whose inner size is known."""
    if not allowed:
        known = [(drawer, AllowedDrawer(drawer.code)) for drawer in system.drawers if inner_sides(drawer)]
        if not known:
            raise Invalid("storage_system_id", "This storage system has no drawer whose inner size is published.")
        return known
    chosen = []
    for at, wish in enumerate(allowed):
        drawer = system.drawer(wish.code)
        if drawer is None:
            raise Invalid(f"allowed_drawers.{at}.code", f"This storage system has no drawer “{wish.code}”.")
        if not inner_sides(drawer):
            raise Invalid(f"allowed_drawers.{at}.code", f"The inner size of “{drawer.name}” is not published.")
        chosen.append((drawer, wish))
    return chosen


def _costs(field: str, given: Sequence[Decimal | None], usual: Decimal | None) -> list[int] | None:
    """What each type costs in hundredths; ``None`` where nobody set a price, and the fewest drawers are wanted."""
    if all(cost is None for cost in given):
        return None
    costs = [usual if cost is None else cost for cost in given]
    for at, cost in enumerate(costs):
        if cost is None or cost <= 0:
            raise Invalid(f"{field}.{at}.cost", "Where one type of drawer has a price, every type needs one above 0.")
    return [int(cost * _CENTS) for cost in costs if cost is not None]


def _type(drawer: DrawerStandard, wish: AllowedDrawer, cost: int, system: StorageSystem) -> DrawerType:
    width_nm, depth_nm = inner_sides(drawer)
    return DrawerType(
        drawer.code, width_nm, depth_nm, clear_height_nm(drawer), cost, wish.at_most, _per_cabinet(drawer, system)
    )


def inner_sides(drawer: DrawerStandard) -> tuple[int, ...]:
    """The smallest that the drawer may be inside; nothing where that is not known for sure."""
    sides = (drawer.inner.width, drawer.inner.depth)
    known = [side.smallest_nm for side in sides if side is not None and not side.is_from_memory]
    return tuple(known) if len(known) == len(sides) and min(known) > 0 else ()


def clear_height_nm(drawer: DrawerStandard) -> int | None:
    """From what trays stand on to the lid, at the least; ``None`` where that is not known for sure."""
    height = height_above_lining(drawer).dimension
    return None if height is None or height.is_from_memory else height.smallest_nm


def _per_cabinet(drawer: DrawerStandard, system: StorageSystem) -> int | None:
    for cabinet in system.cabinets:
        positions = capacity(cabinet)
        if cabinet.made_for == drawer.code and positions and cabinet.count:
            return positions // cabinet.count
    return None
