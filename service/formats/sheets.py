"""Spreadsheets as text for people to read on: what no program that opens one takes for a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

from service.formats.cells import harmless


def written(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A sheet parted by commas, with a first row of headings; ``None`` is an empty cell."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return stream.getvalue()


def _cell(value: object) -> str:
    return "" if value is None else harmless(value) if isinstance(value, str) else str(value)
