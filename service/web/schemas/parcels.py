"""What an institution packs with, and plans of parcels, as JSON shows them."""

from collections.abc import Callable
from typing import Any, ClassVar

from service.core.consignment import Container
from service.core.handbook.figures import figure
from service.core.materials import Treatment
from service.core.parcels import asking, pieces, stock
from service.core.parcels.pieces import Holds
from service.web.kit.fields import Choice, Code, Flag, Instant, Int, List, Nested, Number, Text, Uuid
from service.web.kit.measures import Length
from service.web.kit.schema import Strict
from service.web.schemas.parts import Handling
from service.web.schemas.transfers import NoticeSchema

MOST_BOXES = 500
MOST_PIECES = 2_000
MOST_G = 10_000_000
LONGEST = 10_000
_LEAST_PADDING = figure("transit.padding_least").as_written


def _mm(name: str, **metadata: str) -> Length:
    return Length(required=True, data_key=f"{name}_mm", metadata=metadata)


class BoxSizeSchema(Strict):
    """Three lengths, with the right side up."""

    makes = stock.Room
    width_nm = _mm("width")
    depth_nm = _mm("depth")
    height_nm = _mm("height")


class StockBoxSchema(Strict):
    """A box or carton of your stock."""

    makes = stock.StockBox
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    inner = Nested(BoxSizeSchema, required=True, metadata={"description": "the free room with the lid on"})
    outer = Nested(BoxSizeSchema, required=True, metadata={"description": "outside, with the lid on"})
    mass_g = Int(min=1, max=MOST_G, metadata={"description": "empty"})
    count = Int(min=0, max=100_000, metadata={"description": "left out: as many as are wanted"})


class CarrierSchema(Strict):
    """Who takes parcels, and the carrier's own terms. What is left out is not checked, and said so."""

    makes = stock.Carrier
    code = Code(required=True)
    name = Text(max_length=200, required=True)
    divisor_cm3_per_kg = Int(
        min=1, max=100_000, metadata={"description": "cubic centimetres that are charged as a kilogram"}
    )
    step_g = Int(min=1, max=MOST_G, metadata={"description": "what is charged is rounded up to whole steps"})
    most_mass_g = Int(min=1, max=MOST_G, metadata={"description": "the heaviest parcel that is taken, in grams"})
    longest_side_nm = Length(data_key="longest_side_mm", metadata={"description": "the longest side that is taken"})
    girth_and_length_nm = Length(
        data_key="girth_and_length_mm", metadata={"description": "the longest side and the way round it together"}
    )


class ContactSchema(Strict):
    """Who is written to or rung up about a parcel."""

    makes = stock.Contact
    name = Text(
        max_length=200, min_length=0, load_default="", metadata={"description": "who, by name; empty: not stated"}
    )
    address = List(
        Text(max_length=200),
        max_items=10,
        load_default=(),
        metadata={"description": "line by line, as on the parcel"},
    )
    telephone = Text(max_length=50, metadata={"description": "where to ring"})
    email = Text(max_length=200, metadata={"description": "where to write"})
    eori = Text(max_length=17, metadata={"description": "number with the customs of the European Union"})


class PackingBenchSchema(Strict):
    """What you pack with. Everything is your own to state; what you leave out is unknown."""

    makes: ClassVar[Callable[..., Any] | None] = stock.PackingBench
    inner_boxes = List(
        Nested(StockBoxSchema),
        max_items=MOST_BOXES,
        load_default=(),
        metadata={"description": "lidded boxes that unit trays travel in"},
    )
    cartons = List(
        Nested(StockBoxSchema), max_items=MOST_BOXES, load_default=(), metadata={"description": "outer boxes"}
    )
    carriers = List(
        Nested(CarrierSchema), max_items=100, load_default=(), metadata={"description": "who takes your parcels"}
    )
    padding_nm = Length(
        data_key="padding_mm",
        metadata={"description": f"on every side; {_LEAST_PADDING} at least, and where it is left out"},
    )
    padding_g_per_l = Int(min=1, max=1_000, metadata={"description": "what a litre of your padding weighs"})
    checked_edition = Text(
        max_length=300, metadata={"description": "the edition of the dangerous goods regulations that you have read"}
    )
    contact = Nested(
        ContactSchema,
        load_default=stock.Contact(),
        metadata={"description": "who answers for your parcels, and where they go"},
    )
    tariff_code = Text(
        max_length=20, metadata={"description": "customs code for preserved specimens in your country's tariff"}
    )


class KeptBenchSchema(PackingBenchSchema):
    """What an institution packs with; version 0 is that of a bench on which nothing was stated yet."""

    makes = None
    institution_id = Uuid(required=True)
    version = Int(min=0, required=True)
    updated_at = Instant()


class FluidSchema(Strict):
    """The liquid in one piece."""

    makes = pieces.Fluid
    inner_count = Int(min=1, max=100_000, metadata={"description": "vials or bags in one piece"})
    millilitres_each = Number(min=0, max=100_000, metadata={"description": "free liquid in the fullest of them"})
    name = Text(max_length=200, metadata={"description": "such as ethanol 75 %"})
    un_number = Text(
        max_length=6,
        pattern=r"^UN[0-9]{4}$",
        like="a number such as UN1170",
        metadata={"description": "its number on the list of dangerous goods, as you state it; left out: unknown"},
    )


class PieceSchema(Strict):
    """Like things to pack. What is left out is unknown."""

    makes = pieces.Piece
    key = Code(required=True, metadata={"description": "your own name for it within this question"})
    container = Choice(Container, required=True)
    count = Int(min=1, max=MOST_PIECES, required=True, metadata={"description": "how many such things there are"})
    lines = List(Code(), max_items=LONGEST, load_default=(), metadata={"description": "the lines that are inside"})
    outer = Nested(BoxSizeSchema, metadata={"description": "one thing's outer size"})
    mass_g = Int(min=1, max=MOST_G, metadata={"description": "one thing's, with what is in it"})
    holds = Choice(Holds)
    heavy_bodied = Flag(metadata={"description": "whether specimens in it have to be braced"})
    fumigants = List(
        Choice(Treatment),
        max_items=30,
        metadata={"description": "chemicals that lie in it now; [] says there are none"},
    )
    fluid = Nested(
        FluidSchema, metadata={"description": "the liquid in one thing; left out with `holds` fluid: unknown"}
    )


class ParcelQuestionSchema(Strict):
    """What is to be packed, as far as the lines do not say it, and by whom it is carried."""

    makes = asking.ParcelQuestion
    pieces = List(
        Nested(PieceSchema),
        max_items=MOST_PIECES,
        load_default=(),
        metadata={
            "description": "what the lines do not say of themselves; lines that a piece names are not asked again"
        },
    )
    carrier = Code(metadata={"description": "one of your packing bench"})
    storage_system_id = Uuid(
        metadata={"description": "whose trays the lines name; left out: the one that the lender has published"}
    )


class PackedSchema(Strict):
    """One thing in its place, from the left front lower corner of what it lies in."""

    piece = Code(metadata={"description": "key of the piece; left out: it is an inner box"})
    number = Int(min=1, max=MOST_PIECES, metadata={"description": "which of the piece's things"})
    inner_box = Int(min=1, max=MOST_PIECES, metadata={"description": "the inner box that it is instead"})
    x_nm = _mm("x")
    y_nm = _mm("y")
    z_nm = _mm("z")
    size = Nested(BoxSizeSchema, required=True, metadata={"description": "as it lies, outside"})


class MassSchema(Strict):
    known_mass_g = Int(
        min=0,
        max=2**53 - 1,
        required=True,
        metadata={"description": "what is known to weigh something, in grams; the rest is named in `mass_unknown`"},
    )
    mass_unknown = List(
        Text(max_length=100), max_items=LONGEST, required=True, metadata={"description": "what else weighs something"}
    )


class InnerBoxSchema(MassSchema):
    """A lidded box with unit trays on its floor, and the card that holds the heads down."""

    number = Int(
        min=1, max=MOST_PIECES, required=True, metadata={"description": "counts the plan's inner boxes from 1"}
    )
    code = Code(metadata={"description": "of your stock; left out: it has to be made"})
    holds = Choice(Holds, required=True)
    inner = Nested(BoxSizeSchema, required=True, metadata={"description": "the free room with the lid on"})
    outer = Nested(BoxSizeSchema, required=True, metadata={"description": "outside"})
    trays = List(
        Nested(PackedSchema),
        max_items=MOST_PIECES,
        required=True,
        metadata={"description": "where each tray stands in it"},
    )
    card_width_nm = _mm("card_width", description="of the card over the heads, side to side, in millimetres")
    card_depth_nm = _mm("card_depth", description="of the card over the heads, front to back, in millimetres")
    braced = Flag(metadata={"description": "whether something in it has to be braced; left out: unknown"})


class FacesSchema(Strict):
    """The padding on each side."""

    left_nm = _mm("left", description="on the left, in millimetres")
    right_nm = _mm("right", description="on the right, in millimetres")
    front_nm = _mm("front", description="in front, in millimetres")
    back_nm = _mm("back", description="behind, in millimetres")
    below_nm = _mm("below", description="below, in millimetres")
    above_nm = _mm("above", description="above, in millimetres")


class ParcelSchema(MassSchema):
    """An outer carton with what is in it."""

    number = Int(min=1, max=MOST_PIECES, required=True, metadata={"description": "counts the plan's parcels from 1"})
    code = Code(metadata={"description": "of your stock; left out: it has to be made"})
    holds = Choice(Holds, required=True)
    inner = Nested(BoxSizeSchema, required=True, metadata={"description": "the free room with the lid on"})
    outer = Nested(BoxSizeSchema, required=True, metadata={"description": "outside"})
    placed = List(
        Nested(PackedSchema),
        max_items=MOST_PIECES,
        required=True,
        metadata={"description": "where each thing stands in it"},
    )
    padding = Nested(FacesSchema, required=True, metadata={"description": "how thick the padding is on each side"})
    is_bound = Flag(required=True, metadata={"description": "whether its contents are bound together"})
    volumetric_g = Int(min=0, max=2**53 - 1, metadata={"description": "volume by the carrier's divisor"})
    chargeable_g = Int(
        min=0, max=2**53 - 1, metadata={"description": "at least; more where something's mass is unknown"}
    )


class NotPackedSchema(Strict):
    """A piece or a line that the plan leaves out."""

    piece = Text(max_length=100, required=True, metadata={"description": "key of the piece or of the line"})
    why = Text(
        max_length=500, required=True, metadata={"description": "which fact is missing, or why it fits nowhere"}
    )


class ParcelPlanSummarySchema(Strict):
    """Which plan this is."""

    id = Uuid(required=True)
    transfer_id = Uuid(required=True)
    made_by = Uuid(required=True, metadata={"description": "the institution from whose bench it is packed"})
    revision = Int(min=1, required=True, metadata={"description": "the transfer's last fact when it was made"})
    parcel_count = Int(min=0, max=MOST_PIECES, required=True, metadata={"description": "parcels that it makes"})
    created_at = Instant(required=True)


class ParcelPlanSchema(ParcelPlanSummarySchema):
    """What lies in which inner box, what stands in which carton, what to do, and what to know before posting."""

    at_least = Int(
        min=0, max=MOST_PIECES, required=True, metadata={"description": "no plan has fewer parcels than this"}
    )
    padding_nm = _mm("padding", description="least padding on every side, in millimetres")
    carrier = Code(metadata={"description": "code of the carrier of your packing bench; left out: none was named"})
    parcels = List(
        Nested(ParcelSchema), max_items=MOST_PIECES, required=True, metadata={"description": "the outer cartons"}
    )
    inner_boxes = List(
        Nested(InnerBoxSchema),
        max_items=MOST_PIECES,
        required=True,
        metadata={"description": "the boxes that trays travel in"},
    )
    instructions = List(
        Text(max_length=2_000), max_items=LONGEST, required=True, metadata={"description": "what to do, step by step"}
    )
    notices = List(
        Nested(NoticeSchema),
        max_items=LONGEST,
        required=True,
        metadata={"description": "what to know before posting"},
    )
    left_out = List(
        Nested(NotPackedSchema),
        max_items=LONGEST,
        required=True,
        metadata={"description": "what the plan does not pack, and why"},
    )
    handling = Handling(required=True)
