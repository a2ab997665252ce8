"""Text set in columns: tables, bullets and paragraphs that keep within the page."""

import textwrap
from collections.abc import Iterable, Sequence

from tabulate import tabulate

from service.paper.wording import MEMORY_MARK, printable

#: Fits a terminal beside another window and a sheet of A4 lying on its side.
PAGE_COLUMNS = 110
_TO_ASCII = str.maketrans("“”‘’″′−·²–", "\"\"''\"'--2-")


def bullets(title: str, sentences: Iterable[str]) -> str:
    """Sentences under a title; nothing at all where there are none."""
    rows = [wrapped(f"  - {printable(sentence)}", 4) for sentence in sentences]
    return "\n".join([title, *rows]) if rows else ""


def titled(title: str, rows: list[list[str]], headers: list[str], align: tuple[str, ...]) -> str:
    """A table under its title; nothing at all where it has no rows."""
    return f"{title}\n{textwrap.indent(table(rows, headers, align), '  ')}" if rows else ""


def spaced(rows: list[list[object]], headers: list[str], align: tuple[str, ...]) -> str:
    """A table whose rows may run over several lines, with a blank line between them to keep them apart."""
    if not rows:
        return "The consignment has no lines."
    gaps = [one for row in rows for one in (row, [""] * len(headers))][:-1]
    return table(gaps, headers, align)


def table(rows: Sequence[Sequence[object]], headers: Sequence[str], align: tuple[str, ...]) -> str:
    """A table whose cells stand as they are given."""
    # Spaces are kept because on_the_point pads with them.
    return tabulate(rows, headers, "simple", disable_numparse=True, colalign=align, preserve_whitespace=True)


def on_the_point(figures: Sequence[str]) -> list[str]:
    """The figures padded on the right so that their decimal points stand under each other when set flush right."""
    tails = [_tail(figure) for figure in figures]
    room = max(tails, default=0)
    return [figure + " " * (room - tail) for figure, tail in zip(figures, tails, strict=True)]


def _tail(figure: str) -> int:
    whole, point, decimals = figure.partition(".")
    return len(point + decimals) if point else len(whole) - len(whole.rstrip(MEMORY_MARK))


def cell(text: str, columns: int) -> str:
    """The text broken into lines that a column of this width holds."""
    return textwrap.fill(text, columns)


def wrapped(text: str, indent: int) -> str:
    """A paragraph as wide as the page, its further lines set in."""
    return textwrap.fill(text, PAGE_COLUMNS, subsequent_indent=" " * indent)


def in_ascii(page: str) -> str:
    """The finished page: plain signs for typographic ones, no spaces at the ends of lines, one break at its end."""
    return "\n".join(row.rstrip() for row in page.translate(_TO_ASCII).splitlines()) + "\n"
