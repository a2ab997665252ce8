"""Storage systems and consignments by the thousand, invented, and the same in every run."""

import random
from decimal import Decimal

from service.core.consignment import Closure, Container, Line, PestSigns, Pins, TrayLot
from service.core.handbook import figure
from service.core.materials import Bottom, PinMetal, PinningBottom, Treatment
from service.core.measure.dimension import Dimension, Size
from service.core.measure.lengths import length_from_mm
from service.core.standards import (
    Cabinet,
    Doorway,
    DrawerStandard,
    MaterialsPolicy,
    RoomClimate,
    SetPoint,
    StorageSystem,
    Support,
    TraySeries,
    TrayStandard,
)

#: Outer sizes of drawers that the published literature describes, in millimetres: most cabinets were made for one.
STYLES = ((482.6, 419.1, 76.2), (457.2, 457.2, 76.2), (510, 420, 60), (390, 260, 60), (457.2, 406.4, 76.2))
FOAM = PinningBottom(Bottom.POLYETHYLENE_FOAM, Dimension(length_from_mm(6)), glued_firmly=True)


def mm(value: float) -> Dimension:
    return Dimension(length_from_mm(round(value, 1)))


def a_style(chance: random.Random) -> tuple[float, float, float]:
    """A published style, as each workshop made it; every fourth is a size of somebody's own."""
    width, depth, height = chance.choice(STYLES)
    stray = 12.0 if chance.random() < 0.25 else 1.5
    return (width + chance.gauss(0, stray), depth + chance.gauss(0, stray), height + chance.gauss(0, stray / 3))


def a_cabinet(chance: random.Random, code: str) -> Cabinet:
    width, depth, height = a_style(chance)
    opening = [width + chance.uniform(2, 6) for _ in range(3)]
    readings = Dimension.measured(tuple(length_from_mm(round(one, 1)) for one in opening))
    count, columns = chance.randint(2, 150), chance.choice((1, 2))
    return Cabinet(
        code,
        f"Cabinet {code}",
        count=count,
        columns=columns,
        opening=Size(readings, mm(depth + chance.uniform(2, 8)), mm(1985)),
        pitch=mm(height + chance.uniform(3, 9)),
        positions_per_column=24,
        support=chance.choice((Support.SIDE_RUNNERS, Support.SIDE_RUNNERS, Support.SHELF)),
        runner_ledge=mm(12),
        runners_removable=chance.random() < 0.3,
        doorway=Doorway.CLEARS_OPENING,
        free_positions=chance.randint(0, count * columns * 24 // 4),
        material="steel",
    )


def a_system(chance: random.Random) -> StorageSystem:
    """One to three kinds of cabinet, one drawer, one series of trays, a room."""
    width, depth, height = a_style(chance)
    tray = TrayStandard("half", "Half tray", Size(mm(99.5), mm(96.5), mm(41)), base=mm(2), bottom=FOAM)
    inner = Size(mm(width - 32), mm(depth - 31), mm(height - 15))
    return StorageSystem(
        cabinets=tuple(a_cabinet(chance, f"c{number}") for number in range(chance.choice((1, 1, 2, 3)))),
        drawers=(DrawerStandard("own", "Own drawer", Size(mm(width), mm(depth), mm(height)), inner),),
        tray_series=(TraySeries("own", "Own trays", (tray,), play_nm=500_000, may_turn=chance.random() < 0.5),),
        materials=MaterialsPolicy((Bottom.POLYETHYLENE_FOAM, Bottom.CORK), (Treatment.FREEZING,)),
        climate=RoomClimate(SetPoint(19, 38, 2), SetPoint(21, 56, 8)),
        growth_reserve_percent=Decimal(20),
        lid_air_gap_nm=figure("lid.air_gap_least").nm,
    )


def a_line(chance: random.Random) -> Line:
    """Like drawers with unit trays in them, ten of which were measured."""
    width, depth, height = a_style(chance)
    readings = tuple(length_from_mm(round(chance.gauss(width, 0.4), 1)) for _ in range(10))
    side_mm = chance.choice((60, 99.5, 110))
    trays = TrayLot(200, Size(mm(side_mm), mm(60), mm(40)), mm(2), FOAM)
    return Line(
        Container.DRAWER,
        chance.randint(10, 200),
        outer=Size(Dimension.measured(readings), mm(depth), mm(height)),
        inner=Size(mm(width - 22), mm(depth - 22), mm(height - 12)),
        trays=(trays,),
        pins=Pins(mm(38), mm(6), PinMetal.STAINLESS_STEEL),
        wood="basswood",
        treatments_used=(Treatment.FREEZING,),
        closure=Closure.FLANGED_LID,
        pest_signs=PestSigns.NONE_SEEN,
        specimens=4_000,
        sender_climate=SetPoint(20, 45),
    )
