"""The blocks of a paper, drawn one below the other."""

from collections.abc import Iterable

from service.core.papers.content import Block, Fields, Labels, Signatures, Table, Words
from service.paper.pdf.label_sheet import draw_labels
from service.paper.pdf.sheets import MARGIN, Sheets
from service.paper.pdf.table import KEPT_TOGETHER, draw_table

TEXT = 9.5
LABEL = 42.0


def draw_blocks(sheets: Sheets, blocks: Iterable[Block]) -> None:
    """All blocks in their order."""
    for block in blocks:
        match block:
            case Fields():
                _fields(sheets, block)
            case Words():
                _words(sheets, block)
            case Table():
                draw_heading(sheets, block.title, least=45 if len(block.rows) <= KEPT_TOGETHER else 18)
                draw_table(sheets, block)
            case Signatures():
                _signatures(sheets, block)
            case Labels():
                draw_labels(sheets, block)
        sheets.set_y(sheets.get_y() + 3)


def draw_heading(sheets: Sheets, title: str, least: float = 18) -> None:
    """The title of a block; it never stands at the foot of a page with less than ``least`` mm below it."""
    sheets.break_unless(least)
    sheets.set_x(MARGIN)
    sheets.say(title, 11, style="B")
    sheets.set_y(sheets.get_y() + 0.8)


def _fields(sheets: Sheets, block: Fields) -> None:
    draw_heading(sheets, block.title)
    for row in block.rows:
        lines = sheets.lines_of(row.value, sheets.width - LABEL, TEXT)
        names = sheets.lines_of(row.label, LABEL - 2, TEXT)
        sheets.break_unless(max(len(lines), len(names)) * sheets.height_of(TEXT))
        top = sheets.get_y()
        for at, line in enumerate(names):
            sheets.put(line, MARGIN, top + at * sheets.height_of(TEXT), LABEL - 2, TEXT)
        for at, line in enumerate(lines):
            sheets.put(line, MARGIN + LABEL, top + at * sheets.height_of(TEXT), sheets.width - LABEL, TEXT)
        sheets.set_xy(MARGIN, top + max(len(lines), len(names)) * sheets.height_of(TEXT) + 0.6)


def _words(sheets: Sheets, block: Words) -> None:
    draw_heading(sheets, block.title)
    inset = 3.0 if block.framed else 0.0
    size = TEXT + 1 if block.framed else TEXT
    for paragraph in block.paragraphs:
        lines = sheets.lines_of(paragraph, sheets.width - 2 * inset, size)
        tall = len(lines) * sheets.height_of(size) + 2
        sheets.break_unless(min(tall, 200))
        top = sheets.get_y()
        if block.framed:
            sheets.set_draw_color(0)
            sheets.rect(MARGIN, top, sheets.width, tall)
            sheets.set_y(top + 1)
        for line in lines:
            sheets.break_unless(sheets.height_of(size))
            sheets.put(line, MARGIN + inset, sheets.get_y(), sheets.width - 2 * inset, size)
            sheets.set_y(sheets.get_y() + sheets.height_of(size))
        sheets.set_y(sheets.get_y() + 1)


def _signatures(sheets: Sheets, block: Signatures) -> None:
    draw_heading(sheets, block.title)
    for line in block.lines:
        sheets.break_unless(20)
        foot = sheets.get_y() + 12
        sheets.set_draw_color(0)
        sheets.line(MARGIN, foot, MARGIN + 120, foot)
        sheets.set_xy(MARGIN, foot + 0.5)
        sheets.say(line, 8)
