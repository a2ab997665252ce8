"""What stands on one paper, block by block.

A paper is laid out from its content and from nothing else, so two contents that are equal give the same paper, and
what differs between two contents is what a reader of the printed one has to be told.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias


class PaperKind(StrEnum):
    """The papers that go with a transfer."""

    AGREEMENT = "agreement"
    """The text that both sides sign."""
    SPECIMEN_LIST = "specimen_list"
    """What was sent, line by line."""
    RECEIPT = "receipt"
    """The acknowledgement: signed by the one who received it, and sent back."""
    RETURN_NOTE = "return_note"
    """What goes back, line by line."""
    PARCEL_TEXT = "parcel_text"
    """What stands on the parcel and on its customs form."""
    CITES_LABEL = "cites_label"
    """The words of the label for an exchange between registered scientific institutions."""
    LABELS = "labels"
    """To cut out: one for each tray, drawer or box, with a QR code that leads to the lot."""


class PageSize(StrEnum):
    """What the paper is printed on."""

    A4 = "A4"
    LETTER = "Letter"


class Align(StrEnum):
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Field:
    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Fields:
    """Facts by name. Each label stands once in its block."""

    title: str
    rows: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs. ``framed`` sets them in a box: a caution, a text to copy to the letter."""

    title: str
    paragraphs: tuple[str, ...]
    framed: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """``share`` is how wide it is beside the others. ``summed``: whole numbers, added up on each page and in all."""

    name: str
    share: int
    align: Align = Align.LEFT
    italic: bool = False
    summed: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """``key`` names what the row is about, once in its table; ``cells`` are one for each column."""

    key: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]

    def total(self, column: int) -> int:
        return sum(int(row.cells[column] or 0) for row in self.rows)


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to sign on, each with what stands under it."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """One label to cut out. ``leads_to`` is what its QR code says."""

    key: str
    heading: str
    lines: tuple[str, ...]
    leads_to: str


@dataclass(frozen=True, slots=True)
class Labels:
    title: str
    labels: tuple[Label, ...]


Block: TypeAlias = Fields | Words | Table | Signatures | Labels


@dataclass(frozen=True, slots=True)
class Content:
    """The whole of one paper; ``title`` and ``about`` stand at the head of every page.

    Blocks are kept kind by kind, so that what is stored can be read back without guessing; ``order`` names their
    titles as they follow each other. A title stands once in a paper.
    """

    title: str
    about: str
    order: tuple[str, ...]
    fields: tuple[Fields, ...] = ()
    words: tuple[Words, ...] = ()
    tables: tuple[Table, ...] = ()
    signatures: tuple[Signatures, ...] = ()
    labels: tuple[Labels, ...] = ()

    @property
    def blocks(self) -> Iterator[Block]:
        """The blocks in their order."""
        found = {block.title: block for block in self._all()}
        return (found[title] for title in self.order)

    def _all(self) -> tuple[Block, ...]:
        return (*self.fields, *self.words, *self.tables, *self.signatures, *self.labels)


def content(title: str, about: str, *blocks: Block | None) -> Content:
    """A paper of these blocks; those that came to nothing are left out.

    :raises ValueError: when a title stands twice.
    """
    there = [block for block in blocks if block is not None]
    order = tuple(block.title for block in there)
    if len(set(order)) < len(order):
        raise ValueError(f"Two blocks of “{title}” have one title: {', '.join(order)}.")
    return Content(
        title,
        about,
        order,
        tuple(block for block in there if isinstance(block, Fields)),
        tuple(block for block in there if isinstance(block, Words)),
        tuple(block for block in there if isinstance(block, Table)),
        tuple(block for block in there if isinstance(block, Signatures)),
        tuple(block for block in there if isinstance(block, Labels)),
    )
