"""The files of a zip archive while it is written, one after the other."""

import csv
import io
import shutil
import zipfile
from collections.abc import Iterable
from datetime import date
from typing import IO, BinaryIO


def add(packed: zipfile.ZipFile, name: str, made_on: date, content: BinaryIO) -> None:
    """Put a whole file into the archive."""
    content.seek(0)
    with member(packed, name, made_on) as opened:
        shutil.copyfileobj(content, opened)


def member(packed: zipfile.ZipFile, name: str, made_on: date) -> IO[bytes]:
    """A file of the archive to write to. Its date is given, so that the same content makes the same bytes."""
    info = zipfile.ZipInfo(name, (max(made_on.year, 1980), made_on.month, made_on.day, 0, 0, 0))
    info.compress_type = zipfile.ZIP_DEFLATED
    return packed.open(info, "w", force_zip64=True)


class Table:
    """Comma-separated rows in UTF-8 on a binary stream."""

    def __init__(self, stream: IO[bytes], line_end: str = "\n") -> None:
        self._text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
        self._rows = csv.writer(self._text, lineterminator=line_end, quoting=csv.QUOTE_ALL)

    def write(self, cells: Iterable[object]) -> None:
        self._rows.writerow(map(as_text, cells))

    def finish(self) -> None:
        """Let go of the stream, which stays open."""
        self._text.flush()
        self._text.detach()


def as_text(cell: object) -> str:
    """A value as it stands in a table; nothing is an empty cell, and a word of a vocabulary is its text."""
    return "" if cell is None else str(getattr(cell, "value", cell))
