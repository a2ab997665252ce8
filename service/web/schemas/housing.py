"""Housing plans, as JSON shows them."""

from typing import Any

from marshmallow import fields
from marshmallow.utils import get_value

from service.core.housing.plan import LayoutClass
from service.core.housing.proof import Proof
from service.web.kit.fields import Choice, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.paths import LARGEST_NUMBER
from service.web.kit.schema import Strict
from service.web.schemas.fit import CostSchema, Millimetres, PlaceSchema
from service.web.schemas.housing_asked import LONGEST_LABEL, MOST_DRAWER_TYPES, MOST_SIZES, MOST_TRAYS
from service.web.schemas.parts import Handling, Quantity

MOST = 2**53 - 1
_LONGEST_SENTENCE = 1_000
#: A whole number of any size travels as text, since not every client reads it exactly otherwise.
_WHOLE = {"type": "string", "pattern": "^-?[0-9]{1,60}$", "maxLength": 61}


def _tray(**kwargs: Any) -> Text:
    return Text(max_length=LONGEST_LABEL + 10, **kwargs)


def _nm() -> Int:
    return Int(min=0, max=MOST)


def _whole(name: str, description: str) -> fields.Field[str]:
    said = _WHOLE | {"description": description}
    return fields.Function(lambda thing: str(get_value(thing, name)), metadata=said)


class PlanSummarySchema(Strict):
    """Which plan this is."""

    id = Uuid(required=True)
    consignment_id = Uuid(metadata={"description": "the consignment that was housed; left out: trays or taxa were"})
    storage_system_id = Uuid(metadata={"description": "what it was housed in; left out: drawers of your own"})
    revision_number = Int(
        min=1, max=LARGEST_NUMBER, metadata={"description": "the storage system's revision that was used"}
    )
    tray_count = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "trays housed"})
    drawer_count = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "drawers that they take"})
    proof = Choice(Proof, required=True)
    engine = Text(max_length=40, required=True, metadata={"description": "version of the arithmetic"})
    created_at = Instant(required=True)


class BoundSchema(Strict):
    """The plan beside what no plan goes below. Costs count drawers unless drawers were given prices, then cents."""

    cost = Int(min=1, max=MOST, required=True, metadata={"description": "what the plan costs"})
    at_least = Int(
        min=0, max=MOST, required=True, metadata={"description": "no plan costs less, whatever its layouts"}
    )
    at_least_in_columns = Int(min=0, max=MOST, metadata={"description": "no plan of layouts in columns costs less"})
    drawers_above = Int(
        min=0, max=MOST_TRAYS, metadata={"description": "at most so many above the fewest, where drawers cost alike"}
    )
    proved_for = Choice(LayoutClass, metadata={"description": "the widest class of layouts that the proof covers"})
    in_words = Text(
        max_length=_LONGEST_SENTENCE,
        required=True,
        metadata={"description": "how far the plan is from the best possible, in a sentence"},
    )
    rests_on_search = Flag(
        required=True, metadata={"description": "whether more is needed to check it than adding up the certificate"}
    )
    parts_groups = Flag(
        required=True, metadata={"description": "at_least is worked out as if trays that stay together could part"}
    )
    stopped_early = Flag(required=True, metadata={"description": "the time was up; a further look may find better"})


class DrawersUsedSchema(Strict):
    """Drawers of one type."""

    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    count = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "drawers of this type"})
    cabinets = Int(min=1, max=MOST_TRAYS, metadata={"description": "that they fill; left out: not stated"})


class TrayCountSchema(Strict):
    """Trays of one size in one drawer."""

    tray = _tray(required=True, metadata={"description": "code of the size of tray"})
    count = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "how many of them lie in the drawer"})


class LayoutSchema(Strict):
    """Drawers that are alike."""

    number = Int(min=1, max=MOST_TRAYS, required=True)
    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    first = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "number of the first such drawer"})
    last = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "number of the last such drawer"})
    trays = List(
        Nested(TrayCountSchema),
        max_items=MOST_TRAYS,
        required=True,
        metadata={"description": "what lies in each of them"},
    )


class LeftOutSchema(Strict):
    """A line of the consignment that the plan does not house."""

    line = Int(
        min=1, max=MOST_TRAYS, required=True, metadata={"description": "its place in the consignment, counted from 1"}
    )
    reason = Text(max_length=_LONGEST_SENTENCE, required=True, metadata={"description": "why it is not housed"})


class PlanSchema(PlanSummarySchema):
    """A housing plan: how many drawers, which, how far from the fewest at most, and what it costs."""

    bound = Nested(BoundSchema, required=True, metadata={"description": "how far the plan is from the best possible"})
    at_most_by_fit_check = Int(
        min=1, max=MOST_TRAYS, metadata={"description": "drawers for the same trays, each size by itself"}
    )
    used = List(
        Nested(DrawersUsedSchema),
        max_items=MOST_DRAWER_TYPES,
        required=True,
        metadata={"description": "how many drawers of each type"},
    )
    layouts = List(
        Nested(LayoutSchema),
        max_items=MOST_TRAYS,
        required=True,
        metadata={"description": "what lies in the drawers, those that are alike told once"},
    )
    bottom_sheet_m2 = Quantity(min=0, max=MOST, required=True, metadata={"description": "under all trays together"})
    cost = Nested(CostSchema, required=True, metadata={"description": "what it costs at the storage system's rates"})
    left_out = List(
        Nested(LeftOutSchema),
        max_items=MOST_SIZES,
        required=True,
        metadata={"description": "lines of the consignment that the plan does not house"},
    )
    heights_unknown = List(
        _tray(), max_items=MOST_SIZES,
        metadata={"description": "trays and drawers of unknown height: somebody has to look whether the lid shuts"},
    )  # fmt: skip
    notes = List(
        Text(max_length=_LONGEST_SENTENCE),
        max_items=100,
        required=True,
        metadata={"description": "what to know before relying on the plan"},
    )
    handling = Handling(required=True)


class DrawerOfPlanSchema(Strict):
    """One drawer of a plan, and where it goes."""

    number = Int(
        min=1, max=MOST_TRAYS, required=True, metadata={"description": "counts the drawers of the plan from 1"}
    )
    layout = Int(min=1, max=MOST_TRAYS, required=True, metadata={"description": "number of the layout that it has"})
    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    cabinet = Text(max_length=200, metadata={"description": "kind of cabinet; left out: none is published for it"})
    cabinet_number = Int(min=1, max=MOST_TRAYS, metadata={"description": "counts the cabinets that are filled"})
    position = Int(min=1, max=100_000, metadata={"description": "from the top of the left column down"})


class DrawersOfPlanSchema(Strict):
    """Every drawer of a plan in its order."""

    drawers = List(
        Nested(DrawerOfPlanSchema),
        max_items=MOST_TRAYS,
        required=True,
        metadata={"description": "every drawer of the plan, by its number"},
    )
    handling = Handling(required=True)


class PlacedSchema(Strict):
    """One tray in its place, play not included."""

    tray = _tray(required=True, metadata={"description": "code of the size of tray"})
    label = Text(max_length=LONGEST_LABEL, min_length=0, required=True)
    place = Nested(PlaceSchema, required=True, metadata={"description": "where it lies"})


class StripSchema(Strict):
    """The part of a drawer that stays free for growth."""

    x_mm = Millimetres(attribute="x_nm", required=True)
    y_mm = Millimetres(attribute="y_nm", required=True)
    width_mm = Millimetres(attribute="width_nm", required=True)
    depth_mm = Millimetres(attribute="depth_nm", required=True)


class FilledDrawerSchema(DrawerOfPlanSchema):
    """One drawer of a plan with every tray in its place. Lengths run from the front left corner inside."""

    inner_width_mm = Millimetres(
        attribute="inner_width_nm", required=True, metadata={"description": "inside, side to side, in millimetres"}
    )
    inner_depth_mm = Millimetres(
        attribute="inner_depth_nm", required=True, metadata={"description": "inside, front to back, in millimetres"}
    )
    placed = List(
        Nested(PlacedSchema),
        max_items=MOST_TRAYS,
        required=True,
        metadata={"description": "every tray of the drawer"},
    )
    reserve = Nested(
        StripSchema,
        metadata={
            "description": "kept free for growth; left out: none asked for, or one tray has the drawer to itself"
        },
    )
    handling = Handling(required=True)


class AskedTraySchema(Strict):
    """Like trays, as they were housed."""

    code = _tray(required=True)
    label = Text(max_length=LONGEST_LABEL, min_length=0, required=True)
    count = Int(min=0, max=MOST_TRAYS, required=True, metadata={"description": "trays of this size"})
    width_mm = Millimetres(
        attribute="width_nm",
        required=True,
        metadata={"description": "outside, side to side with the label at the front, in millimetres"},
    )
    depth_mm = Millimetres(
        attribute="depth_nm", required=True, metadata={"description": "outside, front to back, in millimetres"}
    )
    height_mm = Millimetres(
        attribute="height_nm",
        metadata={"description": "clear height that it takes with its pins, in millimetres; left out: unknown"},
    )
    may_turn = Flag(required=True, metadata={"description": "whether its label may face the side"})
    together = Text(
        max_length=LONGEST_LABEL, metadata={"description": "trays with the same word here stand in one drawer"}
    )


class AskedDrawerSchema(Strict):
    """A type of drawer, as it was used."""

    code = Text(max_length=64, required=True)
    inner_width_mm = Millimetres(
        attribute="inner_width_nm", required=True, metadata={"description": "inside, side to side, in millimetres"}
    )
    inner_depth_mm = Millimetres(
        attribute="inner_depth_nm", required=True, metadata={"description": "inside, front to back, in millimetres"}
    )
    clear_height_mm = Millimetres(
        attribute="clear_height_nm",
        metadata={"description": "from what trays stand on to the lid, in millimetres; left out: unknown"},
    )
    cost = Int(
        min=1,
        max=MOST,
        required=True,
        metadata={"description": "of one more: 1 where drawers are counted, and cents where they were given prices"},
    )
    at_most = Int(min=0, max=MOST_TRAYS, metadata={"description": "how many there are; left out: as many as needed"})
    per_cabinet = Int(
        min=1, max=100_000, metadata={"description": "positions that one cabinet has for it; left out: not stated"}
    )


class PlanInputsSchema(Strict):
    """All that a plan was made from: the same again gives the same plan."""

    consignment = Text(
        max_length=100,
        min_length=0,
        required=True,
        metadata={"description": "code of the consignment on that day; empty: none"},
    )
    system = Text(
        max_length=500,
        min_length=0,
        required=True,
        metadata={"description": "name of the storage system and of its owner on that day; empty: none"},
    )
    content_sha256 = Text(
        max_length=64,
        min_length=0,
        required=True,
        metadata={"description": "digest of the storage system's contents; empty: none"},
    )
    growth_reserve_percent = Quantity(
        min=0, max=90, required=True, metadata={"description": "share of each drawer's inside that is kept free"}
    )
    play_mm = Millimetres(
        attribute="play_nm", required=True, metadata={"description": "room beside each tray, in millimetres"}
    )
    trays = List(
        Nested(AskedTraySchema),
        max_items=MOST_SIZES * 12,
        required=True,
        metadata={"description": "all trays, by size and label"},
    )
    drawers = List(
        Nested(AskedDrawerSchema),
        max_items=MOST_DRAWER_TYPES,
        required=True,
        metadata={"description": "the types of drawer that could be used"},
    )


class ScalesSchema(Strict):
    """A pair of scales: [length in nm, number] along width and depth, what sums never pass, how often it counts."""

    width_numbers = List(
        List(_nm(), max_items=2),
        max_items=MOST_SIZES * 2,
        required=True,
        metadata={"description": "for lengths along the width: [length in nanometres, number]"},
    )
    depth_numbers = List(
        List(_nm(), max_items=2),
        max_items=MOST_SIZES * 2,
        required=True,
        metadata={"description": "the same along the depth"},
    )
    width_capacity = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={"description": "what the numbers of lengths that fit side by side never pass"},
    )
    depth_capacity = Int(min=0, max=MOST, required=True, metadata={"description": "the same along the depth"})
    times = _whole("times", "how often the pair counts in the bound")


class RoomProofSchema(Strict):
    """The part of a drawer that trays may take. times × capacities add up to at most cost × one × full²."""

    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    width_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    depth_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    cost = Int(min=0, max=MOST, required=True, metadata={"description": "of one such drawer"})
    scales = List(
        Nested(ScalesSchema),
        max_items=1_000,
        required=True,
        metadata={"description": "the pairs of scales that together weigh trays in it"},
    )


class WeighedSchema(Strict):
    """Like trays, play included; weight × full² is at most times × products, in every room and either way round."""

    trays = List(
        _tray(),
        max_items=MOST_SIZES,
        required=True,
        metadata={"description": "codes of the trays that are alike in size"},
    )
    width_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of one tray with its play, in nanometres"}
    )
    depth_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of one tray with its play, in nanometres"}
    )
    may_turn = Flag(required=True, metadata={"description": "whether it may lie with its label to the side"})
    count = Int(min=0, max=MOST_TRAYS, required=True, metadata={"description": "how many of them there are"})
    weight = _whole("weight", "what one such tray weighs")


class LimitPriceSchema(Strict):
    """What it is worth that there are no more than so many drawers of a type."""

    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    at_most = Int(min=0, max=MOST_TRAYS, required=True, metadata={"description": "how many of them there are"})
    weight = _whole("weight", "what one such drawer is worth")


class WeightSchema(Strict):
    """What each of some like trays weighs."""

    trays = List(_tray(), max_items=MOST_SIZES, required=True, metadata={"description": "codes of the trays"})
    count = Int(min=0, max=MOST_TRAYS, required=True, metadata={"description": "how many of them there are"})
    weight = _whole("weight", "what one such tray weighs")


class ColumnCapacitySchema(Strict):
    """The most that a layout in columns of this part of a drawer can weigh, by exact search, and what it costs."""

    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    width_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    depth_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    cost = Int(min=0, max=MOST, required=True, metadata={"description": "of one such drawer"})
    capacity = _whole("capacity", "the most that a layout in columns weighs")


class ColumnCertificateSchema(Strict):
    """The bound among layouts in columns. That none weighs more than the capacity rests on an exact search."""

    weights = List(
        Nested(WeightSchema),
        max_items=MOST_SIZES * 12,
        required=True,
        metadata={"description": "what trays weigh in this bound"},
    )
    capacities = List(
        Nested(ColumnCapacitySchema),
        max_items=100,
        required=True,
        metadata={"description": "the most that each part of a drawer holds"},
    )
    sum = _whole("sum", "counts × weights, added up")
    at_least = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={
            "description": "no plan of layouts in columns costs less: the certificate's cost_alone + its at_cost × "
            "(sum / the largest capacity / cost of any room, rounded up)"
        },
    )


class RoomLoadsSchema(Strict):
    """The most that the trays of one drawer weigh, each drawer holding whole trays."""

    drawer = Text(max_length=64, required=True, metadata={"description": "code of the type of drawer"})
    width_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    depth_nm = Int(
        min=0, max=MOST, required=True, metadata={"description": "of the part that trays may take, in nanometres"}
    )
    cost = Int(min=0, max=MOST, required=True, metadata={"description": "of one such drawer"})
    scales = List(
        Nested(ScalesSchema),
        max_items=100_000,
        required=True,
        metadata={
            "description": "a load (some trays, each one way round) is allowed where the products of its trays' "
            "numbers add up to no more than both capacities multiplied; `times` mean nothing here"
        },
    )
    never = List(
        List(List(Int(min=0, max=MOST), max_items=3), max_items=MOST_SIZES),
        max_items=100_000,
        required=True,
        metadata={
            "description": "sets of trays, each [width in nm, depth in nm, count] with play, that an exhaustive "
            "search found not to lie in it together"
        },
    )
    heaviest = _whole("heaviest", "no load that is allowed and holds none of `never` weighs more")


class WholeTrayCertificateSchema(Strict):
    """A bound that counts the trays of a drawer whole, for where the scales alone prove less."""

    rooms = List(
        Nested(RoomLoadsSchema),
        max_items=100,
        required=True,
        metadata={"description": "the most that the trays of each kind of drawer weigh"},
    )
    weights = List(
        Nested(WeightSchema),
        max_items=MOST_SIZES * 12,
        required=True,
        metadata={"description": "what trays weigh in this bound"},
    )
    limits = List(
        Nested(LimitPriceSchema),
        max_items=MOST_DRAWER_TYPES,
        required=True,
        metadata={"description": "what scarce drawers are worth in it"},
    )
    at_least = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={
            "description": "no plan costs less. Let over be the largest heaviest / (cost × one + the weight of its "
            "drawer's limit) of any room: the certificate's cost_alone + its at_cost × (sum of counts × "
            "weights / (over × one) − sum of limits × their weights / one, rounded up)"
        },
    )


class CertificateSchema(Strict):
    """Whole numbers that show the bound to anybody who can add and multiply."""

    one = _whole("one", "a weight of this much is worth a cost of 1")
    full = _whole("full", "what fills a side of a drawer, in the numbers of the scales")
    rooms = List(
        Nested(RoomProofSchema),
        max_items=100,
        required=True,
        metadata={"description": "each kind of drawer with its scales"},
    )
    sizes = List(
        Nested(WeighedSchema),
        max_items=MOST_SIZES * 12,
        required=True,
        metadata={"description": "what each size of tray weighs"},
    )
    limits = List(
        Nested(LimitPriceSchema),
        max_items=MOST_DRAWER_TYPES,
        required=True,
        metadata={"description": "what scarce drawers are worth"},
    )
    sum = _whole("sum", "counts × weights − limits × their weights, added up")
    cost_alone = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={"description": "cost of the drawers that one large tray each has to itself"},
    )
    at_cost = Int(
        min=1,
        max=MOST,
        required=True,
        metadata={"description": "the greatest number that divides the costs of all types of drawer"},
    )
    at_least = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={"description": "no plan costs less: cost_alone + at_cost × (sum / one, rounded up)"},
    )
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
