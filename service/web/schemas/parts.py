"""Parts that several bodies share."""

from decimal import Decimal
from typing import Any

from service.core.materials import Bottom, PinningBottom
from service.core.measure.dimension import Grade, Size
from service.web.kit.fields import Choice, Code, Flag, List, Nested, Number, Text
from service.web.kit.measures import DimensionField
from service.web.kit.schema import Strict


class Quantity(Number):
    """A number that is reckoned with as it was written: a rate, a percentage."""

    def read(self, value: Any) -> Decimal:  # type: ignore[override]  # a number in JSON, a decimal in the house
        number = super().read(value)
        # 20 and 20.0 are one number, and have to be one digest.
        return Decimal(int(number)) if number.is_integer() else Decimal(str(number))

    def write(self, value: Decimal) -> float:
        return float(value)


class HandlingCautionSchema(Strict):
    """What people have to mind who handle the material. Local rules and licensed practice come first."""

    code = Code(required=True, metadata={"description": "the treatment, old-residues or unknown-residues"})
    sentence = Text(max_length=2_000, required=True, metadata={"description": "what to mind, and why"})
    source = Text(max_length=2_000, required=True)
    grade = Choice(Grade, required=True)


class Handling(List):
    """The handling cautions of an answer, each once."""

    def __init__(self, **kwargs: Any) -> None:
        said = {"description": "what to mind when handling it; empty only where it is stated that nothing was used"}
        super().__init__(Nested(HandlingCautionSchema), max_items=50, metadata=said, **kwargs)


class SizeSchema(Strict):
    """Width (side to side along the front), depth (front to back) and height; what is left out is unknown."""

    makes = Size
    width = DimensionField(metadata={"description": "side to side along the front; left out: unknown"})
    depth = DimensionField(metadata={"description": "front to back; left out: unknown"})
    height = DimensionField(metadata={"description": "bottom to top; left out: unknown"})


class PinningBottomSchema(Strict):
    """What the pins go into."""

    makes = PinningBottom
    material = Choice(Bottom)
    thickness = DimensionField(metadata={"description": "of the layer that takes the pins; left out: unknown"})
    glued_firmly = Flag(metadata={"description": "whether it holds all over; leave out when nobody looked"})
