"""What a housing plan is asked for as a spreadsheet: trays by their size, or taxa by their specimens."""

from service.formats.cells import read_flag, read_length, read_text, read_whole, write_length_nm
from service.formats.columns import SIZE
from service.formats.sheet import Column, Sheet


def _length(axis: str, explained: str) -> Column:
    heading = f"{axis}_mm"
    return Column(heading, (heading,), read_length, explained, write_length_nm, attribute=(f"{axis}_nm",))


WANTED_TRAYS = Sheet(
    "wanted trays",
    (
        Column("code", ("code",), read_text, "names the size; that of one of your own trays fills in its measures"),
        Column("count", ("count",), read_whole, "how many"),
        _length("width", f"outside, side to side with the label at the front: {SIZE}"),
        _length("depth", f"outside, front to back: {SIZE}"),
        _length("height", f"clear height that it takes with its pins: {SIZE}"),
        Column("label", ("label",), read_text, "what stands on the tray"),
        Column("may_turn", ("may_turn",), read_flag, "whether its label may face the side: yes or no"),
        Column("together", ("together",), read_text, "trays with the same word here stand in one drawer"),
    ),
    required=("code", "count"),
)

WANTED_TAXA = Sheet(
    "wanted taxa",
    (
        Column("taxon", ("taxon",), read_text, "its name"),
        Column("specimens", ("specimens",), read_whole, "how many there are"),
    ),
    required=("taxon", "specimens"),
)
