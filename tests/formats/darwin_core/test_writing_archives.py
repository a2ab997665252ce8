"""Archives that go out: what they say, to a reader that is not ours."""

import io
import zipfile
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pytest
from archives import DWC
from hypothesis import given, settings
from hypothesis import strategies as st
from minimal_reader import tables
from sheet_strategies import ITEM, LOT, TEXT, maybe

from service.core.lots import Disposition, Lot, OnLoan, whereabouts
from service.core.transfers.ledger import Account
from service.core.transfers.lines import Counted, Line, Preparation, TypeStatus
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit, PermitKind, PermitStatus
from service.formats.darwin_core.lots import lots
from service.formats.darwin_core.reading import open_archive
from service.formats.darwin_core.terms import LOAN, OCCURRENCE, PERMIT
from service.formats.darwin_core.writing import About, write_archive

ABOUT = About(
    "Lots of the <Hollow> Museum & \x0bfriends", "Hollow Museum", date(2026, 11, 25), "What is away.", "CC0"
)
BEETLES = Lot(
    Line(
        "7", 12, 'Carabus "auratus"\nLinnaeus, 1761', groups=("Coleoptera", "Carabidae"),
        preparation=Preparation.PINNED, type_status=TypeStatus.PARATYPE, catalogue_numbers=("HM 1", "HM 2"),
        remarks="=1+1", tray="half", held=40,
    ),
    "urn:x:1", "NM", "https://ror.org/015hz7p22", "HM", "Beetles", Disposition.ON_LOAN,
    OnLoan(
        "L-2026-4", date(2026, 3, 15), "North Museum", "Hollow Museum", "no dissection", True, date(2027, 1, 1)
    ),
    (
        Permit(
            PermitKind.EXPORT, PermitStatus.AVAILABLE, "EX/9", date(2026, 1, 1), None, ("GB", "SE"), False, "one way"
        ),
        Permit(PermitKind.IMPORT, PermitStatus.NOT_REQUIRED),
    ),
)  # fmt: skip
TRAYS = Lot(Line("8", 30, counted=Counted.UNIT_TRAY, remarks="empty"), "urn:x:2", "HM", owner="HM")


def written(*given_lots: Lot, further: tuple[str, ...] = ()) -> io.BytesIO:
    out = io.BytesIO()
    write_archive(out, given_lots, ABOUT, further)
    out.seek(0)
    return out


def test_another_reader_finds_custody_and_ownership_apart_and_the_loan_beside():
    read = tables(written(BEETLES, TRAYS))
    beetles, trays = read[OCCURRENCE]
    assert (beetles["institutionCode"], beetles["ownerInstitutionCode"]) == ("NM", "HM")
    assert beetles["institutionID"] == "https://ror.org/015hz7p22"
    assert (beetles["disposition"], beetles["typeStatus"], beetles["individualCount"]) == (
        "on loan",
        "paratype",
        "12",
    )
    assert beetles["scientificName"] == 'Carabus "auratus"\nLinnaeus, 1761'
    assert (beetles["catalogNumber"], beetles["otherCatalogNumbers"]) == ("HM 1", "HM 2")
    assert beetles["higherClassification"] == "Coleoptera | Carabidae"
    assert beetles["materialEntityRemarks"] == "=1+1"
    assert (trays["individualCount"], trays["objectQuantity"], trays["objectQuantityType"]) == ("", "30", "unit tray")
    assert read[LOAN] == [
        {
            "@": "urn:x:1", "loanIdentifier": "L-2026-4", "loanDate": "2026-03-15", "receivedFrom": "Hollow Museum",
            "loanDestination": "North Museum", "loanConditions": "no dissection", "blocked": "yes",
            "blockedUntil": "2027-01-01",
        }
    ]  # fmt: skip
    assert [(row["@"], row["permitType"], row["permitStatus"], row["permitURI"]) for row in read[PERMIT]] == [
        ("urn:x:1", "Export Permit", "Permit available", "EX/9"),
        ("urn:x:1", "Import Permit", "Permit not required", ""),
    ]
    said = "valid 2026-01-01 to ?; countries GB, SE; third parties not allowed"
    assert read[PERMIT][0]["permitStatusQualifier"] == said


def test_the_reader_that_others_use_reads_it_too(tmp_path):
    dwca = pytest.importorskip("dwca.read", reason="python-dwca-reader is not installed")
    path = tmp_path / "lots.zip"
    path.write_bytes(written(BEETLES, TRAYS).getvalue())
    with dwca.DwCAReader(str(path)) as archive:
        assert archive.metadata is not None
        first, second = archive.rows
        assert first.data[DWC + "ownerInstitutionCode"] == "HM"
        assert [row.rowtype for row in first.extensions] == [LOAN, PERMIT, PERMIT]
        assert second.extensions == []


PERMITS = st.builds(
    Permit,
    st.sampled_from(PermitKind),
    st.sampled_from(PermitStatus),
    maybe(TEXT),
    maybe(st.dates()),
    maybe(st.dates()),
    st.lists(st.sampled_from(["GB", "SE", "BR"]), unique=True).map(tuple),
    maybe(st.booleans()),
    st.just("") | TEXT,
)
LOANS = st.builds(
    OnLoan,
    maybe(TEXT),
    maybe(st.dates()),
    maybe(TEXT),
    maybe(TEXT),
    maybe(TEXT),
    maybe(st.booleans()),
    maybe(st.dates()),
)
TOLD = st.dictionaries(st.sampled_from(["sex", "habitat", "dcterms:modified", "http://example.org/x"]), TEXT)


@st.composite
def full_lots(draw: st.DrawFn) -> list[Lot]:
    """Lots as they come from anywhere; counts are never smaller than the number of catalogue numbers."""
    made = draw(st.lists(LOT, max_size=4))
    return [
        replace(
            lot,
            line=replace(
                lot.line,
                count=max(lot.line.count, 3),
                groups=draw(st.lists(ITEM, max_size=2).map(tuple)),
                catalogue_numbers=draw(st.lists(ITEM, max_size=3, unique=True).map(tuple)),
            ),
            record=f"urn:x:{number}",
            loan=draw(maybe(LOANS)),
            permits=tuple(draw(st.lists(PERMITS, max_size=2))),
            told=tuple(sorted(draw(TOLD).items())),
        )
        for number, lot in enumerate(made)
    ]


@settings(max_examples=80, deadline=None)
@given(full_lots())
def test_lots_go_out_and_come_in_again_without_loss(made):
    out = io.BytesIO()
    counts = write_archive(out, made, ABOUT, ("sex", "habitat", "dcterms:modified", "http://example.org/x"))
    assert counts.not_written == {}
    with open_archive(out) as archive:
        assert list(lots(archive)) == made
    assert set(archive.report.kinds()) == set()
    assert (counts.lots, counts.loans) == (len(made), sum(lot.loan is not None for lot in made))


def test_the_file_about_the_lots_is_xml_whatever_they_are_called():
    with zipfile.ZipFile(written(BEETLES)) as packed:
        about = ElementTree.fromstring(packed.read("eml.xml"))  # noqa: S314  # our own writing
    assert about.findtext("dataset/title") == "Lots of the <Hollow> Museum & friends"
    assert about.findtext("dataset/contact/organizationName") == "Hollow Museum"


def test_the_same_lots_make_the_same_bytes():
    assert written(BEETLES, TRAYS).getvalue() == written(BEETLES, TRAYS).getvalue()


def test_terms_nobody_asked_for_are_counted_as_not_written():
    lot = replace(TRAYS, told=(("habitat", "wood"), ("sex", "female")))
    counts = write_archive(io.BytesIO(), [lot], ABOUT, ["sex"])
    assert counts.not_written == {"habitat": 1}


def test_what_was_told_more_fully_is_written_as_it_was_told():
    (row,) = tables(written(replace(BEETLES, told=(("typeStatus", "Paratype of Carabus auratus"),))))[OCCURRENCE]
    assert row["typeStatus"] == "Paratype of Carabus auratus"


def test_two_lots_of_one_name_are_two_rows_each_with_its_own_loan():
    away = replace(BEETLES, permits=())
    read = tables(written(away, replace(away, loan=OnLoan("L-2")), Lot(Line("9", 1), "lot-2"), Lot(Line("10", 1))))
    assert [row["occurrenceID"] for row in read[OCCURRENCE]] == ["urn:x:1", "urn:x:1", "lot-2", ""]
    keys = [row["@"] for row in read[OCCURRENCE]]
    assert len(set(keys)) == 4
    assert [(row["@"], row["loanIdentifier"]) for row in read[LOAN]] == [(keys[0], "L-2026-4"), (keys[1], "L-2")]


@pytest.mark.parametrize(
    ("account", "disposition", "custody", "ownership"),
    [
        (Account.COLLECTION, "in collection", Side.LENDER, Side.LENDER),
        (Account.TRANSIT_OUT, "on loan", None, Side.LENDER),
        (Account.BORROWER, "on loan", Side.BORROWER, Side.LENDER),
        (Account.PASSED_ON, "on loan", None, Side.LENDER),
        (Account.RETAINED, "in collection", Side.BORROWER, Side.BORROWER),
        (Account.RETURNED, "in collection", Side.LENDER, Side.LENDER),
        (Account.CONSUMED, "used up", None, Side.LENDER),
        (Account.LOST, "missing", None, Side.LENDER),
    ],
)
def test_who_holds_and_who_owns_are_two_facts_of_each_account(account, disposition, custody, ownership):
    found = whereabouts(account)
    assert (found.disposition, found.custody, found.ownership) == (disposition, custody, ownership)


def test_every_account_of_the_ledger_has_its_whereabouts():
    assert {whereabouts(account).ownership for account in Account} == set(Side)
