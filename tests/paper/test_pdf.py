"""Printed papers, read back by other programs: PDFium reads text and draws pages, ZXing reads the QR codes."""

import re
from dataclasses import replace

import pypdfium2
import pytest
from pdf_samples import (
    CODE,
    STELLMARK,
    file_for,
    imprint,
    pages_of,
    printed,
    qr_codes,
    sent_back,
    some_lines,
    some_loan,
)

from service.core.papers.content import PageSize, PaperKind
from service.core.papers.write import paper_of
from service.core.transfers.lines import Line
from service.core.transfers.parties import Person
from service.paper.pdf.fonts import FURTHER, STYLES, covered, printable
from service.paper.pdf.printing import pdf_of

KINDS = [kind for kind in PaperKind if kind is not PaperKind.CITES_LABEL]


def any_paper(kind: PaperKind, size: PageSize = PageSize.A4) -> bytes:
    transfer = some_loan()
    return printed(kind, file_for(transfer, sent_back(transfer)), size)


@pytest.mark.parametrize("kind", KINDS)
def test_every_page_carries_its_revision_its_check_code_and_the_way_to_check_it(kind: PaperKind) -> None:
    pdf = any_paper(kind)
    pages = pages_of(pdf)
    for at, page in enumerate(pages):
        assert "Revision 7" in page
        assert f"Check code {CODE}" in page
        assert f"Page {at + 1} of {len(pages)}" in page
        assert f"https://traybridge.example.org/v1/papers/{CODE}" in qr_codes(pdf, at)


@pytest.mark.parametrize(("size", "points"), [(PageSize.A4, (595.28, 841.89)), (PageSize.LETTER, (612, 792))])
def test_papers_come_in_both_sizes(size: PageSize, points: tuple[float, float]) -> None:
    """ISO 216: A4 is 210 × 297 mm; ANSI/ASME Y14.1: Letter is 8.5 × 11 in."""
    for page in pypdfium2.PdfDocument(any_paper(PaperKind.SPECIMEN_LIST, size)):
        assert page.get_size() == pytest.approx(points, abs=0.01)


def test_the_same_paper_has_the_same_bytes() -> None:
    paper = paper_of(PaperKind.AGREEMENT, file_for(some_loan()))
    assert pdf_of(paper, imprint()) == pdf_of(paper, imprint())
    assert pdf_of(paper, imprint()) != pdf_of(paper, imprint(by="Somebody Else"))


def sums_of(page: str) -> tuple[int, int | None, int | None]:
    """The sum of a page, what it carries over from those before, and the total where it stands."""
    found = {name: re.search(rf"{name} (\d+)", page) for name in ("Sum of this page", "Carried over", "Total")}
    own, carried, total = (int(match[1]) if match else None for match in found.values())
    assert own is not None
    return own, carried, total


def test_five_thousand_lines_have_page_sums_that_add_up_to_the_total() -> None:
    lines = some_lines(5_000)
    pages = pages_of(printed(PaperKind.SPECIMEN_LIST, file_for(some_loan(*lines))))
    whole, running = sum(line.count for line in lines), 0
    for page in pages:
        own, carried, total = sums_of(page)
        assert carried in {None, running}
        counts = [int(count) for count in re.findall(r" (\d+) 2028-03-15", page)]
        assert sum(counts) == own
        running += own
    assert (running, total) == (whole, whole)
    text = "\n".join(pages)
    assert all(re.search(rf"^{line.key} ", text, re.MULTILINE) for line in lines)


def test_labels_lead_each_to_its_own_lot() -> None:
    pdf = printed(PaperKind.LABELS, file_for(some_loan(*some_lines(30))))
    found = [code for at in range(len(pages_of(pdf))) for code in qr_codes(pdf, at)]
    lots = {f"https://traybridge.example.org/v1/transfers/T1/lines/{line.key}" for line in some_lines(30)}
    assert lots <= set(found)
    assert len([code for code in found if "/lines/" in code]) == 30


NAMES = {
    "Latin with marks": "Łukasz Žižka-Þórðarson, Ñandú ŵ",
    "Vietnamese": "Nguyễn Thị Ánh",
    "Greek": "Αριστοτέλης Ωμέγα",
    "Cyrillic": "Щербаков Ёж",
    "Armenian": "Արամ",
    "Georgian": "გიორგი",
    "Hebrew": "דוד",
    "Arabic": "محمد",
    "Devanagari": "अनिल",
    "Bengali": "রবি",
    "Gurmukhi": "ਅਮਰ",
    "Gujarati": "મહેશ",
    "Oriya": "ରବି",
    "Tamil": "அருண்",
    "Telugu": "రవి",
    "Kannada": "ರವಿ",
    "Malayalam": "രവി",
    "Sinhala": "රවි",
    "Thai": "สมชาย",
    "Lao": "ສົມ",
    "Khmer": "សុខា",
    "Myanmar": "အောင်",
    "Ethiopic": "አበበ",
    "Chinese": "王小明",
    "Japanese": "やまだ太郎",
    "Korean": "김철수",
}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES.keys())
def test_a_name_in_any_of_these_scripts_has_its_letters_in_the_embedded_fonts(name: str) -> None:
    has = covered(STYLES[""]).union(*map(covered, FURTHER))
    assert not {letter for letter in name if ord(letter) not in has}
    transfer = replace(
        some_loan(Line("1", 1, remarks=name)),
        answerable=Person(name),
        borrower=replace(STELLMARK, name=name),
    )
    for kind in (PaperKind.AGREEMENT, PaperKind.LABELS):
        pdf = printed(kind, file_for(transfer))
        assert "[U+" not in "".join(pages_of(pdf))
        assert all(font_is_embedded(pdf))


def font_is_embedded(pdf: bytes) -> list[bool]:
    """Of each font of the file, whether its program is in the file."""
    descriptors = re.findall(rb"/Type /FontDescriptor.*?>>|<<[^<>]*?/FontDescriptor[^<>]*?>>", pdf, re.DOTALL)
    names = set(re.findall(rb"/BaseFont /([A-Za-z0-9+.-]+)", pdf))
    assert names
    assert descriptors
    return [re.match(rb"[A-Z]{6}\+", name) is not None for name in names]


@pytest.mark.parametrize("name", ["Łukasz Žižka", "Щербаков Ёж", "王小明", "김철수", "Αριστοτέλης"])
def test_a_name_is_read_back_as_it_was_written(name: str) -> None:
    transfer = replace(some_loan(), answerable=Person(name))
    assert name in "".join(pages_of(printed(PaperKind.AGREEMENT, file_for(transfer))))


def test_a_character_that_no_font_has_is_printed_as_its_code_point() -> None:
    assert printable("butterfly \U0001f98b", FURTHER) == "butterfly [U+1F98B]"
    transfer = replace(some_loan(), purpose="all about \U0001f98b")
    assert "all about [U+1F98B]" in "".join(pages_of(printed(PaperKind.AGREEMENT, file_for(transfer))))


def test_a_text_longer_than_its_cell_goes_on_below_and_nothing_of_it_is_lost() -> None:
    numbers = tuple(f"AMB-{at:06d}" for at in range(120))
    pages = pages_of(
        printed(PaperKind.SPECIMEN_LIST, file_for(some_loan(Line("1", 120, "Amara", catalogue_numbers=numbers))))
    )
    text = "".join(pages)
    assert all(number in text for number in numbers)
