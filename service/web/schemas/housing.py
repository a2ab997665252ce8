"""Housing plans, as JSON shows them."""

from marshmallow import fields
from marshmallow.utils import get_value

from service.core.housing.plan import LayoutClass
from service.core.housing.proof import Proof
from service.web.kit.fields import Choice, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.paths import LARGEST_NUMBER
from service.web.kit.schema import Strict
from service.web.schemas.fit import CostSchema, Millimetres, PlaceSchema
from service.web.schemas.housing_asked import LONGEST_LABEL, MOST_DRAWER_TYPES, MOST_SIZES, MOST_TRAYS
from service.web.schemas.parts import Quantity

MOST = 2**53 - 1
_LONGEST_SENTENCE = 1_000
#: A whole number of any size travels as text, since not every client reads it exactly otherwise.
_WHOLE = {"type": "string", "pattern": "^-?[0-9]{1,60}$", "maxLength": 61}


def _tray(*, required: bool = False) -> Text:
    return Text(max_length=LONGEST_LABEL + 10, required=required)


def _nm() -> Int:
    return Int(min=0, max=MOST)


def _whole(name: str) -> fields.Field[str]:
    return fields.Function(lambda thing: str(get_value(thing, name)), metadata=_WHOLE)


class PlanSummarySchema(Strict):
    """Which plan this is."""

    id = Uuid(required=True)
    consignment_id = Uuid()
    storage_system_id = Uuid()
    revision_number = Int(min=1, max=LARGEST_NUMBER)
    tray_count = Int(min=1, max=MOST_TRAYS, required=True)
    drawer_count = Int(min=1, max=MOST_TRAYS, required=True)
    proof = Choice(Proof, required=True)
    engine = Text(max_length=40, required=True, metadata={"description": "version of the arithmetic"})
    created_at = Instant(required=True)


class BoundSchema(Strict):
    """The plan beside what no plan goes below. Costs count drawers unless drawers were given prices, then cents."""

    cost = Int(min=1, max=MOST, required=True)
    at_least = Int(
        min=0, max=MOST, required=True, metadata={"description": "no plan costs less, whatever its layouts"}
    )
    at_least_in_columns = Int(min=0, max=MOST, metadata={"description": "no plan of layouts in columns costs less"})
    drawers_above = Int(
        min=0, max=MOST_TRAYS, metadata={"description": "at most so many above the fewest, where drawers cost alike"}
    )
    proved_for = Choice(LayoutClass, metadata={"description": "the widest class of layouts that the proof covers"})
    in_words = Text(max_length=_LONGEST_SENTENCE, required=True)
    rests_on_search = Flag(
        required=True, metadata={"description": "whether more is needed to check it than adding up the certificate"}
    )
    parts_groups = Flag(
        required=True, metadata={"description": "at_least is worked out as if trays that stay together could part"}
    )
    stopped_early = Flag(required=True, metadata={"description": "the time was up; a further look may find better"})


class DrawersUsedSchema(Strict):
    """Drawers of one type."""

    drawer = Text(max_length=64, required=True)
    count = Int(min=1, max=MOST_TRAYS, required=True)
    cabinets = Int(min=1, max=MOST_TRAYS, metadata={"description": "that they fill; left out: not stated"})


class TrayCountSchema(Strict):
    """Trays of one size in one drawer."""

    tray = _tray(required=True)
    count = Int(min=1, max=MOST_TRAYS, required=True)


class LayoutSchema(Strict):
    """Drawers that are alike."""

    number = Int(min=1, max=MOST_TRAYS, required=True)
    drawer = Text(max_length=64, required=True)
    first = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "number of the first such drawer"})
    last = Int(min=1, max=MOST_TRAYS, required=True)
    trays = List(Nested(TrayCountSchema), max_items=MOST_TRAYS, required=True)


class LeftOutSchema(Strict):
    """A line of the consignment that the plan does not house."""

    line = Int(min=1, max=MOST_TRAYS, required=True)
    reason = Text(max_length=_LONGEST_SENTENCE, required=True)


class PlanSchema(PlanSummarySchema):
    """A housing plan: how many drawers, which, how far from the fewest at most, and what it costs."""

    bound = Nested(BoundSchema, required=True)
    at_most_by_fit_check = Int(
        min=1, max=MOST_TRAYS, metadata={"description": "drawers for the same trays, each size by itself"}
    )
    used = List(Nested(DrawersUsedSchema), max_items=MOST_DRAWER_TYPES, required=True)
    layouts = List(Nested(LayoutSchema), max_items=MOST_TRAYS, required=True)
    bottom_sheet_m2 = Quantity(min=0, max=MOST, required=True, metadata={"description": "under all trays together"})
    cost = Nested(CostSchema, required=True)
    left_out = List(Nested(LeftOutSchema), max_items=MOST_SIZES, required=True)
    heights_unknown = List(
        _tray(), max_items=MOST_SIZES,
        metadata={"description": "trays and drawers of unknown height: somebody has to look whether the lid shuts"},
    )  # fmt: skip
    notes = List(Text(max_length=_LONGEST_SENTENCE), max_items=100, required=True)


class DrawerOfPlanSchema(Strict):
    """One drawer of a plan, and where it goes."""

    number = Int(min=1, max=MOST_TRAYS, required=True)
    layout = Int(min=1, max=MOST_TRAYS, required=True)
    drawer = Text(max_length=64, required=True)
    cabinet = Text(max_length=200, metadata={"description": "kind of cabinet; left out: none is published for it"})
    cabinet_number = Int(min=1, max=MOST_TRAYS, metadata={"description": "counts the cabinets that are filled"})
    position = Int(min=1, max=100_000, metadata={"description": "from the top of the left column down"})


class DrawersOfPlanSchema(Strict):
    """Every drawer of a plan in its order."""

    drawers = List(Nested(DrawerOfPlanSchema), max_items=MOST_TRAYS, required=True)


class PlacedSchema(Strict):
    """One tray in its place, play not included."""

    tray = _tray(required=True)
    label = Text(max_length=LONGEST_LABEL, min_length=0, required=True)
    place = Nested(PlaceSchema, required=True)


class StripSchema(Strict):
    """The part of a drawer that stays free for growth."""

    x_mm = Millimetres(attribute="x_nm", required=True)
    y_mm = Millimetres(attribute="y_nm", required=True)
    width_mm = Millimetres(attribute="width_nm", required=True)
    depth_mm = Millimetres(attribute="depth_nm", required=True)


class FilledDrawerSchema(DrawerOfPlanSchema):
    """One drawer of a plan with every tray in its place. Lengths run from the front left corner inside."""

    inner_width_mm = Millimetres(attribute="inner_width_nm", required=True)
    inner_depth_mm = Millimetres(attribute="inner_depth_nm", required=True)
    placed = List(Nested(PlacedSchema), max_items=MOST_TRAYS, required=True)
    reserve = Nested(StripSchema)


class AskedTraySchema(Strict):
    """Like trays, as they were housed."""

    code = _tray(required=True)
    label = Text(max_length=LONGEST_LABEL, min_length=0, required=True)
    count = Int(min=0, max=MOST_TRAYS, required=True)
    width_mm = Millimetres(attribute="width_nm", required=True)
    depth_mm = Millimetres(attribute="depth_nm", required=True)
    height_mm = Millimetres(attribute="height_nm")
    may_turn = Flag(required=True)
    together = Text(max_length=LONGEST_LABEL)


class AskedDrawerSchema(Strict):
    """A type of drawer, as it was used."""

    code = Text(max_length=64, required=True)
    inner_width_mm = Millimetres(attribute="inner_width_nm", required=True)
    inner_depth_mm = Millimetres(attribute="inner_depth_nm", required=True)
    clear_height_mm = Millimetres(attribute="clear_height_nm")
    cost = Int(min=1, max=MOST, required=True)
    at_most = Int(min=0, max=MOST_TRAYS)
    per_cabinet = Int(min=1, max=100_000)


class PlanInputsSchema(Strict):
    """All that a plan was made from: the same again gives the same plan."""

    consignment = Text(max_length=100, min_length=0, required=True)
    system = Text(max_length=500, min_length=0, required=True)
    content_sha256 = Text(max_length=64, min_length=0, required=True)
    growth_reserve_percent = Quantity(min=0, max=90, required=True)
    play_mm = Millimetres(attribute="play_nm", required=True)
    trays = List(Nested(AskedTraySchema), max_items=MOST_SIZES * 12, required=True)
    drawers = List(Nested(AskedDrawerSchema), max_items=MOST_DRAWER_TYPES, required=True)


class ScalesSchema(Strict):
    """A pair of scales: [length in nm, number] along width and depth, what sums never pass, how often it counts."""

    width_numbers = List(List(_nm(), max_items=2), max_items=MOST_SIZES * 2, required=True)
    depth_numbers = List(List(_nm(), max_items=2), max_items=MOST_SIZES * 2, required=True)
    width_capacity = Int(min=0, max=MOST, required=True)
    depth_capacity = Int(min=0, max=MOST, required=True)
    times = _whole("times")


class RoomProofSchema(Strict):
    """The part of a drawer that trays may take. times × capacities add up to at most cost × one × full²."""

    drawer = Text(max_length=64, required=True)
    width_nm = Int(min=0, max=MOST, required=True)
    depth_nm = Int(min=0, max=MOST, required=True)
    cost = Int(min=0, max=MOST, required=True)
    scales = List(Nested(ScalesSchema), max_items=1_000, required=True)


class WeighedSchema(Strict):
    """Like trays, play included; weight × full² is at most times × products, in every room and either way round."""

    trays = List(_tray(), max_items=MOST_SIZES, required=True)
    width_nm = Int(min=0, max=MOST, required=True)
    depth_nm = Int(min=0, max=MOST, required=True)
    may_turn = Flag(required=True)
    count = Int(min=0, max=MOST_TRAYS, required=True)
    weight = _whole("weight")


class LimitPriceSchema(Strict):
    """What it is worth that there are no more than so many drawers of a type."""

    drawer = Text(max_length=64, required=True)
    at_most = Int(min=0, max=MOST_TRAYS, required=True)
    weight = _whole("weight")


class WeightSchema(Strict):
    """What each of some like trays weighs."""

    trays = List(_tray(), max_items=MOST_SIZES, required=True)
    count = Int(min=0, max=MOST_TRAYS, required=True)
    weight = _whole("weight")


class ColumnCapacitySchema(Strict):
    """The most that a layout in columns of this part of a drawer can weigh, by exact search, and what it costs."""

    drawer = Text(max_length=64, required=True)
    width_nm = Int(min=0, max=MOST, required=True)
    depth_nm = Int(min=0, max=MOST, required=True)
    cost = Int(min=0, max=MOST, required=True)
    capacity = _whole("capacity")


class ColumnCertificateSchema(Strict):
    """The bound among layouts in columns.

    sum = counts × weights; at_least = the certificate's cost_alone + its at_cost × (sum / the largest capacity / cost
    of any room, rounded up). That no layout in columns weighs more than the capacity rests on an exact search.
    """

    weights = List(Nested(WeightSchema), max_items=MOST_SIZES * 12, required=True)
    capacities = List(Nested(ColumnCapacitySchema), max_items=100, required=True)
    sum = _whole("sum")
    at_least = Int(min=0, max=MOST, required=True)


class RoomLoadsSchema(Strict):
    """The most that the trays of one drawer weigh, each drawer holding whole trays.

    A load is a number of trays, each one way round. `scales` allow it when the products of its trays' numbers never
    have more than both capacities multiplied (their `times` mean nothing here). `never` are sets of trays, each
    [width in nm, depth in nm, count] with play, that an exhaustive search found not to lie in this part of a drawer
    together. No load that the scales allow and that holds none of these sets weighs more than `heaviest`.
    """

    drawer = Text(max_length=64, required=True)
    width_nm = Int(min=0, max=MOST, required=True)
    depth_nm = Int(min=0, max=MOST, required=True)
    cost = Int(min=0, max=MOST, required=True)
    scales = List(Nested(ScalesSchema), max_items=100_000, required=True)
    never = List(
        List(List(Int(min=0, max=MOST), max_items=3), max_items=MOST_SIZES), max_items=100_000, required=True
    )
    heaviest = _whole("heaviest")


class WholeTrayCertificateSchema(Strict):
    """A bound that counts the trays of a drawer whole, for where the scales alone prove less.

    Let over be the largest heaviest / (cost × one + the weight of its drawer's limit) of any room. Then at_least =
    the certificate's cost_alone + its at_cost × (sum of counts × weights / (over × one) − sum of limits × their
    weights / one, rounded up).
    """

    rooms = List(Nested(RoomLoadsSchema), max_items=100, required=True)
    weights = List(Nested(WeightSchema), max_items=MOST_SIZES * 12, required=True)
    limits = List(Nested(LimitPriceSchema), max_items=MOST_DRAWER_TYPES, required=True)
    at_least = Int(min=0, max=MOST, required=True)


class CertificateSchema(Strict):
    """Whole numbers that show the bound to anybody who can add and multiply.

    sum = counts × weights − limits × their weights; at_least = cost_alone + at_cost × (sum / one, rounded up).
    """

    one = _whole("one")
    full = _whole("full")
    rooms = List(Nested(RoomProofSchema), max_items=100, required=True)
    sizes = List(Nested(WeighedSchema), max_items=MOST_SIZES * 12, required=True)
    limits = List(Nested(LimitPriceSchema), max_items=MOST_DRAWER_TYPES, required=True)
    sum = _whole("sum")
    cost_alone = Int(min=0, max=MOST, required=True)
    at_cost = Int(min=1, max=MOST, required=True)
    at_least = Int(min=0, max=MOST, required=True)
    whole_trays = Nested(
        WholeTrayCertificateSchema, metadata={"description": "left out where it proves no more than the rest"}
    )
    columns = Nested(ColumnCertificateSchema, metadata={"description": "left out where it was not worked out"})
    rests_on_search = Flag(
        required=True,
        metadata={
            "description": "the plan's bound is higher than this one shows: by whole_trays or, where these are left "
            "out, by an exhaustive search that found no layout of all trays in one drawer"
        },
    )
