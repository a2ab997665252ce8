"""The answer to a fit check, as JSON shows it."""

from typing import Any

import marshmallow
from marshmallow import fields

from service.core.consignment import Container
from service.core.fit.alike import told_once
from service.core.fit.answer import FitAnswer
from service.core.fit.findings import Outcome, Verdict
from service.core.measure.dimension import Grade
from service.core.measure.lengths import to_mm
from service.web.kit.fields import Amount, Choice, Flag, Int, List, Nested, Number, Text
from service.web.kit.measures import DimensionField
from service.web.kit.schema import Strict
from service.web.schemas.consignment import MOST_CONTAINERS, MOST_LINES, MOST_SPECIMENS, TrayLotSchema
from service.web.schemas.parts import Quantity

MOST = 10**12
LONGEST_SENTENCE = 4_000


class Millimetres(Number):
    """A length that may be below zero, such as a margin. It holds nanometres."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min=-200_000, max=200_000, **kwargs)

    def write(self, value: int) -> float:
        return to_mm(value)


def _sentence(**kwargs: Any) -> Text:
    return Text(max_length=LONGEST_SENTENCE, min_length=0, **kwargs)


class ComparisonSchema(Strict):
    """One length held against one limit; the margin is what is left over, and below zero it is missing."""

    what = _sentence(required=True, metadata={"description": "what is held against what, in words"})
    value_mm = Millimetres(
        attribute="value_nm", metadata={"description": "the length that has to fit; left out: unknown"}
    )
    limit_mm = Millimetres(
        attribute="limit_nm", metadata={"description": "what it has to keep to; left out: unknown"}
    )
    margin_mm = Millimetres(
        attribute="margin_nm", metadata={"description": "what is left over; below zero: so much is missing"}
    )
    value = DimensionField(metadata={"description": "the dimension behind the value: how it is known"})
    limit = DimensionField(metadata={"description": "the dimension behind the limit: how it is known"})


class FindingSchema(Strict):
    """One rule's answer with its figures. Missing data is unknown, never pass."""

    rule = Text(max_length=60, required=True, metadata={"description": "name of the rule"})
    outcome = Choice(Outcome, required=True)
    reason = _sentence(required=True, metadata={"description": "why it answers so, in a sentence"})
    source = _sentence(required=True)
    subject = _sentence(
        metadata={"description": "what of the receiver's was tried: a cabinet, a drawer, a treatment"}
    )
    comparisons = List(
        Nested(ComparisonSchema), max_items=50, metadata={"description": "the lengths behind the answer"}
    )
    margin_mm = Millimetres(attribute="margin_nm", metadata={"description": "the tightest of the margins compared"})
    remedy = _sentence(metadata={"description": "what would mend it"})
    missing = List(
        Text(max_length=300), metadata={"description": "facts to ask for, named as the request names them"}
    )
    deciding = Flag(required=True, metadata={"description": "whether the verdict rests on it; false for advice"})
    grade = Choice(Grade, required=True)
    route = Choice(Verdict, metadata={"description": "the verdict that the rule speaks about; left out: any"})
    rests_on_memory = Flag(required=True, metadata={"description": "a figure from memory took part"})


class PlaceSchema(Strict):
    """Where one tray lies: its corner nearest the front left of the drawer's inside."""

    x_mm = Millimetres(attribute="x_nm", required=True)
    y_mm = Millimetres(attribute="y_nm", required=True)
    width_mm = Millimetres(attribute="width_nm", required=True)
    depth_mm = Millimetres(attribute="depth_nm", required=True)
    turned = Flag(required=True, metadata={"description": "true: it lies with its front to the side"})


class TilingSchema(Strict):
    """How equal trays lie in one drawer; no layout can hold more than at_most."""

    count = Int(
        min=0, max=MOST_CONTAINERS, required=True, metadata={"description": "trays that the layout found holds"}
    )
    at_most = Int(min=0, max=MOST_CONTAINERS, required=True, metadata={"description": "what no layout goes above"})
    is_proved = Flag(required=True, metadata={"description": "count and at_most meet"})
    left_over_mm2 = Int(
        min=0,
        max=MOST,
        required=True,
        metadata={"description": "area of the drawer's inside that no tray covers, in square millimetres"},
    )
    places = List(Nested(PlaceSchema), max_items=MOST_CONTAINERS, metadata={"description": "where each tray lies"})


class TrayFitSchema(Strict):
    """How one size of incoming tray sits in the receiver's drawer."""

    trays = Nested(TrayLotSchema, required=True, metadata={"description": "the incoming trays"})
    drawer = Text(max_length=100, required=True, metadata={"description": "code of the receiver's drawer"})
    tiling = Nested(TilingSchema, required=True, metadata={"description": "how they lie in it"})
    usable_per_drawer = Int(min=0, max=MOST_CONTAINERS, metadata={"description": "with the growth reserve kept free"})
    drawers = Int(min=0, max=MOST, metadata={"description": "taken by this size alone"})


class NeededSchema(Strict):
    """What housing takes. Null is not known; zero is none."""

    drawers = Int(
        min=0,
        max=MOST,
        required=True,
        allow_none=True,
        metadata={"description": "new drawers, each size of tray housed by itself: at most so many"},
    )
    drawers_at_least = Int(
        min=0,
        max=MOST,
        required=True,
        allow_none=True,
        metadata={"description": "drawers that follow from the area alone: no fewer will do"},
    )
    trays = Int(min=0, max=MOST, required=True, allow_none=True, metadata={"description": "new unit trays"})
    trays_moved = Int(
        min=0,
        max=MOST,
        required=True,
        allow_none=True,
        metadata={"description": "unit trays that move over as they are"},
    )
    specimens_moved = Int(
        min=0,
        max=MOST_SPECIMENS * MOST_LINES,
        required=True,
        allow_none=True,
        metadata={"description": "specimens that are handled one by one"},
    )
    drawers_placed = Int(
        min=0, max=MOST, required=True, allow_none=True, metadata={"description": "drawers to be put into cabinets"}
    )
    bottom_sheet_m2 = fields.Function(
        lambda needed: None if needed.bottom_sheet_mm2 is None else needed.bottom_sheet_mm2 / 1_000_000,
        metadata={"type": ["number", "null"], "minimum": 0, "description": "new pinning bottom, in square metres"},
    )
    cabinet_positions = Int(
        min=0, max=MOST, required=True, allow_none=True, metadata={"description": "drawer positions in cabinets"}
    )


class LineAnswerSchema(Strict):
    """What becomes of one line, and why."""

    line = Int(
        min=1, max=MOST_LINES, required=True, metadata={"description": "its place in the consignment, counted from 1"}
    )
    container = Choice(Container, required=True)
    count = Int(min=1, max=MOST_CONTAINERS, required=True, metadata={"description": "containers of the line"})
    verdict = Choice(Verdict, required=True)
    otherwise = Choice(
        Verdict, metadata={"description": "with hold: the verdict should the missing facts turn out badly"}
    )
    missing = List(
        Text(max_length=300), metadata={"description": "facts to ask for, named as the request names them"}
    )
    like_line = Int(
        min=1,
        max=MOST_LINES,
        metadata={
            "description": "an earlier line that says the same of its containers: its findings and tray fits hold "
            "for this one too, and are not repeated"
        },
    )
    cabinet = Text(
        max_length=100,
        metadata={"description": "code of the receiver's cabinet that served best, well enough or not"},
    )
    drawer = Text(
        max_length=100, metadata={"description": "code of the receiver's drawer that served best, well enough or not"}
    )
    turned = Flag(required=True, metadata={"description": "goes in with its front to the side"})
    needed = Nested(NeededSchema, required=True, metadata={"description": "what this line takes"})
    tray_fits = List(
        Nested(TrayFitSchema),
        max_items=50,
        metadata={"description": "how its unit trays sit in the receiver's drawer"},
    )
    findings = List(
        Nested(FindingSchema), max_items=5_000, required=True, metadata={"description": "what each rule answers"}
    )


class CostItemSchema(Strict):
    """One row of the cost: the quantity times the rate. What is unknown is null."""

    what = _sentence(required=True, metadata={"description": "what is paid for"})
    quantity = Quantity(
        min=0,
        max=MOST,
        required=True,
        allow_none=True,
        metadata={"description": "how much of it, in the unit; null: unknown"},
    )
    unit = Text(max_length=60, required=True, metadata={"description": "what the quantity counts"})
    rate = Amount(
        whole_digits=12,
        decimals=6,
        required=True,
        allow_none=True,
        metadata={"description": "price of one unit, as the storage system has it; null: not stated"},
    )
    amount = Amount(
        whole_digits=15,
        required=True,
        allow_none=True,
        metadata={"description": "quantity times rate, rounded to two decimals; null: one of them is unknown"},
    )
    note = _sentence(metadata={"description": "how it was worked out, where that is not plain"})


class CostSchema(Strict):
    """The cost at the receiver's own rates. The amounts that are known add up to the total."""

    items = List(
        Nested(CostItemSchema),
        max_items=50,
        required=True,
        metadata={"description": "what adds up to it, row by row"},
    )
    person_hours = Quantity(
        min=0,
        max=MOST,
        required=True,
        allow_none=True,
        metadata={"description": "hours of work, all together; null: a pace is not stated"},
    )
    total = Amount(whole_digits=15, required=True, metadata={"description": "what the known amounts add up to"})
    complete = Flag(required=True, metadata={"description": "whether every amount is known"})
    currency = Text(max_length=3)


class VerdictCountSchema(Strict):
    """How many lines and containers go one way."""

    verdict = Choice(Verdict, required=True)
    lines = Int(min=0, max=MOST_LINES, required=True, metadata={"description": "lines with this verdict"})
    containers = Int(min=0, max=MOST, required=True, metadata={"description": "containers in these lines"})


class FitAnswerSchema(Strict):
    """The verdict on a consignment: how much of it goes which way, and what that takes."""

    counts = List(
        Nested(VerdictCountSchema), max_items=10, required=True, metadata={"description": "how much goes which way"}
    )
    needed = Nested(NeededSchema, required=True, metadata={"description": "what all lines take together"})
    cost = Nested(CostSchema, required=True, metadata={"description": "what that costs at the receiver's rates"})
    cautions = List(
        _sentence(),
        max_items=100,
        required=True,
        metadata={"description": "where room runs short, and what people have to mind"},
    )
    lines = List(
        Nested(LineAnswerSchema),
        max_items=MOST_LINES,
        required=True,
        metadata={"description": "the answer for each line"},
    )

    @marshmallow.pre_dump
    def _tell_once(self, answer: FitAnswer, **_: Any) -> FitAnswer:
        return told_once(answer)
