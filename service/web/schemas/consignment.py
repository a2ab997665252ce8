"""A consignment: who offers what, line by line."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from service.core import consignment
from service.core.materials import PinMetal, Treatment
from service.core.measure.dimension import Size
from service.core.measure.movement import Sawing
from service.core.review import larger_inside
from service.web.kit.fields import Choice, Int, List, Nested, Text
from service.web.kit.measures import DimensionField
from service.web.kit.schema import Strict
from service.web.schemas.identifiers import Identifiers
from service.web.schemas.parts import PinningBottomSchema, SizeSchema
from service.web.schemas.standards import AlongGrain, SetPointSchema

MOST_LINES = 5_000
MOST_CONTAINERS = 1_000_000
MOST_SPECIMENS = 1_000_000_000


class PinsSchema(Strict):
    """How the specimens are pinned."""

    makes = consignment.Pins
    length = DimensionField(metadata={"description": "of the longest pin"})
    depth = DimensionField(metadata={"description": "how far pins go into the bottom"})
    metal = Choice(PinMetal)


class TrayLotSchema(Strict):
    """Unit trays of one size inside drawers or boxes."""

    makes = consignment.TrayLot
    count = Int(
        min=1,
        max=MOST_CONTAINERS,
        required=True,
        metadata={"description": "in the whole line"},
    )
    outer = Nested(SizeSchema, metadata={"description": "one tray outside; its height is from base to rim"})
    base = DimensionField(metadata={"description": "thickness of its board, under the pinning bottom"})
    bottom = Nested(PinningBottomSchema, metadata={"description": "pinning bottom of the trays"})
    specimens = Int(
        min=0, max=MOST_SPECIMENS, metadata={"description": "in all these trays; left out: nobody has counted"}
    )


class LineSchema(Strict):
    """Like containers under one line of the offer."""

    makes = consignment.Line
    container = Choice(consignment.Container, required=True)
    count = Int(min=1, max=MOST_CONTAINERS, required=True, metadata={"description": "containers of this line"})
    description = Text(
        max_length=500, min_length=0, metadata={"description": "the containers in the sender's own words"}
    )
    outer = Nested(SizeSchema, metadata={"description": "one container (of a unit tray: the tray) outside"})
    inner = Nested(
        SizeSchema, metadata={"description": "inside; its height is from the bare floor to the underside of the lid"}
    )
    base = DimensionField(metadata={"description": "of a unit tray: thickness of its board"})
    lining = Nested(PinningBottomSchema, metadata={"description": "pinning bottom of the container itself"})
    trays = List(
        Nested(TrayLotSchema),
        max_items=50,
        metadata={"description": "unit trays inside; an empty list says there are none, leaving it out says nothing"},
    )
    pins = Nested(PinsSchema, metadata={"description": "how the specimens are pinned; left out: unknown"})
    wood = Text(max_length=100, metadata={"description": "what the containers are made of"})
    along_grain = AlongGrain()
    sawing = Choice(Sawing, metadata={"description": "how the boards were cut whose width is a dimension"})
    sender_climate = Nested(
        SetPointSchema, metadata={"description": "air of the room in which the containers have come to rest"}
    )
    treatments_used = List(
        Choice(Treatment), max_items=20, unique=True, metadata={"description": "on this material; empty says none"}
    )
    closure = Choice(consignment.Closure)
    pest_signs = Choice(consignment.PestSigns)
    specimens = Int(
        min=0, max=MOST_SPECIMENS, metadata={"description": "in the whole line; left out: nobody has counted"}
    )
    taxa = Text(max_length=1000, metadata={"description": "what is inside, in the sender's own words"})
    condition = Text(max_length=1000, metadata={"description": "how well it is kept, in the sender's own words"})
    identifiers = Identifiers()

    @validates_schema(skip_on_field_errors=True)
    def check_that_counts_agree(self, data: dict[str, Any], **_: Any) -> None:
        """A tray holds no trays, and the trays cannot hold more specimens than the line."""
        if data["container"] is consignment.Container.UNIT_TRAY and data.get("trays"):
            raise ValidationError("A unit tray holds no unit trays; list it as the container.", "trays")
        in_trays = sum(tray.specimens or 0 for tray in data.get("trays", ()))
        if data.get("specimens") is not None and in_trays > data["specimens"]:
            raise ValidationError(
                f"The trays hold {in_trays} specimens, more than the line's {data['specimens']}.", "specimens"
            )

    @validates_schema(skip_on_field_errors=True)
    def check_that_sizes_agree(self, data: dict[str, Any], **_: Any) -> None:
        """Nothing is larger inside than outside, and no pin goes in further than it is long."""
        faults: dict[str, Any] = {}
        for fault in larger_inside("", data.get("outer", Size()), data.get("inner", Size())):
            faults.setdefault("inner", {})[fault.pointer.rsplit("/", 1)[1]] = [fault.detail]
        pins = data.get("pins", consignment.Pins())
        if pins.length is not None and pins.depth is not None and pins.depth.value_nm > pins.length.value_nm:
            faults["pins"] = {"depth": ["The pins would go in further than they are long; one of the two is wrong."]}
        if faults:
            raise ValidationError(faults)
