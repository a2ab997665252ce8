"""A paper as PDF."""

from collections.abc import Iterator

from service.core.papers.content import Block, Content, Fields, Labels, Signatures, Table, Words
from service.paper.pdf.blocks import draw_blocks
from service.paper.pdf.sheets import Imprint, Sheets


def pdf_of(content: Content, imprint: Imprint) -> bytes:
    """The bytes of a paper: the same for the same content and imprint, on any machine and on any day."""
    characters = {character for text in _texts(content) for character in text}
    sheets = Sheets(content.title, content.about, imprint, characters)
    draw_blocks(sheets, content.blocks)
    return bytes(sheets.output())


def _texts(content: Content) -> Iterator[str]:
    for block in content.blocks:
        yield block.title
        yield from _of_block(block)


def _of_block(block: Block) -> Iterator[str]:
    match block:
        case Fields():
            yield from (text for row in block.rows for text in (row.label, row.value))
        case Words():
            yield from block.paragraphs
        case Table():
            yield from (column.name for column in block.columns)
            yield from (cell for row in block.rows for cell in row.cells)
        case Signatures():
            yield from block.lines
        case Labels():
            yield from (text for label in block.labels for text in (label.heading, *label.lines))
