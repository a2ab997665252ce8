"""Labels to cut out, in rows of three, each with the QR code that leads to its lot."""

from service.core.papers.content import Label, Labels
from service.paper.pdf.qr import draw_qr
from service.paper.pdf.sheets import MARGIN, Sheets

ACROSS = 3
HEIGHT = 27.0
QR = 21.0
HEADING, TEXT = 9.0, 6.5


def draw_labels(sheets: Sheets, block: Labels) -> None:
    """All labels, with hairlines to cut along."""
    width = sheets.width / ACROSS
    for at, label in enumerate(block.labels):
        column = at % ACROSS
        if column == 0:
            if at:
                sheets.set_y(sheets.get_y() + HEIGHT)
            sheets.break_unless(HEIGHT)
        top = sheets.get_y()
        _label(sheets, label, MARGIN + column * width, top, width)
        sheets.set_y(top)
    sheets.set_y(sheets.get_y() + HEIGHT)


def _label(sheets: Sheets, label: Label, x: float, y: float, width: float) -> None:
    sheets.set_draw_color(150)
    sheets.set_line_width(0.1)
    sheets.rect(x, y, width, HEIGHT)
    draw_qr(sheets, label.leads_to, x + width - QR - 0.5, y + (HEIGHT - QR) / 2, QR)
    wide, top = width - QR - 2, y + 1.5
    for line in sheets.lines_of(label.heading, wide, HEADING, "I")[:3]:
        sheets.put(line, x + 1.5, top, wide, HEADING, "I")
        top += sheets.height_of(HEADING)
    for text in label.lines:
        for line in sheets.lines_of(text, wide, TEXT):
            if top + sheets.height_of(TEXT) > y + HEIGHT:
                return
            sheets.put(line, x + 1.5, top, wide, TEXT)
            top += sheets.height_of(TEXT)
