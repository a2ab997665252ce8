"""The drawers of a storage system as a spreadsheet: one row a drawer standard."""

from service.formats.cells import read_text, read_word, read_words, write_words
from service.formats.columns import bottom_columns, size_columns
from service.formats.sheet import Sheet
from service.formats.sheet_rows import Column

COLUMNS = (
    Column("code", ("code",), read_text, "names it within the system"),
    Column("name", ("name",), read_text, "what it is called"),
    *size_columns("outer", ("outer",), "outside, lid included"),
    *size_columns("inner", ("inner",), "inside; the height from the bare floor to the underside of the lid"),
    *bottom_columns("lining", ("lining",)),
    Column("wood", ("wood",), read_text, "what it is made of"),
    Column("along_grain", ("along_grain",), read_words, "outer axes along the grain: width, depth", write_words),
    Column("sawing", ("sawing",), read_word, "how the boards were cut: flat or quarter"),
    Column("style", ("style",), read_text, "code of the handbook's drawer style that it follows"),
)
DRAWERS = Sheet("drawers", COLUMNS, required=("code", "name"))
