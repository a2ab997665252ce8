"""From the bytes of a sheet to its rows of cells, in any of the usual spreadsheet dialects."""

import csv
import io
import re

from service.formats.sheet_rows import BadCell, BadSheet


def decoded(data: bytes) -> str:
    """The text of a sheet in UTF-8, or in UTF-16 if its byte-order mark says so.

    :raises BadSheet: for anything else.
    """
    encoding = "utf-16" if data[:2] in {b"\xff\xfe", b"\xfe\xff"} else "utf-8-sig"
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        raise BadSheet(BadCell(row, None, "The sheet is not in UTF-8; save it as “CSV UTF-8”.")) from error
    if "\0" in text:
        raise BadSheet(BadCell(1, None, "The sheet holds null bytes; save it as “CSV UTF-8”, not as a workbook."))
    return text


def lines_of(text: str) -> tuple[int, list[list[str]]]:
    """The number of the row of headings, and all rows from it on."""
    named = re.match(r"sep=(.)\r?\n", text, re.IGNORECASE)
    first, body = (2, text[named.end() :]) if named else (1, text)
    delimiter = named[1] if named else _delimiter(body)
    lines = list(csv.reader(io.StringIO(body, newline=""), delimiter=delimiter, strict=False))
    while lines and not any(cell.strip() for cell in lines[0]):
        lines.pop(0)
        first += 1
    if not lines:
        raise BadSheet(BadCell(1, None, "The sheet is empty; its first row must hold the headings."))
    return first, lines


def _delimiter(text: str) -> str:
    """The separator that occurs most in the row of headings, none of which holds any."""
    header = text.lstrip("\r\n").split("\n", 1)[0]
    return max(",;\t", key=header.count)
