"""The descriptor of an archive, ``meta.xml``: which files there are, how they are written, what their columns mean.

It is read by the standard library's expat with every document type declaration refused: without one there are no
entities, so that nothing can be fetched, and nothing can swell.
"""

import codecs
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from service.formats.darwin_core.report import BadArchive

_MOST_ELEMENTS = 5_000
_MOST_LEVELS = 10
_ESCAPES = {r"\t": "\t", r"\n": "\n", r"\r": "\r", r"\f": "\f", r"\\": "\\"}
UTF_8 = "utf-8"


@dataclass(frozen=True, slots=True)
class Field:
    """A column, or with no ``index`` a constant. ``default`` also stands in for cells that are empty."""

    term: str
    index: int | None = None
    default: str | None = None


@dataclass(frozen=True, slots=True)
class TableDescriptor:
    """One table: the core, or an extension. ``key`` is the column with the core record's identifier."""

    row_type: str
    files: tuple[str, ...]
    fields: tuple[Field, ...]
    key: int | None = None
    encoding: str = UTF_8
    delimiter: str = ","
    line_end: str = "\n"
    quote: str = '"'
    header_lines: int = 0


@dataclass(frozen=True, slots=True)
class Descriptor:
    """``metadata`` is the name of the file about the data set, if one is named."""

    core: TableDescriptor
    extensions: tuple[TableDescriptor, ...] = ()
    metadata: str | None = None


@dataclass(slots=True)
class _Element:
    name: str
    attributes: Mapping[str, str]
    inside: list["_Element"] = field(default_factory=list)
    text: str = ""

    def each(self, *names: str) -> list["_Element"]:
        return [element for element in self.inside if element.name in names]

    def get(self, name: str, default: str) -> str:
        return self.attributes.get(name.lower(), default)


def read_descriptor(data: bytes) -> Descriptor:
    """The descriptor in a ``meta.xml``.

    :raises BadArchive: when it is no XML, declares a document type, or does not say what the guide demands.
    """
    archive = _parsed(data)
    cores = archive.each("core")
    if archive.name != "archive" or len(cores) != 1:
        raise BadArchive("meta.xml must hold one <archive> with exactly one <core> in it.")
    extensions = tuple(_table(each, needs_key=True) for each in archive.each("extension"))
    core = _table(cores[0], needs_key=bool(extensions))
    return Descriptor(core, extensions, archive.attributes.get("metadata") or None)


def _table(element: _Element, *, needs_key: bool) -> TableDescriptor:
    where = f"<{element.name}>"
    files = tuple(each.text.strip() for group in element.each("files") for each in group.each("location"))
    if not files or not all(files):
        raise BadArchive(f"{where} in meta.xml names no file; it needs <files><location>…</location></files>.")
    if not (row_type := element.get("rowType", "").strip()):
        raise BadArchive(f"{where} in meta.xml has no rowType.")
    keys = element.each("id", "coreid")
    if needs_key and not keys:
        raise BadArchive(f"{where} in meta.xml needs <{'id' if element.name == 'core' else 'coreid'}>.")
    columns = tuple(map(_field, element.each("field")))
    return TableDescriptor(
        row_type,
        files,
        columns,
        _index(keys[0].get("index", "0")) if keys else None,
        element.get("encoding", "UTF-8").strip(),
        _unescaped(element.get("fieldsTerminatedBy", ",")) or ",",
        _unescaped(element.get("linesTerminatedBy", r"\n")) or "\n",
        _quote(element.get("fieldsEnclosedBy", '"')),
        _count(element.get("ignoreHeaderLines", "0")),
    )


def _field(element: _Element) -> Field:
    if not (term := element.get("term", "").strip()):
        raise BadArchive("A <field> in meta.xml names no term.")
    index = element.attributes.get("index")
    return Field(term, None if index is None else _index(index), element.attributes.get("default"))


def _index(written: str) -> int:
    if not re.fullmatch(r"\s*[0-9]{1,4}\s*", written, re.ASCII):
        raise BadArchive(f"“{written}” in meta.xml is no index of a column; the first is 0.")
    return int(written)


def _count(written: str) -> int:
    return _index(written or "0")


def _quote(written: str) -> str:
    quote = _unescaped(written).strip(" ")
    if len(quote) > 1:
        raise BadArchive(f"fields are said to be enclosed by “{written}”; one character does that, or none.")
    return quote


def _unescaped(written: str) -> str:
    """What ``\\t`` and its like stand for; the characters themselves are understood too."""
    return re.sub(r"\\[tnrf\\]", lambda found: _ESCAPES[found[0]], written)


def known_encoding(name: str) -> str | None:
    """Python's name for an encoding of text, or None when it has none."""
    try:
        info = codecs.lookup(name)
    except (LookupError, ValueError):
        return None
    return info.name if getattr(info, "_is_text_encoding", True) else None


def _parsed(data: bytes) -> _Element:
    root = _Element("", {})
    reading = _Reading([root])
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.StartDoctypeDeclHandler = reading.refuse
    parser.StartElementHandler = reading.begin
    parser.EndElementHandler = reading.end
    parser.CharacterDataHandler = reading.hear
    try:
        parser.Parse(data, True)
    except (expat.ExpatError, LookupError, ValueError) as error:
        if isinstance(error, BadArchive):
            raise
        raise BadArchive(f"meta.xml is no well-formed XML: {error}.") from error
    return root.inside[0]


@dataclass(slots=True)
class _Reading:
    """Builds the little tree as expat reads on."""

    path: list[_Element]
    count: int = 0

    def refuse(self, *_: object) -> None:
        raise BadArchive("meta.xml declares a document type (DOCTYPE); take that line out.")

    def begin(self, name: str, attributes: dict[str, str]) -> None:
        self.count += 1
        if self.count > _MOST_ELEMENTS or len(self.path) > _MOST_LEVELS:
            raise BadArchive("meta.xml has more elements or levels than any archive needs.")
        own = {key.lower(): value for key, value in attributes.items() if " " not in key}
        local = name.rsplit(" ", 1)[-1]
        element = _Element(local.lower() if local.lower() in {"coreid", "id"} else local, own)
        self.path[-1].inside.append(element)
        self.path.append(element)

    def end(self, _: str) -> None:
        self.path.pop()

    def hear(self, text: str) -> None:
        self.path[-1].text += text
