"""What a printed paper says otherwise than it would say now."""

from dataclasses import replace

from pdf_samples import file_for, sent_back, some_lines, some_loan
from transfer_builders import agreed, dispatched, fact, take

from service.core.papers.changes import Change, changes
from service.core.papers.content import PaperKind, Table, content
from service.core.papers.write import paper_of
from service.core.transfers.facts import Step
from service.core.transfers.transfer import Transfer


def between(kind: PaperKind, before: Transfer, after: Transfer) -> dict[str, tuple[str, str]]:
    found = changes(paper_of(kind, file_for(before)), paper_of(kind, file_for(after)))
    return {change.where: (change.printed, change.now) for change in found}


def test_a_paper_that_says_what_was_printed_has_no_changes() -> None:
    for kind in (PaperKind.AGREEMENT, PaperKind.SPECIMEN_LIST, PaperKind.LABELS, PaperKind.PARCEL_TEXT):
        assert between(kind, some_loan(), some_loan()) == {}


def test_a_changed_count_is_named_by_line_and_so_is_the_sum() -> None:
    lines = list(some_lines(5))
    lines[2] = replace(lines[2], count=99)
    found = between(PaperKind.SPECIMEN_LIST, some_loan(*some_lines(5)), some_loan(*lines))
    assert found["Lines: line 3, Count"] == ("22", "99")
    assert found["What: In all"] == ("110 specimens, on 5 lines", "187 specimens, on 5 lines")
    assert len(found) == 2


def test_a_line_that_went_and_one_that_came_are_told_with_nothing_on_the_other_side() -> None:
    found = between(PaperKind.SPECIMEN_LIST, some_loan(*some_lines(2)), some_loan(*some_lines(3)[1:]))
    assert found["Lines: line 1, Taxon"] == ("Amara aenea 1", "")
    assert found["Lines: line 3, Taxon"] == ("", "Amara aenea 3")
    assert "Lines: line 2, Taxon" not in found


def test_an_extension_after_printing_shows_on_the_agreement_and_on_the_list() -> None:
    transfer = some_loan()
    printed = file_for(transfer)
    until = fact(Step.EXTENSION_ASKED, "2027-01-01").on.replace(year=2030)
    longer = take(
        transfer,
        printed.facts,
        fact(Step.EXTENSION_ASKED, "2027-01-01", until=until),
        fact(Step.EXTENSION_GRANTED, "2027-01-02", until=until),
    )
    for kind, where in (
        (PaperKind.AGREEMENT, "What: Due back"),
        (PaperKind.SPECIMEN_LIST, "Lines: line 1, Due back"),
    ):
        found = changes(paper_of(kind, printed), paper_of(kind, file_for(transfer, longer)))
        assert Change(where, "2028-03-15", "2030-01-01") in found


def test_each_step_after_printing_shows_on_the_papers_that_speak_of_it() -> None:
    transfer = some_loan()
    unsigned = file_for(transfer, agreed(transfer)[:1])
    signed = file_for(transfer, agreed(transfer))
    found = changes(paper_of(PaperKind.AGREEMENT, unsigned), paper_of(PaperKind.AGREEMENT, signed))
    assert Change("Signed in the service: lender, By", "not yet", "A. Person") in found
    receipts = [paper_of(PaperKind.RECEIPT, file_for(transfer, facts)) for facts in (dispatched(transfer), None)]
    assert Change("Journey: Received on", "not yet", "2026-04-02") in changes(*receipts)
    notes = [paper_of(PaperKind.RETURN_NOTE, file_for(transfer, facts)) for facts in (None, sent_back(transfer))]
    assert Change("Lines: line 1, On its way", "0", "8") in changes(*notes)


def test_a_block_that_came_to_nothing_is_told_place_by_place() -> None:
    table = Table("Lines", (), ())
    with_words = paper_of(PaperKind.AGREEMENT, file_for(some_loan()))
    without = content(with_words.title, with_words.about, table)
    assert any(change.where.startswith("Who: ") and not change.now for change in changes(with_words, without))
