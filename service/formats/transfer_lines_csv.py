"""The lines of a transfer as a spreadsheet: one row a lot, any of the usual spreadsheet dialects."""

from collections.abc import Iterable, Sequence

from service.core.transfers.lines import Line
from service.formats.cells import (
    read_length,
    read_list,
    read_text,
    read_whole,
    read_word,
    read_words,
    write_list,
    write_words,
)
from service.formats.sheet import Sheet
from service.formats.sheet_rows import Column, Row

COLUMNS = (
    Column("key", ("key",), read_text, "names the line within its transfer; its number when empty"),
    Column("count", ("count",), read_whole, "how many"),
    Column("taxon", ("taxon",), read_text, "what they are"),
    Column("counted", ("counted",), read_word, "what is counted: specimen, unit_tray, drawer or storage_box"),
    Column("groups", ("groups",), read_list, "order, superfamily, family; separated by semicolons", write_list),
    Column("preparation", ("preparation",), read_word, "pinned, pointed, carded, spread, papered, slide, ..."),
    Column("type_status", ("type_status",), read_word, "holotype, paratype, ...; not_a_type says that it is none"),
    Column("storage", ("storage",), read_word, "what they travel in: drawer, unit_tray or storage_box"),
    Column("storage_count", ("storage_count",), read_whole, "in how many of these"),
    Column("tray", ("tray",), read_text, "code of a unit tray in the lender's storage system"),
    Column("condition", ("condition",), read_whole, "1 unstable, 2 degraded but stable, 3 stable, 4 optimal"),
    Column("remarks", ("remarks",), read_text, "anything that helps to find them"),
    Column("catalogue_numbers", ("catalogue_numbers",), read_list, "separated by semicolons", write_list),
    Column("identifiers", ("identifiers",), read_list, "resolvable names given elsewhere", write_list),
    Column("held", ("held",), read_whole, "how many of the taxon the lender holds in all"),
    Column("pin_length_mm", ("pins", "length"), read_length, "the longest pin"),
    Column("pin_depth_mm", ("pins", "depth"), read_length, "how far pins go into the bottom"),
    Column("pin_metal", ("pins", "metal"), read_word, "stainless_steel, black_steel, brass, ..."),
    Column(
        "treatments_used",
        ("treatments_used",),
        read_words,
        "separated by commas; none when none were used",
        write_words,
    ),
)
#: How a line stands, for people to read: what was lent is its count, and the rest the ledger says.
STANDING = (
    "lent", "returned", "retained", "passed_on", "consumed", "lost", "outstanding", "due_on", "overdue_by_days",
)  # fmt: skip
TRANSFER_LINES = Sheet("transfer lines", COLUMNS, required=("count",), passed_over=STANDING)


def read_lines(data: bytes) -> list[Row]:
    """The rows of a sheet; a row without a key is named by its number.

    :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
    """
    rows = TRANSFER_LINES.read(data)
    for row in rows:
        row.request.setdefault("key", str(row.number - 1))
    return rows


def write_lines(lines: Iterable[Line], further: Sequence[str] = (), values: Iterable[Iterable[object]] = ()) -> str:
    """The sheet of some lines, with further columns behind."""
    return TRANSFER_LINES.write(lines, further, values).text
