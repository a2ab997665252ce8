"""Spreadsheets as text: reading what any of the usual programs saves, and writing what none of them mistakes."""

import csv
import io
from collections.abc import Iterable, Sequence

#: A cell that begins so is taken for a formula by programs that open the sheet (OWASP, “CSV Injection”).
_BEGINS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_GUARD = "'"


def written(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A sheet parted by commas, with a first row of headings; ``None`` is an empty cell."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return stream.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    text = str(value)
    return _GUARD + text if isinstance(value, str) and text.startswith(_BEGINS_A_FORMULA) else text


def unguarded(cell: str) -> str:
    """A cell as it was before :func:`written` made it safe."""
    guarded = cell.startswith(_GUARD) and cell[1:].startswith(_BEGINS_A_FORMULA)
    return cell[1:] if guarded else cell
