"""Reading an archive: record by record, each with its extension rows, and a report that grows along."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from service.formats.darwin_core.descriptor import (
    UTF_8,
    Descriptor,
    Field,
    TableDescriptor,
    known_encoding,
    read_descriptor,
)
from service.formats.darwin_core.holder import Holder, Limits, opened
from service.formats.darwin_core.report import BadArchive, Report, TableReport
from service.formats.darwin_core.rows import Row, read_rows
from service.formats.darwin_core.shelf import Shelf
from service.formats.darwin_core.terms import OCCURRENCE, short, term_of_heading

DESCRIPTOR = "meta.xml"
_TABLES = (".csv", ".txt", ".tsv", ".tab")

Values = dict[str, str]


@dataclass(frozen=True, slots=True)
class Record:
    """One record of the core. ``number`` is the line it begins on; ``values`` hold what is not empty, by the short
    names of ``terms.short``; ``extensions`` the rows that belong to it, by their row types.
    """

    number: int
    id: str | None
    values: Values
    extensions: dict[str, list[Values]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Archive:
    """An open archive. ``report`` is complete when ``records`` has come to its end."""

    descriptor: Descriptor
    report: Report
    _holder: Holder
    _limits: Limits

    def records(self) -> Iterator[Record]:
        """The records of the core, streamed.

        :raises BadArchive: when a file is missing or damaged, or a limit is passed.
        """
        core, extensions = self.descriptor.core, self.descriptor.extensions
        read = _Table(core, self._holder, self._limits, self.report)
        with closing(Shelf()) as shelf:
            for kind, extension in enumerate(extensions):
                self._put(kind, extension, shelf)
            for number, key, values in read.records():
                if key and not shelf.is_new(key):
                    read.odd(
                        "identifier-twice", f"The identifier “{key[:100]}” stands in more than one record.", number
                    )
                found: dict[str, list[Values]] = {}
                for kind, said in shelf.of(key) if key and extensions else ():
                    found.setdefault(extensions[kind].row_type, []).append(said)
                yield Record(number, key, values, found)
            for kind, number in shelf.orphans():
                detail = "Its core record is not in the archive."
                self.report.odd("orphan", extensions[kind].files[0], detail, number)

    def _put(self, kind: int, extension: TableDescriptor, shelf: Shelf) -> None:
        table = _Table(extension, self._holder, self._limits, self.report)
        missing = [name for name in extension.files if not _is_there(self._holder, name)]
        for name in missing:
            self.report.odd("file-missing", name, "The descriptor names a file that is not in the archive.")
        if missing:
            return
        for number, key, values in table.records():
            if key is None:
                table.odd("no-identifier", "The row does not say to which record it belongs.", number)
            else:
                shelf.put(kind, key, number, values)


@contextmanager
def open_archive(source: Path | BinaryIO, limits: Limits | None = None) -> Iterator[Archive]:
    """Open an archive: a folder, or a zip file on disk or in memory.

    :raises BadArchive: when it cannot be read, with a sentence for whoever made it.
    """
    limits = limits or Limits()
    with opened(source, limits) as holder:
        report = Report()
        yield Archive(_descriptor(holder, limits, report), report, holder, limits)


def _is_there(holder: Holder, name: str) -> bool:
    try:
        holder.open(name).close()
    except BadArchive as error:
        if "leads out" in str(error):
            raise
        return False
    return True


def _descriptor(holder: Holder, limits: Limits, report: Report) -> Descriptor:
    named = next((name for name in holder.names() if name.lower() == DESCRIPTOR), None)
    if named is None:
        return _guessed(holder, report)
    with holder.open(named) as stream:
        data = stream.read(limits.bytes_of_descriptor + 1)
    if len(data) > limits.bytes_of_descriptor:
        raise BadArchive(f"meta.xml is larger than {limits.bytes_of_descriptor:,} bytes.")
    descriptor = read_descriptor(data)
    if descriptor.metadata and "://" not in descriptor.metadata and not _is_there(holder, descriptor.metadata):
        report.odd("metadata-missing", descriptor.metadata, "The file about the data set is not in the archive.")
    return descriptor


def _guessed(holder: Holder, report: Report) -> Descriptor:
    """Without a descriptor: one table whose first row names the terms (text guide, section 1.1)."""
    tables = [name for name in holder.names() if name.lower().endswith(_TABLES)]
    likely = [name for name in tables if name.lower().startswith("occurrence")] if len(tables) > 1 else tables
    if len(likely) != 1:
        raise BadArchive(
            "The archive has no meta.xml and not exactly one table; add a meta.xml that names its files."
        )
    report.odd("no-descriptor", likely[0], "There is no meta.xml; the first row was read as the names of terms.")
    with holder.open(likely[0]) as stream:
        beginning = stream.read(64 * 1024)
    utf_16 = beginning[:2] in {b"\xff\xfe", b"\xfe\xff"}
    text = beginning.decode("utf-16" if utf_16 else "utf-8-sig", errors="replace")
    header = text.replace("\r", "\n").split("\n", 1)[0]
    delimiter = max(",\t;|", key=header.count)
    names = [heading.strip().strip('"') for heading in header.split(delimiter)]
    columns = tuple(Field(term_of_heading(name), index) for index, name in enumerate(names) if name)
    encoding = "utf-16" if utf_16 else UTF_8
    return Descriptor(TableDescriptor(OCCURRENCE, (likely[0],), columns, None, encoding, delimiter, header_lines=1))


class _Table:
    """One table of the archive while it is read."""

    def __init__(self, table: TableDescriptor, holder: Holder, limits: Limits, report: Report) -> None:
        self._table, self._holder, self._limits, self._report = table, holder, limits, report
        encoding = known_encoding(table.encoding) or UTF_8
        self._told = TableReport(table.files[0], table.row_type, encoding)
        report.tables.append(self._told)
        self._columns = [(each.index, short(each.term), each.default or "") for each in table.fields]
        indexes = [index for index, _, _ in self._columns if index is not None]
        self._width = max([*indexes, table.key or 0], default=0) + 1
        self._file = table.files[0]
        self._note_columns()

    def odd(self, kind: str, detail: str, number: int | None = None) -> None:
        self._report.odd(kind, self._file, detail, number)

    def records(self) -> Iterator[tuple[int, str | None, Values]]:
        for name in self._table.files:
            self._file = name
            with self._holder.open(name) as stream:
                for number, cells in self._rows(read_rows(stream, name, self._table, self._limits, self._report)):
                    yield number, self._key(cells), self._values(number, cells)

    def _rows(self, rows: Iterator[Row]) -> Iterator[Row]:
        header = list(islice(rows, self._table.header_lines))
        if header:
            self._compare_headings(header[-1][1])
        elif (first := next(rows, None)) is not None:
            if self._is_heading(first[1]):
                self.odd("heading-not-stated", "The first row holds the names of terms; it was not read as a record.")
            else:
                yield first
        yield from rows

    def _key(self, cells: list[str]) -> str | None:
        index = self._table.key
        return (cells[index].strip() or None) if index is not None and index < len(cells) else None

    def _values(self, number: int, cells: list[str]) -> Values:
        self._told.records += 1
        if self._told.records > self._limits.rows:
            raise BadArchive(f"“{self._file}” has more than {self._limits.rows:,} rows; part the archive.")
        if len(cells) < self._width:
            self.odd("short-row", f"The row has {len(cells)} cells, and {self._width} columns are described.", number)
        values: Values = {}
        for index, term, default in self._columns:
            cell = cells[index] if index is not None and index < len(cells) else ""
            said = cell if cell.strip() else default
            if said and term not in values:
                values[term] = said
        self._told.filled.update(values.keys())
        return values

    def _note_columns(self) -> None:
        terms = [term for _, term, _ in self._columns]
        for term in sorted({term for term in terms if terms.count(term) > 1}):
            self.odd("term-twice", f"The term {term} is described twice; the first value that is there was taken.")
        for index, term, default in self._columns:
            if index is None and not default:
                self.odd("column-without-source", f"The term {term} has neither a column nor a default.")

    def _names(self) -> dict[int, str]:
        """What each described column would be headed, in small letters."""
        return {index: _last_part(term) for index, term, _ in self._columns if index is not None}

    def _is_heading(self, cells: list[str]) -> bool:
        names = self._names()
        alike = sum(index < len(cells) and _last_part(cells[index]) == name for index, name in names.items())
        return alike * 2 > len(names)

    def _compare_headings(self, cells: list[str]) -> None:
        if len(cells) > self._width:
            self.odd("column-not-described", f"The file has {len(cells)} columns; {self._width} are described.")
        for index, name in self._names().items():
            heading = cells[index] if index < len(cells) else ""
            if _last_part(heading) != name:
                detail = f"Column {index + 1} is headed “{heading[:60]}” and described as {name}."
                self.odd("heading-differs", detail)


def _last_part(term: str) -> str:
    """``catalognumber`` of a term or a heading, however it is written."""
    return term.strip().rstrip("/#").replace("#", "/").replace(":", "/").rsplit("/", 1)[-1].lower()
