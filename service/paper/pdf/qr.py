"""QR codes, drawn as squares, so that they print sharply at any size."""

import segno
from fpdf import FPDF


def draw_qr(pdf: FPDF, text: str, x: float, y: float, side: float) -> None:
    """Draw the code of a text; ``x``, ``y`` and ``side`` in mm, the quiet zone of four modules included."""
    code = segno.make(text, error="m", micro=False)
    quiet = 4
    module = side / (code.symbol_size(border=0)[0] + 2 * quiet)
    pdf.set_fill_color(0)
    for row, modules in enumerate(code.matrix):
        for start, end in _runs(modules):
            left, top = x + (quiet + start) * module, y + (quiet + row) * module
            pdf.rect(left, top, (end - start) * module, module, style="F")


def _runs(modules: bytearray) -> list[tuple[int, int]]:
    """Where dark modules begin and end in one row."""
    runs, start = [], None
    for at, dark in enumerate([*modules, 0]):
        if dark and start is None:
            start = at
        elif not dark and start is not None:
            runs.append((start, at))
            start = None
    return runs
