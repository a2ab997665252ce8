"""The sheets of one paper: their size, their head and foot, and text in any script on them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from fpdf import FPDF
from fpdf.enums import XPos, YPos

from service.core.papers.content import PageSize
from service.paper.pdf.fonts import FAMILY, STYLES, file_of, further_fonts, needs_shaping, printable, style_for
from service.paper.pdf.qr import draw_qr
from service.paper.pdf.wrapping import wrapped

MARGIN = 18.0
FOOT = 20.0
QR_SIDE = 18.0
LINE = 1.25
"""Height of a line of text, in heights of its letters."""
MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True, slots=True)
class Imprint:
    """What stands at the foot of every page of a printed paper.

    ``revision`` is the number of the transfer's last fact when it was printed, ``check_code`` what the service knows
    the paper by, ``verify_at`` the address at which it says whether the paper still holds.
    """

    size: PageSize
    revision: int
    check_code: str
    verify_at: str
    printed_on: date
    printed_by: str


class Sheets(FPDF):
    """An empty paper; ``characters`` are all that will be printed on it."""

    def __init__(self, title: str, about: str, imprint: Imprint, characters: Iterable[str]) -> None:
        super().__init__(orientation="portrait", unit="mm", format=imprint.size.value)
        self.heading, self.about, self.imprint = title, about, imprint
        self.further = further_fonts({*characters, *title, *about, *imprint.printed_by})
        self.add_fonts()
        # The day of printing and no moment of the clock, so that the same paper has the same bytes.
        self.set_creation_date(datetime.combine(imprint.printed_on, time(), UTC))
        self.set_title(self.fit_to_print(f"{title} {about}"))
        self.set_lang("en")
        self.set_margins(MARGIN, MARGIN, MARGIN)
        self.set_auto_page_break(False)
        self.add_page()

    def add_fonts(self) -> None:
        for style, font in STYLES.items():
            self.add_font(FAMILY, style, file_of(font))
        for font in self.further:
            self.add_font(font, "", file_of(font))
        self.set_fallback_fonts(list(self.further), exact_match=False)

    @property
    def lowest(self) -> float:
        """How far down a page may be filled."""
        return float(self.h) - FOOT - 4

    @property
    def width(self) -> float:
        return float(self.epw)

    def fit_to_print(self, text: str) -> str:
        return printable(text, self.further)

    def header(self) -> None:
        """The title and what the paper is about, on every page."""
        self.set_xy(MARGIN, 10)
        first = self.page_no() == 1
        self.say(self.heading, 15 if first else 10, style="B")
        self.say(self.about, 9)
        self.set_draw_color(120)
        self.line(MARGIN, self.get_y() + 1, MARGIN + self.width, self.get_y() + 1)
        self.set_y(self.get_y() + 4)

    def footer(self) -> None:
        """Revision, check code and page, on every page, and a QR code that leads to the check."""
        top = self.h - FOOT
        draw_qr(self, self.imprint.verify_at, self.w - MARGIN - QR_SIDE + 4, top - 1, QR_SIDE)
        self.set_xy(MARGIN, top + 2)
        about = self.imprint
        printed = f"Revision {about.revision} · printed {about.printed_on.isoformat()} by {about.printed_by}"
        self.say(printed, 7.5, width=self.width - QR_SIDE)
        self.say(f"Check code {about.check_code}", 9, style="B", width=self.width - QR_SIDE)
        self.say(f"Whether it still holds: {about.verify_at}", 7, width=self.width - QR_SIDE)
        self.say(f"Page {self.page_no()} of {{nb}}", 7.5, width=self.width - QR_SIDE)

    def break_unless(self, height: float) -> None:
        """A new page, unless so much of this one is left."""
        if self.get_y() + height > self.lowest:
            self.add_page()

    def height_of(self, size: float) -> float:
        """The height of a line of letters of ``size`` points, in mm."""
        return size * MM_PER_POINT * LINE

    def lines_of(self, text: str, width: float, size: float, style: str = "") -> list[str]:
        """A text as the lines that it takes in a width."""
        shown = self.fit_to_print(text)
        self.set_font(FAMILY, style_for(shown, style), size)
        self.set_text_shaping(needs_shaping(shown))
        if self.get_string_width(shown) <= width:
            return [shown]
        return wrapped(shown, width, self.get_string_width)

    def put(
        self, line: str, x: float, y: float, width: float, size: float, style: str = "", align: str = "L"
    ) -> None:
        """One line of text, of which it is known that it fits."""
        self.set_font(FAMILY, style_for(line, style), size)
        self.set_text_shaping(needs_shaping(line))
        self.set_xy(x, y)
        self.cell(width, self.height_of(size), line, align=align, new_x=XPos.RIGHT, new_y=YPos.TOP)

    def say(
        self, text: str, size: float, style: str = "", width: float | None = None, x: float | None = None
    ) -> None:
        """A paragraph from the left edge down."""
        left, wide = self.l_margin if x is None else x, width or self.width
        for line in self.lines_of(text, wide, size, style):
            self.put(line, left, self.get_y(), wide, size, style)
            self.set_xy(self.l_margin, self.get_y() + self.height_of(size))
