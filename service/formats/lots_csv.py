"""Lots as a spreadsheet: one row a lot, with who holds it and who owns it."""

from dataclasses import replace

from service.core.lots import Lot
from service.formats.cells import read_text
from service.formats.sheet import Sheet, Written
from service.formats.sheet_rows import Column, Row
from service.formats.transfer_lines_csv import COLUMNS as LINE_COLUMNS


def _of_line(column: Column) -> Column:
    return replace(column, path=("line", *column.path))


COLUMNS = (
    Column("record", ("record",), read_text, "its identifier in your own database"),
    *map(_of_line, LINE_COLUMNS),
    Column("institution_code", ("institution",), read_text, "code of the institution that holds it"),
    Column(
        "institution_id", ("institution_identifier",), read_text, "identifier of that institution, such as its ROR"
    ),
    Column("owner_institution_code", ("owner",), read_text, "code of the institution that it belongs to"),
    Column("collection_code", ("collection",), read_text, "code of the collection within the institution"),
    Column(
        "disposition",
        ("disposition",),
        lambda cell: cell.lower(),
        "in collection, on loan, missing, used up, destroyed or deaccessioned",
    ),
)
LOTS = Sheet("lots", COLUMNS, required=("count",))


def read_lots(data: bytes) -> list[Row]:
    """The rows of a sheet of lots; a lot without a key is named by its number.

    :raises BadSheet: when there is no row to speak of: not UTF-8, unknown headings, too long.
    """
    rows = LOTS.read(data)
    for row in rows:
        row.request.setdefault("line", {}).setdefault("key", str(row.number - 1))
    return rows


def write_lots(lots: list[Lot]) -> Written:
    """The lots as a sheet; loans, permits and what else was told have no columns, and are named as left out."""
    return LOTS.write(lots)
