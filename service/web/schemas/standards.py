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
    count = Int(min=1, max=MOST_PIECES, required=True)
    columns = Int(min=1, max=20, metadata={"description": "columns of positions side by side; 1 when left out"})
    opening = Nested(
        SizeSchema, metadata={"description": "clear space of one column: between its walls, front to back, and high"}
    )
    pitch = DimensionField(metadata={"description": "from one runner to the next above it"})
    positions_per_column = Int(min=1, max=500)
    support = Choice(standards.Support)
    runner_ledge = DimensionField(metadata={"description": "how far a runner stands out from the wall"})
    runners_removable = Flag()
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
    wood = Text(max_length=100)
    along_grain = AlongGrain()
    sawing = Choice(Sawing, metadata={"description": "how the boards were cut whose width is a dimension"})
    style = Code(metadata={"description": "code of the handbook's drawer style that it follows"})


class TrayStandardSchema(Strict):
    """One size of unit tray."""

    makes = standards.TrayStandard
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    outer = Nested(SizeSchema)
    inner = Nested(SizeSchema)
    base = DimensionField(metadata={"description": "thickness of its board, under the pinning bottom"})
    bottom = Nested(PinningBottomSchema)


class TraySeriesSchema(Strict):
    """Sizes of unit tray that divide a drawer between them."""

    makes = standards.TraySeries
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    trays = List(Nested(TrayStandardSchema), min_items=1, max_items=100, required=True)
    play_nm = Length(data_key="play_mm", metadata={"description": "room left beside each tray, so that it lifts out"})
    may_turn = Flag(metadata={"description": "whether a tray may lie with its label to the side; no when left out"})


class BoxShelfSchema(Strict):
    """Room for storage boxes."""

    makes = standards.BoxShelf
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    clear = Nested(SizeSchema, metadata={"description": "clear space of one shelf"})
    free_places = Int(min=0, max=10_000_000)


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
    accepted_bottoms = List(Choice(Bottom), max_items=20, unique=True)
    treatments = List(
        Choice(Treatment), max_items=20, unique=True, metadata={"description": "in use here; an empty list says none"}
    )
    own_findings = List(Nested(OwnFindingSchema), max_items=200)
    quarantine = Text(max_length=1000, metadata={"description": "what happens to everything that arrives"})


class SetPointSchema(Strict):
    """Room air: at one end of the year's swing, in one month, or where something has come to rest."""

    makes = standards.SetPoint
    temperature_c = Number(min=-30, max=50, required=True)
    relative_humidity_percent = Number(min=0, max=100, required=True)
    month = Int(min=1, max=12)


class RoomClimateSchema(Strict):
    """The room's air over the year."""

    makes = standards.RoomClimate
    driest = Nested(SetPointSchema)
    dampest = Nested(SetPointSchema)
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
    drawer = Amount()
    tray = Amount()
    bottom_sheet_per_m2 = Amount()
    cabinet_position = Amount()
    person_hour = Amount()
    drawers_placed_per_h = Quantity(min=0.01, max=100_000)
    trays_moved_per_h = Quantity(min=0.01, max=100_000)
    specimens_moved_per_h = Quantity(min=0.01, max=100_000)
    specimens_per_drawer = Quantity(min=1, max=100_000)


class StorageSystemContentSchema(Strict):
    """What one revision of a storage system says. Whatever is left out is unknown, never fine."""

    makes = standards.StorageSystem
    cabinets = List(Nested(CabinetSchema), max_items=100)
    drawers = List(Nested(DrawerStandardSchema), max_items=100)
    tray_series = List(Nested(TraySeriesSchema), max_items=50)
    box_shelves = List(Nested(BoxShelfSchema), max_items=50)
    materials = Nested(MaterialsPolicySchema)
    climate = Nested(RoomClimateSchema)
    growth_reserve_percent = Quantity(
        min=0, max=90, metadata={"description": "share of each drawer that is kept free for what is still to come"}
    )
    lid_air_gap_nm = Length(
        data_key="lid_air_gap_mm", metadata={"description": "least room between pin heads and the lid"}
    )
    rates = Nested(CostRatesSchema)
