"""The cabinets of a storage system as a spreadsheet: one row a kind of cabinet."""

from service.formats.cells import read_flag, read_length, read_text, read_whole, read_word
from service.formats.columns import SIZE, size_columns
from service.formats.sheet import Sheet
from service.formats.sheet_rows import Column

COLUMNS = (
    Column("code", ("code",), read_text, "names it within the system"),
    Column("name", ("name",), read_text, "what it is called"),
    Column("count", ("count",), read_whole, "how many of this kind"),
    Column("columns", ("columns",), read_whole, "columns of positions side by side"),
    *size_columns("opening", ("opening",), "clear space of one column"),
    Column("pitch_mm", ("pitch",), read_length, f"from one runner to the next above it: {SIZE}"),
    Column("positions_per_column", ("positions_per_column",), read_whole, "drawers one above the other"),
    Column("support", ("support",), read_word, "side_runners or shelf"),
    Column("runner_ledge_mm", ("runner_ledge",), read_length, "how far a runner stands out from the wall"),
    Column("runners_removable", ("runners_removable",), read_flag, "yes or no"),
    Column("doorway", ("doorway",), read_word, "no_door, clears_opening or narrower"),
    Column("door_width_mm", ("door_width",), read_length, "clear width of a narrower doorway"),
    Column("door_height_mm", ("door_height",), read_length, "clear height of a narrower doorway"),
    Column("made_for", ("made_for",), read_text, "code of the drawer that the runners were set for"),
    Column("free_positions", ("free_positions",), read_whole, "in all cabinets of this kind"),
    Column("material", ("material",), read_text, "what the case is made of"),
)
CABINETS = Sheet("cabinets", COLUMNS, required=("code", "name", "count"))
