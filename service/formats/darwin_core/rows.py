"""The rows of one file, streamed: bytes to text to lines to cells, with every mending noted.

Files are seldom quite what their descriptor says. Bytes that are not of the stated encoding are read as Windows-1252,
which is what they nearly always are; a quote that is never closed is taken for a plain character; a file whose lines
end otherwise than stated is parted where its lines do end.
"""

import codecs
import csv
import re
from collections.abc import Iterator
from typing import BinaryIO

from service.formats.darwin_core.descriptor import UTF_8, TableDescriptor, known_encoding
from service.formats.darwin_core.holder import Limits
from service.formats.darwin_core.report import BadArchive, Report

_PIECE = 64 * 1024
#: A quoted field of so many lines was never meant to be one.
_MOST_LINES_OF_RECORD = 500
_STRAY = re.compile("[\udc80-\udcff]")
#: Stand-ins for what ``csv`` would trip over: halves of surrogate pairs, which no decoded text holds.
_RETURN, _RETURN_AT_END, _LONG_DELIMITER = "\ud800", "\ud801", "\ud802"

Row = tuple[int, list[str]]


def read_rows(stream: BinaryIO, name: str, table: TableDescriptor, limits: Limits, report: Report) -> Iterator[Row]:
    """The cells of each row with the number of the line it begins on, the stated header lines first; other
    blank lines are passed over.
    """
    lines = _Lines(_split(_text(stream, name, table, limits, report), table, limits), name, report)
    delimiter = table.delimiter
    if len(delimiter) > 1:
        lines.stand_in, delimiter = delimiter, _LONG_DELIMITER
    for position, (number, written) in enumerate(_records(lines, delimiter, table.quote)):
        cells = _without_stand_ins(written)
        if position < table.header_lines or any(cells):
            yield number, cells


def _without_stand_ins(cells: list[str]) -> list[str]:
    """The cells as they were written. A return before the line feed, outside of quotes, ends the line."""
    if not cells:
        return cells
    cells[-1] = cells[-1].removesuffix(_RETURN_AT_END)
    return [cell.replace(_RETURN, "\r").replace(_RETURN_AT_END, "\r") for cell in cells]


def encoding_of(stated: str, beginning: bytes, name: str, report: Report) -> str:
    """The encoding to read by: the stated one, unless it is unknown or the file's first bytes say otherwise."""
    known = known_encoding(stated)
    if known is None:
        report.odd("encoding-unknown", name, f"“{stated[:40]}” is no encoding; the file was read as UTF-8.")
    marked = beginning[:2] in {b"\xff\xfe", b"\xfe\xff"}
    if marked and known not in {"utf-16", "utf-32"}:
        report.odd("encoding-wrong", name, f"The file is in UTF-16, not in {stated[:40]} as is stated.")
        return "utf-16"
    return known or UTF_8


def _text(stream: BinaryIO, name: str, table: TableDescriptor, limits: Limits, report: Report) -> Iterator[str]:
    data, total = stream.read(_PIECE), 0
    encoding = encoding_of(table.encoding, data, name, report)
    decoder = codecs.getincrementaldecoder(encoding)("surrogateescape")
    try:
        text = decoder.decode(data).removeprefix("\ufeff")
        while data:
            total += len(data)
            if total > limits.bytes_of_file:
                raise BadArchive(
                    f"“{name}” is larger than {limits.bytes_of_file:,} bytes; that is more than is taken."
                )
            yield text
            data = stream.read(_PIECE)
            text = decoder.decode(data, final=not data)
        yield text
    except UnicodeDecodeError as error:
        raise BadArchive(f"“{name}” is not in {encoding} as is stated, or is damaged.") from error


def _split(pieces: Iterator[str], table: TableDescriptor, limits: Limits) -> Iterator[str]:
    """Lines without what ends them."""
    rest = next(pieces, "")
    line_end = _line_end(table.line_end, rest)
    for piece in pieces:
        *whole, rest = (rest + piece).split(line_end)
        yield from whole
        if len(rest) > limits.characters_of_record:
            raise BadArchive(f"A line is longer than {limits.characters_of_record:,} characters.")
    *whole, rest = rest.split(line_end)
    yield from whole
    if rest:
        yield rest


def _line_end(stated: str, beginning: str) -> str:
    """What really ends the lines. A return before a line feed is taken off later."""
    if stated in {"\n", "\r\n", "\r"}:
        return "\r" if "\r" in beginning and "\n" not in beginning else "\n"
    return stated if stated in beginning else "\n"


class _Lines:
    """Lines with their numbers, that can be given back when a quote turns out never to be closed."""

    def __init__(self, lines: Iterator[str], name: str, report: Report) -> None:
        self._lines, self._name, self._report = lines, name, report
        self._given_back: list[str] = []
        self.stand_in: str | None = None
        self.taken: list[str] = []
        self.number = 0

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> str:
        if len(self.taken) >= _MOST_LINES_OF_RECORD:
            raise _NeverClosed
        line = self._given_back.pop() if self._given_back else self._mended(next(self._lines))
        self.number += 1
        self.taken.append(line)
        return line + "\n"

    def give_back(self) -> str:
        """The first line taken since the last record, with all behind it still to come."""
        first, *others = self.taken
        self._given_back += reversed(others)
        self.number -= len(others)
        self.taken = []
        return first

    def odd(self, kind: str, detail: str) -> None:
        self._report.odd(kind, self._name, detail, self.number)

    def _mended(self, line: str) -> str:
        if "\r" in line:
            at_end = _RETURN_AT_END if line.endswith("\r") else ""
            line = line.removesuffix("\r").replace("\r", _RETURN) + at_end
        number = self.number + 1
        if _STRAY.search(line):
            line = _STRAY.sub(_as_windows, line)
            detail = "Bytes that are not of the stated encoding were read as Windows-1252."
            self._report.odd("encoding-wrong", self._name, detail, number)
        if "\0" in line:
            line = line.replace("\0", "")
            self._report.odd("null-characters", self._name, "Null characters were left out.", number)
        return line if self.stand_in is None else line.replace(self.stand_in, _LONG_DELIMITER)


class _NeverClosed(Exception):
    pass


def _as_windows(found: re.Match[str]) -> str:
    byte = bytes([ord(found[0]) - 0xDC00])
    return byte.decode("cp1252", errors="replace") if byte not in _NOT_WINDOWS else byte.decode("latin-1")


_NOT_WINDOWS = frozenset(bytes([byte]) for byte in (0x81, 0x8D, 0x8F, 0x90, 0x9D))


def _records(lines: _Lines, delimiter: str, quote: str) -> Iterator[Row]:
    if not quote:
        for line in lines:
            lines.taken = []
            yield lines.number, line.removesuffix("\n").split(delimiter)
        return
    while True:
        reader = csv.reader(lines, delimiter=delimiter, quotechar=quote)
        try:
            for cells in reader:
                if _is_open(lines, cells, quote, delimiter):
                    raise _NeverClosed
                number = lines.number - len(lines.taken) + 1
                lines.taken = []
                yield number, cells
            return
        except (_NeverClosed, csv.Error):
            first = lines.give_back()
            lines.odd("quote-never-closed", "A quote is opened and never closed; it was taken for a plain character.")
            yield lines.number, first.split(delimiter)


def _is_open(lines: _Lines, cells: list[str], quote: str, delimiter: str) -> bool:
    """Whether the file ended inside quotes: then the last cell holds the end of the last line too."""
    if not cells or not cells[-1].endswith("\n"):
        return False
    text = [line + "\n" for line in lines.taken]
    try:
        list(csv.reader(text, delimiter=delimiter, quotechar=quote, strict=True))
    except csv.Error as error:
        return "unexpected end" in str(error)
    return False
