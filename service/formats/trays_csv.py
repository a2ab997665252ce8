"""The unit trays of a storage system as a spreadsheet: one row a size, the series named in the row of its first."""

from service.formats.cells import read_flag, read_length, read_text, write_length_nm
from service.formats.columns import SIZE, bottom_columns, size_columns
from service.formats.sheet import Sheet
from service.formats.sheet_rows import Column

COLUMNS = (
    Column("series", ("code",), read_text, "names the series; empty adds a size to the series above"),
    Column("series_name", ("name",), read_text, "what the series is called"),
    Column(
        "play_mm",
        ("play_mm",),
        read_length,
        f"room left beside each tray: {SIZE}",
        write_length_nm,
        attribute=("play_nm",),
    ),
    Column("may_turn", ("may_turn",), read_flag, "whether a tray may lie with its label to the side: yes or no"),
    Column("code", ("trays", "code"), read_text, "names the size within the system"),
    Column("name", ("trays", "name"), read_text, "what it is called"),
    *size_columns("outer", ("trays", "outer"), "outside"),
    *size_columns("inner", ("trays", "inner"), "inside"),
    Column("base_mm", ("trays", "base"), read_length, "thickness of its board, under the pinning bottom"),
    *bottom_columns("bottom", ("trays", "bottom")),
)
TRAYS = Sheet("trays", COLUMNS, required=("series", "series_name", "code", "name"), begins="series", parts="trays")
