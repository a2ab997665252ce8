"""What each paper says, and when there is none."""

from dataclasses import replace

import pytest
from parcel_cases import COURIER, box
from pdf_samples import AMBLEFORD, file_for, sent_back, some_lines, some_loan
from transfer_builders import agreed, gift

from service.core.errors import Conflict
from service.core.materials import Treatment
from service.core.papers.content import Content, PaperKind, Table
from service.core.papers.file import TransferFile
from service.core.papers.write import paper_of
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import PackingBench
from service.core.transfers.lines import Line, Preparation
from service.core.transfers.parties import Side
from service.core.transfers.transfer import Transfer


def fields_of(paper: Content) -> dict[str, str]:
    return {field.label: field.value for block in paper.fields for field in block.rows}


def words_of(paper: Content) -> str:
    return " ".join(paragraph for block in paper.words for paragraph in block.paragraphs)


def table_of(paper: Content, title: str = "Lines") -> Table:
    return next(table for table in paper.tables if table.title == title)


@pytest.mark.parametrize("kind", [k for k in PaperKind if k not in {PaperKind.CITES_LABEL, PaperKind.LABELS}])
def test_every_paper_says_what_was_used_on_the_material(kind: PaperKind) -> None:
    transfer = some_loan(Line("1", 3, "Amara", treatments_used=(Treatment.ARSENIC,)), *some_lines(0))
    told = words_of(paper_of(kind, file_for(transfer)))
    assert "Arsenic was used on it" in told
    unsaid = some_loan(Line("1", 3, "Amara"))
    assert "Nobody stated what was used against pests on it" in words_of(paper_of(kind, file_for(unsaid)))
    nothing = some_loan(Line("1", 3, "Amara", treatments_used=()))
    assert "was used" not in words_of(paper_of(kind, file_for(nothing)))


def test_the_list_of_a_page_adds_up_and_counts_each_thing_by_its_name() -> None:
    paper = paper_of(PaperKind.SPECIMEN_LIST, file_for(some_loan(*some_lines(50))))
    table = table_of(paper)
    assert table.total(5) == sum(line.count for line in some_lines(50))
    assert fields_of(paper)["In all"] == f"{table.total(5)} specimens, on 50 lines"


def test_nothing_is_acknowledged_before_it_was_sent_and_nothing_returned_before_it_came() -> None:
    transfer = some_loan()
    early = file_for(transfer, agreed(transfer))
    for kind in (PaperKind.RECEIPT, PaperKind.RETURN_NOTE):
        with pytest.raises(Conflict) as refused:
            paper_of(kind, early)
        assert refused.value.kind == "paper_too_early"
    with pytest.raises(Conflict, match="given, not lent"):
        paper_of(PaperKind.RETURN_NOTE, file_for(gift(*some_lines(1))))


def test_the_return_note_balances_line_by_line() -> None:
    transfer = some_loan()
    table = table_of(paper_of(PaperKind.RETURN_NOTE, file_for(transfer, sent_back(transfer))))
    for row in table.rows:
        lent, *became = (int(cell) for cell in row.cells[2:7])
        assert lent == sum(became)


def with_apollo(**parties: object) -> Transfer:
    return replace(some_loan(Line("1", 3, "Parnassius apollo"), Line("2", 9, "Amara aenea")), **parties)


def test_the_label_for_listed_taxa_names_both_institutions_and_never_says_that_it_applies() -> None:
    paper = paper_of(PaperKind.CITES_LABEL, file_for(with_apollo()))
    assert [row.cells for row in table_of(paper, "Listed taxa").rows] == [("1", "Parnassius apollo", "II", "3")]
    assert fields_of(paper)["Sender's code"] == "GB998"
    assert fields_of(paper)["Receiver's code"] == "DE997"
    assert "ask the Management Authorities of both countries" in words_of(paper)
    assert "legal" not in words_of(paper)


def test_a_code_that_is_missing_or_of_another_country_is_told_on_the_label() -> None:
    wrong = paper_of(PaperKind.CITES_LABEL, file_for(with_apollo(lender=replace(AMBLEFORD, cites_code="US001"))))
    assert "has not the form of a code" in fields_of(wrong)["Sender's code"]
    missing = paper_of(PaperKind.CITES_LABEL, file_for(with_apollo(lender=replace(AMBLEFORD, cites_code=None))))
    assert "ask your Management Authority" in fields_of(missing)["Sender's code"]


def test_without_a_listed_taxon_or_a_border_there_is_no_such_label() -> None:
    within = with_apollo(borrower=replace(AMBLEFORD, key="other", name="Port Lindal Museum"))
    for transfer in (some_loan(), within):
        with pytest.raises(Conflict) as refused:
            paper_of(PaperKind.CITES_LABEL, file_for(transfer))
        assert refused.value.kind == "paper_not_wanted"


def test_customs_are_told_of_preserved_museum_specimens_and_never_of_scientific_specimens() -> None:
    """The wording of the Society for the Preservation of Natural History Collections' wiki, "Shipping and Handling
    of Dangerous Goods": "preserved museum specimens" with a detail such as "dried insects"; not "scientific
    specimens".
    """
    slides = Line("2", 4, "Amara", preparation=Preparation.SLIDE)
    paper = paper_of(PaperKind.PARCEL_TEXT, file_for(some_loan(*some_lines(1), slides)))
    contents = fields_of(paper)["Contents"]
    assert contents.startswith("Preserved museum specimens: dried insects on pins and insects on microscope slides")
    assert "scientific specimens" not in contents.lower()
    assert fields_of(paper)["Tariff code"] == "9705.00"
    assert "Nothing on this paper says that the parcel may travel" in words_of(paper)


def test_what_comes_back_goes_from_the_borrower_to_the_lender() -> None:
    there = file_for(some_loan())
    home = TransferFile(**{**there.__dict__, "sender": Side.BORROWER})
    paper = paper_of(PaperKind.PARCEL_TEXT, home)
    assert [block.title for block in paper.fields][:2] == ["From", "To"]
    assert paper.fields[0].rows[0].value == "Dr Ines Halloran"
    assert "returned from scientific study" in fields_of(paper)["Contents"]


def test_a_plan_of_parcels_is_printed_with_its_padding_its_masses_and_what_is_unknown() -> None:
    plan = plan_parcels([box("a", 230, 330, 65, mass_g=900)], PackingBench(), COURIER)
    paper = paper_of(PaperKind.PARCEL_TEXT, replace(file_for(some_loan()), parcels=plan))
    (row,) = table_of(paper, "Parcels").rows
    assert row.cells == ("1", "344 × 444 × 179", "pinned", "1", "50", "900", "at least 5500")
    assert "of unknown mass are: the carton, the padding" in words_of(paper)


def test_there_is_a_label_for_each_tray_that_leads_to_the_lot() -> None:
    line = replace(some_lines(1)[0], storage_count=3)
    (block,) = paper_of(PaperKind.LABELS, file_for(some_loan(line))).labels
    assert [label.leads_to for label in block.labels] == [
        "https://traybridge.example.org/v1/transfers/T1/lines/1"
    ] * 3
    assert "unit tray 2 of 3" in block.labels[1].lines[0]
    assert any("Treated: naphthalene" in text for text in block.labels[0].lines)
    with pytest.raises(Conflict, match="at most"):
        paper_of(PaperKind.LABELS, file_for(some_loan(replace(line, storage_count=5_000))))
