"""What a record says of a lot. Terms and their examples are those of Darwin Core (TDWG, issue of 2026-05-26)."""

import pytest

from service.core.consignment import Container
from service.core.lots import Disposition, Lot
from service.core.transfers.lines import Counted, Line, Preparation, TypeStatus
from service.formats.darwin_core.consignments import consignment_requests
from service.formats.darwin_core.lots import lot_of
from service.formats.darwin_core.reading import Record
from service.formats.darwin_core.report import Report


def a_lot(**values: str) -> tuple[Lot | None, dict[str, int]]:
    report = Report()
    return lot_of(Record(2, "1", {"individualCount": "1"} | values), "1", report, "o.csv"), report.kinds()


@pytest.mark.parametrize(
    ("written", "status"),
    [
        ("holotype of Ctenomys sociabilis. Pearson O. P. 1985", TypeStatus.HOLOTYPE),
        ("Paratype", TypeStatus.PARATYPE),
        ("paratype of Aus bus | holotype of Aus cus", TypeStatus.HOLOTYPE),
        ("SYNTYPE: Aus", TypeStatus.SYNTYPE),
        ("not a type", TypeStatus.NOT_A_TYPE),
        ("possible holotype", None),
        ("nonholotype", None),
    ],
)
def test_the_type_status_is_the_first_word_and_a_name_bearing_one_goes_first(written, status):
    lot, odd = a_lot(typeStatus=written)
    assert lot.line.type_status is status
    assert ("type-status-unknown" in odd) == (status is None)
    assert dict(lot.told).get("typeStatus") in {written, None}


@pytest.mark.parametrize(
    ("values", "counted", "count"),
    [
        ({"individualCount": "25"}, Counted.SPECIMEN, 25),
        ({"individualCount": "25.0"}, Counted.SPECIMEN, 25),
        ({"individualCount": "", "objectQuantity": "27", "objectQuantityType": "individuals"}, Counted.SPECIMEN, 27),
        ({"individualCount": "", "objectQuantity": "6", "objectQuantityType": "drawers"}, Counted.DRAWER, 6),
    ],
)
def test_the_count_is_what_the_record_counts(values, counted, count):
    lot, odd = a_lot(**values)
    assert (lot.line.counted, lot.line.count, odd) == (counted, count, {})


@pytest.mark.parametrize("values", [
    {"individualCount": ""}, {"individualCount": "many"}, {"individualCount": "-3"},
    {"individualCount": "", "objectQuantity": "3", "objectQuantityType": "legs"},
    {"individualCount": "99999999999"},
])  # fmt: skip
def test_a_count_that_nobody_stated_is_one_and_is_noted_as_assumed(values):
    lot, odd = a_lot(**values)
    assert (lot.line.count, odd) == (1, {"count-not-stated": 1})


def test_a_record_that_counts_none_is_no_lot():
    assert a_lot(individualCount="0") == (None, {"counts-none": 1})


def test_terms_that_belong_together_are_missed_when_one_is_alone():
    assert a_lot(objectQuantity="27")[1] == {"half-a-pair": 1}
    assert a_lot(organismQuantity="27")[1] == {"half-a-pair": 1}
    assert a_lot(typeOfType="holotype")[1] == {"half-a-pair": 1}


@pytest.mark.parametrize("word", ["in collection", "missing", "on loan", "used up", "destroyed", "deaccessioned"])
def test_the_dispositions_of_darwin_core_are_known(word):
    lot, odd = a_lot(disposition=word)
    assert (lot.disposition, odd) == (Disposition(word), {})


def test_a_disposition_that_is_not_known_is_kept_as_told():
    lot, odd = a_lot(disposition="voucher elsewhere")
    assert (lot.disposition, lot.told) == (None, (("disposition", "voucher elsewhere"),))
    assert odd == {"disposition-unknown": 1}


def test_custody_and_ownership_are_never_read_off_each_other():
    lot, _ = a_lot(institutionCode="MVZ")
    assert (lot.institution, lot.owner) == ("MVZ", None)
    lot, _ = a_lot(ownerInstitutionCode="NPS")
    assert (lot.institution, lot.owner) == (None, "NPS")


@pytest.mark.parametrize(
    ("written", "preparation"),
    [
        ("pinned", Preparation.PINNED), ("Pin", Preparation.PINNED), ("pointed", Preparation.POINTED),
        ("slide mount", Preparation.SLIDE), ("whole animal (EtOH)", Preparation.IN_FLUID),
        ("pinned | pinned", Preparation.PINNED), ("pinned | slide", None), ("skull", None),
    ],
)  # fmt: skip
def test_a_preparation_is_taken_when_all_that_are_listed_agree(written, preparation):
    assert a_lot(preparations=written)[0].line.preparation is preparation


def test_somebody_elses_properties_are_left_as_they_are():
    for told in ('{"line": 3}', '{"line": "3", "heightInMeters": 2}', "[1]", "[" * 5_000, '{"condition": true}'):
        lot, _ = a_lot(dynamicProperties=told)
        assert (lot.line.key, lot.told) == ("1", (("dynamicProperties", told),))


def test_a_consignment_has_a_line_for_each_taxon_with_all_its_specimens():
    beetle, wasp = Line("1", 3, "Aus bus", groups=("Coleoptera",)), Line("2", 4, "Cus dus")
    trays = Line("3", 30, "Aus bus", counted=Counted.UNIT_TRAY)
    read = [Lot(line) for line in (beetle, wasp, beetle, trays)]
    assert consignment_requests(read, Container.UNIT_TRAY) == [
        {"container": "unit_tray", "count": 1, "specimens": 6, "taxa": "Coleoptera Aus bus"},
        {"container": "unit_tray", "count": 1, "specimens": 4, "taxa": "Cus dus"},
    ]
