"""A storage system: cabinets, drawers, unit trays, shelves, materials, climate and rates."""

from service.core import standards
from service.core.materials import Bottom, Treatment
from service.core.measure.movement import Sawing
from service.core.measure.year import MONTHS
from service.web.kit.fields import Amount, Choice, Code, Flag, Int, List, Nested, Number, Text
from service.web.kit.measures import DimensionField, Length
from service.web.kit.schema import Strict
from service.web.schemas.parts import PinningBottomSchema, Quantity, SizeSchema

MOST_PIECES = 100_000


class AlongGrain(List):
    """The dimensions that run along the grain of their boards."""

    def __init__(self) -> None:
        described = {"description": "which axes run along the grain; width and depth when left out"}
        super().__init__(Choice(standards.Axis), max_items=3, unique=True, metadata=described)


class CabinetSchema(Strict):
    """One kind of cabinet and how many of it there are."""

    makes = standards.Cabinet
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    count = Int(min=1, max=MOST_PIECES, required=True, metadata={"description": "cabinets of this kind"})
    columns = Int(min=1, max=20, metadata={"description": "columns of positions side by side; 1 when left out"})
    opening = Nested(
        SizeSchema, metadata={"description": "clear space of one column: between its walls, front to back, and high"}
    )
    pitch = DimensionField(metadata={"description": "from one runner to the next above it"})
    positions_per_column = Int(
        min=1, max=500, metadata={"description": "drawers one above the other in one column; left out: unknown"}
    )
    support = Choice(standards.Support)
    runner_ledge = DimensionField(metadata={"description": "how far a runner stands out from the wall"})
    runners_removable = Flag(
        metadata={"description": "whether runners can be taken out for a higher drawer; left out: unknown"}
    )
    doorway = Choice(standards.Doorway)
    door_width = DimensionField(metadata={"description": "clear width, with the doorway “narrower” only"})
    door_height = DimensionField(metadata={"description": "clear height, with the doorway “narrower” only"})
    made_for = Code(metadata={"description": "code of the drawer that the runners were set for"})
    free_positions = Int(min=0, max=10_000_000, metadata={"description": "in all cabinets of this kind"})
    material = Text(max_length=100, metadata={"description": "what the case is made of, such as steel or oak"})


class DrawerStandardSchema(Strict):
    """A drawer that the institution uses."""

    makes = standards.DrawerStandard
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    outer = Nested(SizeSchema, metadata={"description": "outside, lid included"})
    inner = Nested(
        SizeSchema, metadata={"description": "inside; its height is from the bare floor to the underside of the lid"}
    )
    lining = Nested(
        PinningBottomSchema, metadata={"description": "pinning bottom of the drawer itself, if it has one"}
    )
    wood = Text(max_length=100, metadata={"description": "what it is made of; left out: unknown"})
    along_grain = AlongGrain()
    sawing = Choice(Sawing, metadata={"description": "how the boards were cut whose width is a dimension"})
    style = Code(metadata={"description": "code of the handbook's drawer style that it follows"})


class TrayStandardSchema(Strict):
    """One size of unit tray."""

    makes = standards.TrayStandard
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    outer = Nested(SizeSchema, metadata={"description": "outside; its height is from base to rim"})
    inner = Nested(SizeSchema, metadata={"description": "inside; width and depth are those of its pinning bottom"})
    base = DimensionField(metadata={"description": "thickness of its board, under the pinning bottom"})
    bottom = Nested(PinningBottomSchema, metadata={"description": "its pinning bottom"})


class TraySeriesSchema(Strict):
    """Sizes of unit tray that divide a drawer between them."""

    makes = standards.TraySeries
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    trays = List(
        Nested(TrayStandardSchema),
        min_items=1,
        max_items=100,
        required=True,
        metadata={"description": "its sizes of tray"},
    )
    play_nm = Length(data_key="play_mm", metadata={"description": "room left beside each tray, so that it lifts out"})
    may_turn = Flag(metadata={"description": "whether a tray may lie with its label to the side; no when left out"})


class BoxShelfSchema(Strict):
    """Room for storage boxes."""

    makes = standards.BoxShelf
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    clear = Nested(SizeSchema, metadata={"description": "clear space of one shelf"})
    free_places = Int(
        min=0, max=10_000_000, metadata={"description": "storage boxes that it still takes; left out: unknown"}
    )


class OwnFindingSchema(Strict):
    """The institution's own experience of a bottom under a treatment; in its own checks it comes first."""

    makes = standards.OwnFinding
    bottom = Choice(Bottom, required=True)
    treatment = Choice(Treatment, required=True)
    ruling = Choice(standards.Ruling, required=True)
    note = Text(max_length=1000, required=True)


class MaterialsPolicySchema(Strict):
    """What may come in, and what it will be treated with."""

    makes = standards.MaterialsPolicy
    accepted_bottoms = List(
        Choice(Bottom),
        max_items=20,
        unique=True,
        metadata={"description": "pinning bottoms that may come in; left out: no policy is stated"},
    )
    treatments = List(
        Choice(Treatment), max_items=20, unique=True, metadata={"description": "in use here; an empty list says none"}
    )
    own_findings = List(
        Nested(OwnFindingSchema), max_items=200, metadata={"description": "what the institution has seen for itself"}
    )
    quarantine = Text(max_length=1000, metadata={"description": "what happens to everything that arrives"})


class SetPointSchema(Strict):
    """Room air: at one end of the year's swing, in one month, or where something has come to rest."""

    makes = standards.SetPoint
    temperature_c = Number(min=-30, max=50, required=True, metadata={"description": "in degrees Celsius"})
    relative_humidity_percent = Number(
        min=0, max=100, required=True, metadata={"description": "relative humidity of the air, in percent"}
    )
    month = Int(min=1, max=12, metadata={"description": "month of the year in which it is so, 1 to 12"})


class RoomClimateSchema(Strict):
    """The room's air over the year."""

    makes = standards.RoomClimate
    driest = Nested(SetPointSchema, metadata={"description": "at the driest of the year"})
    dampest = Nested(SetPointSchema, metadata={"description": "at the dampest of the year"})
    monthly = List(
        Nested(SetPointSchema),
        min_items=len(MONTHS),
        max_items=len(MONTHS),
        metadata={"description": "twelve values, January first, where they are known; they go before the two ends"},
    )


class CostRatesSchema(Strict):
    """What housing costs, in the institution's own currency and at its own pace."""

    makes = standards.CostRates
    currency = Text(
        max_length=3,
        min_length=3,
        pattern="^[A-Z]{3}$",
        like="a currency's three letters, such as EUR",
        metadata={"description": "ISO 4217"},
    )
    drawer = Amount(metadata={"description": "price of one new drawer"})
    tray = Amount(metadata={"description": "price of one new unit tray"})
    bottom_sheet_per_m2 = Amount(metadata={"description": "price of a square metre of pinning bottom"})
    cabinet_position = Amount(metadata={"description": "price of one drawer position in a cabinet"})
    person_hour = Amount(metadata={"description": "cost of one hour of one person's work"})
    drawers_placed_per_h = Quantity(
        min=0.01, max=100_000, metadata={"description": "drawers that one person puts into place in an hour"}
    )
    trays_moved_per_h = Quantity(
        min=0.01, max=100_000, metadata={"description": "unit trays that one person moves over in an hour"}
    )
    specimens_moved_per_h = Quantity(
        min=0.01, max=100_000, metadata={"description": "specimens that one person re-pins in an hour"}
    )
    specimens_per_drawer = Quantity(
        min=1,
        max=100_000,
        metadata={"description": "specimens that one drawer takes on average; left out: the handbook's figure"},
    )


class StorageSystemContentSchema(Strict):
    """What one revision of a storage system says. Whatever is left out is unknown, never fine."""

    makes = standards.StorageSystem
    cabinets = List(Nested(CabinetSchema), max_items=100, metadata={"description": "the kinds of cabinet"})
    drawers = List(Nested(DrawerStandardSchema), max_items=100, metadata={"description": "the drawers in use"})
    tray_series = List(
        Nested(TraySeriesSchema), max_items=50, metadata={"description": "the series of unit trays in use"}
    )
    box_shelves = List(Nested(BoxShelfSchema), max_items=50, metadata={"description": "room for storage boxes"})
    materials = Nested(
        MaterialsPolicySchema, metadata={"description": "what may come in, and what it is treated with"}
    )
    climate = Nested(RoomClimateSchema, metadata={"description": "the air of the collection room over the year"})
    growth_reserve_percent = Quantity(
        min=0, max=90, metadata={"description": "share of each drawer that is kept free for what is still to come"}
    )
    lid_air_gap_nm = Length(
        data_key="lid_air_gap_mm", metadata={"description": "least room between pin heads and the lid"}
    )
    rates = Nested(CostRatesSchema, metadata={"description": "what housing costs here"})
