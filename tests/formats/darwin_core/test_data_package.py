"""Packages by the Darwin Core Data Package guide (TDWG, issue of 2026-05-26), sections 3.1 to 3.3."""

import csv
import io
import json
import zipfile
from dataclasses import replace
from datetime import date

import pytest

from service.core.lots import Disposition, Lot
from service.core.transfers.lines import Counted, Line
from service.formats.darwin_core.data_package import write_data_package
from service.formats.darwin_core.writing import About

ABOUT = About("Lots of the Hollow Museum", "Hollow Museum", date(2026, 11, 25))
BEETLES = Lot(Line("1", 12, "Carabus auratus", remarks='a "b",\nc'), "urn:x:1", "NM", owner="HM",
              disposition=Disposition.ON_LOAN)  # fmt: skip
TRAYS = Lot(Line("2", 30, counted=Counted.UNIT_TRAY), "urn:x:2", "HM")


@pytest.fixture
def package():
    out = io.BytesIO()
    assert write_data_package(out, [BEETLES, TRAYS], ABOUT, "urn:x:lots") == 2
    with zipfile.ZipFile(out) as packed:
        yield packed


def test_the_descriptor_says_what_the_guide_demands(package):
    said = json.loads(package.read("datapackage.json"))
    assert said["profile"].startswith("http://rs.tdwg.org/dwc-dp/")
    assert (said["id"], said["created"]) == ("urn:x:lots", "2026-11-25T00:00:00Z")
    (table,) = said["resources"]
    assert table["name"] == "material"  # a reserved name of the guide's section 4
    assert (table["profile"], table["mediatype"]) == ("tabular-data-resource", "text/csv")
    assert all(field["dcterms:isVersionOf"].endswith(f"/{field['name']}") for field in table["schema"]["fields"])
    assert {table["path"], "eml.xml"} < set(package.namelist())


def test_the_table_has_the_described_columns_and_says_who_holds_and_who_owns(package):
    (table,) = json.loads(package.read("datapackage.json"))["resources"]
    text = package.read(table["path"]).decode()
    assert text.count("\r\n") == 3  # RFC 4180 parts rows so, and cells keep their own line feeds
    beetles, trays = rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [field["name"] for field in table["schema"]["fields"]] == list(beetles)
    assert [row["materialEntityID"] for row in rows] == ["urn:x:1", "urn:x:2"]
    assert (beetles["institutionCode"], beetles["ownerInstitutionCode"], beetles["disposition"]) == (
        "NM", "HM", "on loan",
    )  # fmt: skip
    assert (beetles["objectQuantity"], beetles["objectQuantityType"]) == ("12", "individuals")
    assert (trays["objectQuantity"], trays["objectQuantityType"]) == ("30", "unit tray")
    assert beetles["materialEntityRemarks"] == 'a "b",\nc'


def test_two_lots_of_one_name_have_each_a_key_and_a_count_that_nobody_stated_is_left_out():
    out = io.BytesIO()
    assumed = replace(TRAYS, unsaid=("individualCount",))
    write_data_package(out, [TRAYS, assumed], ABOUT, "urn:x:lots")
    with zipfile.ZipFile(out) as packed:
        rows = list(csv.DictReader(io.StringIO(packed.read("material.csv").decode(), newline="")))
    assert [(row["materialEntityID"], row["objectQuantity"]) for row in rows] == [("urn:x:2", "30"), ("lot-2", "")]
