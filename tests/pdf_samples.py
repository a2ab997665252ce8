"""Files of invented loans, printed, and what another library reads off the pages."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import pypdfium2
import zxingcpp
from transfer_builders import everything, in_use, loan, take

from service.core.consignment import Container
from service.core.handbook.listed_taxa import listed_taxa
from service.core.materials import Treatment
from service.core.papers.content import PageSize, PaperKind
from service.core.papers.file import TransferFile
from service.core.papers.write import paper_of
from service.core.parcels.stock import Contact
from service.core.transfers.calendar import Duration
from service.core.transfers.dues import dues
from service.core.transfers.facts import Fact, Step
from service.core.transfers.lines import Line, Preparation, TypeStatus
from service.core.transfers.parties import Party, Side
from service.core.transfers.terms import LengthRule, MaterialClass, Terms
from service.core.transfers.transfer import Transfer
from service.paper.pdf.printing import pdf_of
from service.paper.pdf.sheets import Imprint

AMBLEFORD = Party("north", "Ambleford Museum of Natural History", country="GB", cites_code="GB998")
STELLMARK = Party("south", "Universität Stellmark", country="DE", cites_code="DE997")
TERMS = Terms(lengths=(LengthRule(MaterialClass.ORDINARY, Duration(months=24)),))
ORLA = Contact("Orla Fennimore", ("1 Quay Lane", "Ambleford"), "+44 0 0000 000000", "orla@ambleford.example")
CODE = "7K2M-90QX-4T8W-AVBN-C"


def some_lines(count: int) -> tuple[Line, ...]:
    """Lines as a loan has them: names of one and of many words, with and without numbers."""
    return tuple(
        Line(
            str(at),
            1 + at * 7 % 40,
            f"Carabus (Morphocarabus) monilis Fabricius, 1792 var. {at}" if at % 9 == 0 else f"Amara aenea {at}",
            preparation=Preparation.PINNED,
            type_status=TypeStatus.PARATYPE if at % 11 == 0 else TypeStatus.NOT_A_TYPE,
            storage=Container.UNIT_TRAY,
            storage_count=1,
            tray="half",
            catalogue_numbers=(f"AMB-{at:06d}",) if at % 2 else (),
            treatments_used=(Treatment.NAPHTHALENE,),
        )
        for at in range(1, count + 1)
    )


def some_loan(*lines: Line) -> Transfer:
    return replace(loan(*(lines or some_lines(12))), lender=AMBLEFORD, borrower=STELLMARK, terms=TERMS)


def file_for(transfer: Transfer, facts: Sequence[Fact] | None = None) -> TransferFile:
    """The file of a transfer that is with its borrower, unless other facts are told."""
    told = in_use(transfer) if facts is None else tuple(facts)
    return TransferFile(
        code="L-2026-014",
        transfer=transfer,
        facts=told,
        dues={due.line: due for due in dues(transfer, told)},
        listed=listed_taxa(),
        service="https://traybridge.example.org",
        contacts={Side.LENDER: ORLA, Side.BORROWER: Contact("Dr Ines Halloran", ("Marktplatz 3", "00000 Stellmark"))},
        tariff_code="9705.00",
    )


def sent_back(transfer: Transfer) -> tuple[Fact, ...]:
    return take(transfer, in_use(transfer), everything(Step.SENT_BACK, transfer, "2027-01-10"))


def imprint(size: PageSize = PageSize.A4, by: str = "Marta Quillfeather") -> Imprint:
    return Imprint(size, 7, CODE, f"https://traybridge.example.org/v1/papers/{CODE}", date(2026, 11, 25), by)


def printed(kind: PaperKind, file: TransferFile, size: PageSize = PageSize.A4) -> bytes:
    return pdf_of(paper_of(kind, file), imprint(size))


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page, as PDFium reads it."""
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf)]


def qr_codes(pdf: bytes, page: int = 0) -> list[str]:
    """What the QR codes of a page say, as another library reads them off its picture."""
    picture = pypdfium2.PdfDocument(pdf)[page].render(scale=4).to_pil()
    return [found.text for found in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)]


def save_pictures(pdf: bytes, folder: Path, name: str) -> None:
    """Each page as a picture, to look at."""
    for at, page in enumerate(pypdfium2.PdfDocument(pdf), start=1):
        page.render(scale=1.6).to_pil().save(folder / f"{name}-{at}.png")
