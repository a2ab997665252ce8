"""Parts that several bodies share."""

from decimal import Decimal
from typing import Any

from service.core.materials import Bottom, PinningBottom
from service.core.measure.dimension import Size
from service.web.kit.fields import Choice, Flag, Number
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


class SizeSchema(Strict):
    """Width (side to side along the front), depth (front to back) and height; what is left out is unknown."""

    makes = Size
    width = DimensionField()
    depth = DimensionField()
    height = DimensionField()


class PinningBottomSchema(Strict):
    """What the pins go into."""

    makes = PinningBottom
    material = Choice(Bottom)
    thickness = DimensionField()
    glued_firmly = Flag(metadata={"description": "whether it holds all over; leave out when nobody looked"})
