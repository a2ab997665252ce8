"""Storage systems and consignments for tests: complete as they come, so that a test names only what matters to it.

``a_system()`` takes ``a_line()`` as it is. Sizes are millimetres; a string is read as somebody would write it.
"""

from decimal import Decimal
from typing import Any

from service.core.consignment import Closure, Container, Line, PestSigns, Pins, TrayLot
from service.core.handbook import figure
from service.core.materials import Bottom, PinMetal, PinningBottom, Treatment
from service.core.measure.dimension import Dimension, Grade, Size
from service.core.measure.lengths import length_from_mm, parse_length
from service.core.standards import (
    BoxShelf,
    Cabinet,
    CostRates,
    Doorway,
    DrawerStandard,
    MaterialsPolicy,
    StorageSystem,
    Support,
    TraySeries,
    TrayStandard,
)

Length = float | str | Dimension | None


def mm(length: Length) -> Dimension | None:
    """A length as a dimension: ``419.1``, ``"16 1/2 in"``; a dimension and ``None`` stay what they are."""
    if length is None or isinstance(length, Dimension):
        return length
    if isinstance(length, str):
        return Dimension(parse_length(length), as_written=length)
    return Dimension(length_from_mm(length))


def remembered(length: float | str) -> Dimension:
    """A length that somebody recalls and nobody has confirmed."""
    known = mm(length)
    assert known is not None
    return Dimension(known.value_nm, grade=Grade.FROM_MEMORY, source="From memory: somebody's recollection")


def from_handbook(key: str) -> Dimension:
    """A handbook length with its source and grade, such as ``cornell.outer.width``."""
    return figure(key).as_dimension()


def size(width: Length = None, depth: Length = None, height: Length = None) -> Size:
    return Size(mm(width), mm(depth), mm(height))


def a_bottom(material: Bottom | None = Bottom.POLYETHYLENE_FOAM, thickness: Length = 6, **more: Any) -> PinningBottom:
    return PinningBottom(material, mm(thickness), more.get("glued_firmly", True))


def a_cabinet(**changes: Any) -> Cabinet:
    """Steel, two columns of 24, with 12 mm runners 82.55 mm apart that are fixed."""
    given: dict[str, Any] = {
        "code": "steel",
        "name": "Steel cabinet",
        "count": 10,
        "columns": 2,
        "opening": size(486, 425, 1985),
        "pitch": mm(82.55),
        "positions_per_column": 24,
        "support": Support.SIDE_RUNNERS,
        "runner_ledge": mm(12),
        "runners_removable": False,
        "doorway": Doorway.CLEARS_OPENING,
        "made_for": "house",
        "free_positions": 100,
    }
    return Cabinet(**given | changes)


def a_drawer_standard(**changes: Any) -> DrawerStandard:
    given: dict[str, Any] = {
        "code": "house",
        "name": "House drawer",
        "outer": size("19 in", "16 1/2 in", "3 in"),
        "inner": size(450, 388, 61),
    }
    return DrawerStandard(**given | changes)


def a_tray_standard(**changes: Any) -> TrayStandard:
    given: dict[str, Any] = {
        "code": "half",
        "name": "Half tray",
        "outer": size(99.5, 96.5, 41),
        "inner": size(96, 93),
        "base": mm(2),
        "bottom": a_bottom(),
    }
    return TrayStandard(**given | changes)


def a_tray_series(**changes: Any) -> TraySeries:
    given: dict[str, Any] = {
        "code": "trays",
        "name": "House trays",
        "trays": (a_tray_standard(),),
        "play_nm": 500_000,
        "may_turn": False,
    }
    return TraySeries(**given | changes)


def a_shelf(**changes: Any) -> BoxShelf:
    given: dict[str, Any] = {"code": "boxes", "name": "Box shelf", "clear": size(900, 400, 180), "free_places": 40}
    return BoxShelf(**given | changes)


def a_policy(**changes: Any) -> MaterialsPolicy:
    given: dict[str, Any] = {
        "accepted_bottoms": (Bottom.POLYETHYLENE_FOAM, Bottom.CORK),
        "treatments": (Treatment.FREEZING,),
        "quarantine": "Two weeks in the freezer room.",
    }
    return MaterialsPolicy(**given | changes)


def some_rates(**changes: Any) -> CostRates:
    given: dict[str, Any] = {
        "currency": "EUR",
        "drawer": Decimal("68.00"),
        "tray": Decimal("1.15"),
        "bottom_sheet_per_m2": Decimal("14.20"),
        "cabinet_position": Decimal("21.50"),
        "person_hour": Decimal("24.50"),
        "drawers_placed_per_h": Decimal(40),
        "trays_moved_per_h": Decimal(120),
        "specimens_moved_per_h": Decimal(75),
        "specimens_per_drawer": Decimal(220),
    }
    return CostRates(**given | changes)


def a_system(**changes: Any) -> StorageSystem:
    """One kind of cabinet, one drawer, one series of trays, one shelf, and nothing left unsaid."""
    given: dict[str, Any] = {
        "cabinets": (a_cabinet(),),
        "drawers": (a_drawer_standard(),),
        "tray_series": (a_tray_series(),),
        "box_shelves": (a_shelf(),),
        "materials": a_policy(),
        "growth_reserve_percent": Decimal(20),
        "lid_air_gap_nm": 3_000_000,
        "rates": some_rates(),
    }
    return StorageSystem(**given | changes)


def a_tray_lot(**changes: Any) -> TrayLot:
    given: dict[str, Any] = {
        "count": 200,
        "outer": size(99.5, 96.5, 41),
        "base": mm(2),
        "bottom": a_bottom(),
        "specimens": 2000,
    }
    return TrayLot(**given | changes)


def some_pins(length: Length = 38, depth: Length = 6, metal: PinMetal | None = PinMetal.STAINLESS_STEEL) -> Pins:
    return Pins(mm(length), mm(depth), metal)


def a_line(**changes: Any) -> Line:
    """Ten drawers of the house's own size with 200 unit trays of the house's own size in them."""
    given: dict[str, Any] = {
        "container": Container.DRAWER,
        "count": 10,
        "description": "Drawers",
        "outer": size("19 in", "16 1/2 in", "3 in"),
        "inner": size(450, 388, 61),
        "trays": (a_tray_lot(),),
        "pins": some_pins(),
        "wood": "basswood",
        "treatments_used": (Treatment.FREEZING,),
        "closure": Closure.FLANGED_LID,
        "pest_signs": PestSigns.NONE_SEEN,
        "specimens": 2000,
    }
    return Line(**given | changes)


def a_box_line(**changes: Any) -> Line:
    """Nine lined boxes without trays, of a size that stands on the house's shelf."""
    given: dict[str, Any] = {
        "container": Container.STORAGE_BOX,
        "count": 9,
        "outer": size(390, 260, 60),
        "inner": size(380, 250, 52),
        "lining": a_bottom(),
        "trays": (),
        "specimens": 900,
    }
    return a_line(**given | changes)


def a_tray_line(**changes: Any) -> Line:
    """Two hundred loose unit trays of the house's own size."""
    given: dict[str, Any] = {
        "container": Container.UNIT_TRAY,
        "count": 200,
        "outer": size(99.5, 96.5, 41),
        "inner": size(96, 93),
        "base": mm(2),
        "lining": a_bottom(),
        "trays": None,
        "closure": Closure.OPEN,
    }
    return a_line(**given | changes)
