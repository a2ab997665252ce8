"""What stands where as a spreadsheet, one row a tray with its drawer, cabinet and room; and the sequence of taxa."""

from service.formats.cells import (
    read_length,
    read_list,
    read_number,
    read_text,
    read_whole,
    write_length_nm,
    write_list,
)
from service.formats.columns import SIZE
from service.formats.sheet import Sheet
from service.formats.sheet_rows import Column

#: An inventory of a hundred thousand trays comes in a handful of sheets.
MOST_ROWS = 25_000


def _length(name: str, explained: str) -> Column:
    heading = f"{name}_mm"
    return Column(heading, (heading,), read_length, f"{explained}: {SIZE}", write_length_nm, (f"{name}_nm",))


COLUMNS = (
    Column("room", ("room",), read_text, "code of the room"),
    Column("room_name", ("room_name",), read_text, "what the room is called"),
    Column("cabinet", ("cabinet",), read_text, "code of the cabinet; a new one names its room too"),
    Column("cabinet_name", ("cabinet_name",), read_text, "what the cabinet is called"),
    Column("columns", ("columns",), read_whole, "columns of positions side by side; 1 when empty"),
    Column("positions_per_column", ("positions_per_column",), read_whole, "positions one above the other"),
    Column("takes", ("takes",), read_list, "codes of the drawers that go in, parted by semicolons", write_list),
    _length("opening_width", "clear width of one column of the cabinet"),
    _length("pitch", "from one runner to the next"),
    Column("drawer", ("drawer",), read_text, "code of the drawer that the tray stands in"),
    Column("position", ("position",), read_whole, "of the drawer, from the top of the left column down"),
    Column("positions", ("positions",), read_whole, "that a high drawer takes up; 1 when empty"),
    Column("drawer_label", ("drawer_label",), read_text, "what stands on the drawer"),
    Column("style", ("style",), read_text, "code of the drawer in your storage system"),
    _length("inner_width", "inside of the drawer, side to side"),
    _length("inner_depth", "inside of the drawer, front to back"),
    _length("clear_height", "from what trays stand on to the lid"),
    Column(
        "reserve_percent", ("reserve_percent",), read_number,
        "of this drawer kept free for growth; empty: as your rules have it",
        lambda value: "" if value is None else format(value, "f"),
    ),
    Column("tray", ("tray",), read_text, "code of the tray; empty where there is nothing"),
    Column("place", ("place",), read_whole, "which tray of its drawer, in reading order; empty: behind all"),
    Column("taxon", ("taxon",), read_text, "as your sequence names it"),
    Column("specimens", ("specimens",), read_whole, "how many; empty: nobody has counted"),
    Column("curation_level", ("curation_level",), read_whole, "1 to 8; empty: nobody has judged"),
    Column("label", ("label",), read_text, "what stands on the tray"),
    _length("width", "outside of the tray, side to side with its label at the front"),
    _length("depth", "outside of the tray, front to back"),
    _length("height", "clear height that the tray takes with its pins"),
)  # fmt: skip
INVENTORY = Sheet("arrangement", COLUMNS, required=(), most_rows=MOST_ROWS)

SEQUENCE = Sheet(
    "systematic sequence",
    (
        Column("family", ("family",), read_text, "its name"),
        Column("genus", ("genus",), read_text, "its name; empty in a row for the family as a whole"),
        Column(
            "species", ("species",), read_text,
            "with its genus or the epithet alone; empty in a row for the genus as a whole",
        ),
    ),
    required=("genus",),
    most_rows=100_000,
)  # fmt: skip
