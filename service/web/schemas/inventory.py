"""What stands where, as JSON shows it."""

from service.core.arrangement.inventory import MovingRates, ReadingOrder
from service.core.arrangement.inventory_row import InventoryRow
from service.core.arrangement.rules import ArrangementRules
from service.web.kit.fields import Choice, Code, Flag, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.measures import Length
from service.web.kit.schema import Strict, takes_back
from service.web.schemas.parts import Handling, Quantity

MOST_PLACES = 100_000
MOST_SPECIMENS = 10_000_000
MOST_ROWS = 1_000
MOST_MOVES = 500
LONGEST_NAME, LONGEST_LABEL = 200, 300


def length(name: str, description: str, *, required: bool = False) -> Length:
    return Length(data_key=f"{name}_mm", required=required, metadata={"description": description})


def person() -> Text:
    return Text(max_length=LONGEST_NAME, required=True, metadata={"description": "the person who does it"})


def _own_code(what: str) -> Code:
    return Code(required=True, metadata={"description": f"your own; each of your {what} has another"})


def _walk_order() -> Int:
    return Int(
        min=0, max=1_000_000, load_default=0,
        metadata={"description": "when one comes to it on a walk through the collection; those alike: by code"},
    )  # fmt: skip


class Kept(Strict):
    """What every thing has that is kept."""

    id = Uuid(required=True)
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class RoomFields(Strict):
    code = _own_code("rooms")
    name = Text(max_length=LONGEST_NAME, required=True)
    walk_order = _walk_order()


class NewRoomSchema(RoomFields):
    """A room with cabinets in it."""


class KeptRoomSchema(Kept, RoomFields):
    """A room as it is kept."""


@takes_back(KeptRoomSchema)
class RoomChangeSchema(RoomFields):
    """What is said of a room."""


class CabinetFields(Strict):
    code = _own_code("cabinets")
    name = Text(max_length=LONGEST_NAME, required=True)
    room = Code(required=True, metadata={"description": "code of its room"})
    walk_order = _walk_order()
    column_count = Int(
        min=1, max=20, load_default=1, data_key="columns", metadata={"description": "of positions side by side"}
    )
    positions_per_column = Int(
        min=1, max=500, required=True, metadata={"description": "drawer positions one above the other in one column"}
    )
    takes = List(
        Code(), max_items=50, load_default=(),
        metadata={"description": "codes of the drawers that go in; none stated: unknown"},
    )  # fmt: skip
    opening_width_nm = Length(
        data_key="opening_width_mm",
        load_default=None,
        metadata={"description": "clear width of one column, for drawings"},
    )
    pitch_nm = Length(
        data_key="pitch_mm", load_default=None, metadata={"description": "from one runner to the next, for drawings"}
    )


class NewCabinetSchema(CabinetFields):
    """A cabinet, all of whose positions are empty."""


class KeptCabinetSchema(Kept, CabinetFields):
    """A cabinet as it is kept. Positions count from the top of the left column down, column by column."""


@takes_back(KeptCabinetSchema)
class CabinetChangeSchema(CabinetFields):
    """What is said of a cabinet. A position that it is to have no more must be empty."""


class DrawerFields(Strict):
    code = _own_code("drawers")
    label = Text(max_length=LONGEST_LABEL, min_length=0, load_default="")
    style = Code(required=True, metadata={"description": "code of the drawer in your storage system"})
    inner_width_nm = length("inner_width", "inside, side to side", required=True)
    inner_depth_nm = length("inner_depth", "inside, front to back", required=True)
    clear_height_nm = Length(
        data_key="clear_height_mm",
        load_default=None,
        metadata={"description": "from what trays stand on to the lid; left out: unknown"},
    )
    reserve_percent = Quantity(
        min=0, max=90, load_default=None,
        metadata={"description": "of its inside kept free for growth; left out: as your rules have it"},
    )  # fmt: skip
    cabinet = Code(load_default=None, metadata={"description": "code of its cabinet; left out: in none"})
    position = Int(
        min=1, max=10_000, load_default=None, metadata={"description": "from the top of the left column down"}
    )
    positions = Int(
        min=1, max=50, load_default=1, metadata={"description": "that a high drawer takes up, one below the other"}
    )


class NewDrawerSchema(DrawerFields):
    """A drawer with nothing in it yet."""


class KeptDrawerSchema(Kept, DrawerFields):
    """A drawer as it is kept."""


@takes_back(KeptDrawerSchema)
class DrawerChangeSchema(DrawerFields):
    """What is said of a drawer; another position moves it with all that is in it."""


class TrayFields(Strict):
    code = _own_code("trays")
    taxon = Text(
        max_length=LONGEST_NAME, min_length=0, load_default="",
        metadata={"description": "as your systematic sequence names it"},
    )  # fmt: skip
    label = Text(max_length=LONGEST_LABEL, min_length=0, load_default="")
    specimens = Int(
        min=0, max=MOST_SPECIMENS, load_default=None, metadata={"description": "left out: nobody has counted"}
    )
    curation_level = Int(
        min=1, max=8, load_default=None,
        metadata={"description": "on McGinley's scale in its eight levels; left out: nobody has judged"},
    )  # fmt: skip
    width_nm = length("width", "outside, side to side with its label at the front", required=True)
    depth_nm = length("depth", "outside, front to back", required=True)
    height_nm = Length(
        data_key="height_mm",
        load_default=None,
        metadata={"description": "clear height that it takes with its pins; left out: unknown"},
    )


class Placed(Strict):
    drawer = Code(load_default=None, metadata={"description": "code of its drawer; left out: it has no place yet"})
    place = Int(
        min=1, max=MOST_PLACES, load_default=None,
        metadata={"description": "the how-manieth tray of its drawer, in reading order"},
    )  # fmt: skip


class NewTraySchema(TrayFields, Placed):
    """A tray. In a drawer without a place it stands behind what is there."""


class KeptTraySchema(Kept, TrayFields, Placed):
    """A tray as it is kept."""


class OneTraySchema(KeptTraySchema):
    """One tray, with what to mind when handling it."""

    handling = Handling(required=True)


@takes_back(OneTraySchema)
class TrayChangeSchema(TrayFields):
    """What is said of a tray. Its place is not changed by this but by a move."""


class WantedTrayMoveSchema(Strict):
    """A tray, and where it goes."""

    tray = Code(required=True, metadata={"description": "code of the tray"})
    drawer = Code(metadata={"description": "left out: out of its drawer, onto a bench"})
    place = Int(min=1, max=MOST_PLACES, metadata={"description": "one that is free; left out: behind all"})
    after = Code(metadata={"description": "the tray that it follows; those behind make room"})
    from_drawer = Code(metadata={"description": "where you believe it to stand; refused if it stands elsewhere"})


class WantedMovesSchema(Strict):
    """Moves, one after the other: all of them or none."""

    by = person()
    moves = List(
        Nested(WantedTrayMoveSchema),
        min_items=1,
        max_items=MOST_MOVES,
        required=True,
        metadata={"description": "in the order in which they are made"},
    )


class CarriedSchema(Strict):
    """A tray that was carried. Without a drawer on either side: from or to nowhere in particular."""

    tray = Code(required=True, metadata={"description": "code of the tray"})
    from_drawer = Code(metadata={"description": "code of the drawer that it was in; left out: in none"})
    from_place = Int(
        min=1, max=MOST_PLACES, metadata={"description": "which tray of that drawer it was, in reading order"}
    )
    to_drawer = Code(metadata={"description": "code of the drawer that it went into; left out: into none"})
    to_place = Int(
        min=1, max=MOST_PLACES, metadata={"description": "which tray of that drawer it was then, in reading order"}
    )


class TrayMoveSchema(CarriedSchema):
    """A move as it was written down, which never changes."""

    id = Uuid(required=True)
    moved_by = Text(max_length=LONGEST_NAME, required=True, metadata={"description": "the person who carried it"})
    plan_id = Uuid(metadata={"description": "the arrangement plan that it was a step of"})
    step = Int(min=1, max=10_000_000, metadata={"description": "number of the step in that plan's walking list"})
    created_at = Instant(required=True)


class MovesDoneSchema(Strict):
    """What was carried."""

    moves = List(
        Nested(CarriedSchema),
        max_items=MOST_MOVES,
        required=True,
        metadata={"description": "what was carried, in the order of the request"},
    )


class InventoryRowSchema(Strict):
    """A tray with its drawer, cabinet and room; or one of these without what stands in it."""

    makes = InventoryRow
    room = Code(metadata={"description": "code of the room"})
    room_name = Text(max_length=LONGEST_NAME, metadata={"description": "what people call the room"})
    cabinet = Code(metadata={"description": "code of the cabinet"})
    cabinet_name = Text(max_length=LONGEST_NAME, metadata={"description": "what people call the cabinet"})
    columns = Int(min=1, max=20, metadata={"description": "columns of positions side by side in the cabinet"})
    positions_per_column = Int(
        min=1, max=500, metadata={"description": "drawer positions one above the other in one column"}
    )
    takes = List(Code(), max_items=50, metadata={"description": "codes of the drawers that go into the cabinet"})
    opening_width_nm = length("opening_width", "clear width of one column of the cabinet")
    pitch_nm = length("pitch", "from one runner of the cabinet to the next")
    drawer = Code(metadata={"description": "code of the drawer"})
    position = Int(
        min=1,
        max=10_000,
        metadata={"description": "of the drawer in its cabinet, from the top of the left column down"},
    )
    positions = Int(min=1, max=50, metadata={"description": "that a high drawer takes up, one below the other"})
    drawer_label = Text(max_length=LONGEST_LABEL, metadata={"description": "what stands on the drawer"})
    style = Code(metadata={"description": "code of the drawer in your storage system"})
    inner_width_nm = length("inner_width", "inside of the drawer, side to side")
    inner_depth_nm = length("inner_depth", "inside of the drawer, front to back")
    clear_height_nm = length("clear_height", "from what trays stand on to the lid")
    reserve_percent = Quantity(min=0, max=90, metadata={"description": "of the drawer's inside kept free for growth"})
    tray = Code(metadata={"description": "code of the tray"})
    place = Int(
        min=1, max=MOST_PLACES, metadata={"description": "the how-manieth tray of its drawer, in reading order"}
    )
    taxon = Text(max_length=LONGEST_NAME, metadata={"description": "as your systematic sequence names it"})
    specimens = Int(min=0, max=MOST_SPECIMENS, metadata={"description": "in the tray"})
    curation_level = Int(
        min=1, max=8, metadata={"description": "of the tray, on McGinley's scale in its eight levels"}
    )
    label = Text(max_length=LONGEST_LABEL, metadata={"description": "what stands on the tray"})
    width_nm = length("width", "outside of the tray, side to side")
    depth_nm = length("depth", "outside of the tray, front to back")
    height_nm = length("height", "clear height that the tray takes with its pins")


class InventoryRowsSchema(Strict):
    """Rows to take in: what is new is made, what is known is changed where a row says so."""

    by = person()
    rows = List(
        Nested(InventoryRowSchema),
        min_items=1,
        max_items=MOST_ROWS,
        required=True,
        metadata={"description": "in any order"},
    )


def _count(description: str) -> Int:
    return Int(min=0, max=1_000_000, required=True, metadata={"description": description})


class InventoryReceiptSchema(Strict):
    """What became of the rows."""

    rooms_made = _count("rooms that were new")
    cabinets_made = _count("cabinets that were new")
    drawers_made = _count("drawers that were new")
    trays_made = _count("trays that were new")
    changed = _count("things of any kind that were known and say otherwise now")
    moved = _count("trays that stand elsewhere now")


class SequenceRowSchema(Strict):
    """One place in the sequence: a species, or a genus or a family as a whole."""

    position = Int(min=1, max=1_000_000, required=True)
    family = Text(max_length=100, min_length=0, required=True, metadata={"description": "empty: not given"})
    genus = Text(
        max_length=100, min_length=0, required=True, metadata={"description": "empty: the family as a whole"}
    )
    species = Text(
        max_length=100, min_length=0, required=True, metadata={"description": "empty: the genus or family as a whole"}
    )
    name = Text(max_length=LONGEST_NAME, required=True, metadata={"description": "what stands on its trays"})


class NewSequenceRowSchema(Strict):
    """A row of an upload."""

    family = Text(max_length=100, min_length=0, load_default="", metadata={"description": "empty: not given"})
    genus = Text(
        max_length=100, min_length=0, load_default="", metadata={"description": "empty: the family as a whole"}
    )
    species = Text(
        max_length=100,
        min_length=0,
        load_default="",
        metadata={"description": "empty: the genus or family as a whole"},
    )


class SequenceReceiptSchema(Strict):
    """What became of an uploaded sequence."""

    taxa = _count("places in the sequence")
    not_in_sequence = List(
        Text(max_length=LONGEST_NAME), max_items=1_000, required=True,
        metadata={"description": "taxa on your trays that the sequence has no place for; the first thousand"},
    )  # fmt: skip


class MovingRatesSchema(Strict):
    """How fast your people work, and what an hour costs. What is left out is unknown."""

    makes = MovingRates
    trays_moved_per_h = Quantity(
        min=0.1, max=100_000, metadata={"description": "from one drawer to another, both open on the bench"}
    )
    drawers_handled_per_h = Quantity(
        min=0.1, max=100_000, metadata={"description": "fetched, opened, closed and put back"}
    )
    person_hour = Quantity(
        min=0, max=100_000, metadata={"description": "what an hour of one person's work costs; left out: unknown"}
    )
    currency = Text(max_length=3, pattern="^[A-Z]{3}$", like="three capital letters (ISO 4217), such as EUR")


class RulesFields(Strict):
    reading_order = Choice(
        ReadingOrder, load_default=ReadingOrder.COLUMNS,
        metadata={
            "description": "columns from the back to the front, or rows from left to right; narrower trays stand side"
            " by side in a column, such as two halves below a whole, where that saves room"
        },
    )  # fmt: skip
    reserve_percent = Quantity(
        min=0, max=90, load_default=None,
        metadata={"description": "of each drawer's inside kept free for growth; left out: not stated"},
    )  # fmt: skip
    play_nm = Length(
        data_key="play_mm", load_default=0, metadata={"description": "room beside each tray, so that it lifts out"}
    )
    alphabetical = Flag(
        load_default=False,
        metadata={"description": "taxa follow the alphabet, and not a sequence that you upload"},
    )
    bench_places = Int(
        min=0, max=1_000, load_default=0, metadata={"description": "trays that may wait on a bench while others move"}
    )
    rates = Nested(
        MovingRatesSchema,
        load_default=MovingRates(),
        metadata={"description": "how fast your people work, and what it costs"},
    )


class RulesSchema(RulesFields):
    """The order that you keep, and how. Rules that were never settled are the usual ones, at version 0."""

    version = Int(min=0, required=True)
    updated_at = Instant()


@takes_back(RulesSchema)
class RulesChangeSchema(RulesFields):
    """What you settle."""

    makes = ArrangementRules


class LevelCountSchema(Strict):
    """Units at one level."""

    level = Int(min=1, max=8, required=True, metadata={"description": "on McGinley's scale, 1 to 8"})
    units = _count("how many")


def _index(description: str) -> Quantity:
    return Quantity(min=0, max=1, metadata={"description": description})


class CollectionHealthSchema(Strict):
    """How well a part of the collection is kept: levels of curation counted, and the health index over them."""

    code = Code(metadata={"description": "of the drawer, cabinet or room; left out: the whole collection"})
    levels = List(
        Nested(LevelCountSchema),
        max_items=8,
        required=True,
        metadata={"description": "units at each level that occurs"},
    )
    units = _count("trays of a drawer, or drawers that have trays")
    units_of_unknown_level = _count("those that nobody has judged, or not all of it")
    trays = _count("trays in drawers")
    specimens = Int(min=0, required=True, metadata={"description": "as far as they are counted"})
    not_counted = _count("trays whose specimens nobody has counted")
    health_index = _index("left out: unknown, because the level of a unit is")
    health_index_at_least = _index("were all units of unknown level unsound")
    health_index_at_most = _index("were they all sound")
