"""Lots over HTTP: an archive or a sheet in, an archive out that another reader reads, nothing lost between."""

import csv
import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from dwca.read import DwCAReader
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem
from sqlalchemy import Engine

from service.app import build

#: Parasitic wasps: public repository seltmann/darwin-core at commit 1ac8b1c (CC0), kept beside the project.
WASPS = Path(__file__).parents[3] / "shared" / "data" / "wasps"
ZIP = "application/zip"
DWC = "http://rs.tdwg.org/dwc/terms/"
GGBN = "http://data.ggbn.org/schemas/ggbn/terms/"


@pytest.fixture
def museums(engine: Engine) -> tuple[tuple[FlaskClient, Member], tuple[FlaskClient, Member]]:
    app = build(engine)
    north, south = enter(engine, "north", "North Museum", "NO"), enter(engine, "south", "South Museum", "SE")
    return (north.client(app), north), (south.client(app), south)


def a_consignment(museum: FlaskClient) -> str:
    offer = {"code": "c", "kind": "gift", "sender": {"name": "Orla Fennimore"}}
    return str(museum.post("/v1/consignments", json=offer).headers["Location"])


def packed(**files: str | bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name.replace("__", "."), content)
    return out.getvalue()


def upload(museum: FlaskClient, consignment: str, data: bytes, tag: str = '"1"', kind: str = ZIP) -> Any:
    sheet = "" if kind == ZIP else "/sheet"
    return museum.put(f"{consignment}/lots{sheet}", data=data, content_type=kind, headers={"If-Match": tag})


def read_by_others(data: bytes, folder: Path) -> list[Any]:
    path = folder / "a.zip"
    path.write_bytes(data)
    with DwCAReader(str(path)) as archive:
        rows = list(archive)
        # They are fetched when they are first asked for, and only while the archive is open.
        assert all(isinstance(row.extensions, list) for row in rows)
        return rows


@pytest.mark.skipif(not WASPS.is_dir(), reason="the wasps are not beside the project")
def test_1342_records_are_1342_lots_with_16_holotypes_and_351_paratypes(museums, tmp_path: Path) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    wasps = {path.name.replace(".", "__"): path.read_bytes() for path in WASPS.iterdir()}
    told = upload(museum, consignment, packed(**wasps))
    assert told.status_code == 200, told.text
    receipt = told.get_json()
    assert (receipt["records"], receipt["lots_stored"]) == (1_342, 1_342)
    assert {one["type_status"]: one["lots"] for one in receipt["types"]} == {"holotype": 16, "paratype": 351}
    odd = {one["kind"]: one["count"] for one in receipt["oddities"]}
    assert odd == {"metadata-missing": 1, "count-not-stated": 1_342, "not-a-name": 1}
    out = museum.get(f"{consignment}/lots/archive", headers={"Accept": ZIP})
    assert len(read_by_others(out.data, tmp_path)) == 1_342
    # The other reader wants the file about the data set, which this archive names and lacks.
    assert_nothing_is_lost(packed(**wasps, eml__xml="<eml/>"), out.data, tmp_path)


def assert_nothing_is_lost(came: bytes, went: bytes, folder: Path) -> None:
    """By another reader: the same records, each with its identifiers and with all that it said, and nothing else
    under any term that it could have said something under.
    """
    before, after = read_by_others(came, folder), read_by_others(went, folder)
    assert len(before) == len(after)
    for was, row in zip(before, after, strict=True):
        assert {term: row.data.get(term, "") for term in was.data} == was.data
        assert {value for term, value in row.data.items() if term not in was.data} <= {""}
    named = [row.id for row in before]
    if len(set(named)) == len(named):
        assert [row.id for row in after] == named


AWKWARD = """<archive xmlns="http://rs.tdwg.org/dwc/text/"><core rowType="http://rs.tdwg.org/dwc/terms/Occurrence"
 encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" fieldsEnclosedBy='"' ignoreHeaderLines="1">
<files><location>o.csv</location></files><id index="0"/>{fields}</core></archive>"""


def test_what_a_record_says_goes_out_in_its_own_words_and_what_it_does_not_say_not_at_all(
    museums, tmp_path: Path
) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    table = """id,occurrenceID,catalogNumber,otherCatalogNumbers,scientificName,vernacularName,family,\
individualCount,organismQuantity,organismQuantityType,preparations,typeStatus,higherClassification,dynamicProperties
1,urn:a:1,HM 1,,Carabus hortensis,,Carabidae,3,,,pinned,Holotype,,
2,,HM 2,"HM 3|HM 4",,ground beetle,,,12,individuals,Pinned | pinned,,Coleoptera|Carabidae,"{""a"": 1}"
3,urn:a:1,,,Cicindela,,,many,,,,possible holotype,,
lot-5,,, HM 9,  Cicindela  ,,,,,,,,,
5,urn:a:5,,,,,,25.0,,,,notatype,,
""".replace("\\\n", "")
    terms = table.split("\n", 1)[0].split(",")[1:]
    fields = "".join(f'<field index="{index}" term="{DWC}{term}"/>' for index, term in enumerate(terms, start=1))
    came = packed(meta__xml=AWKWARD.format(fields=fields), o__csv=table)
    assert upload(museum, consignment, came).get_json()["lots_stored"] == 5
    out = museum.get(f"{consignment}/lots/archive", headers={"Accept": ZIP}).data
    assert_nothing_is_lost(came, out, tmp_path)
    second = museum.get(f"{consignment}/lots").get_json()["items"][1]
    assert (second["record"], second["line"]["count"]) == ("2", 12)
    assert {"occurrenceID", "individualCount"} < set(second["unsaid"])
    # And once more, from our own archive.
    upload(museum, consignment, out, tag='"2"')
    again = museum.get(f"{consignment}/lots/archive", headers={"Accept": ZIP}).data
    assert_nothing_is_lost(came, again, tmp_path)


def test_records_keep_their_words_and_are_found_by_their_record(museums) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    table = "occurrenceID,scientificName,individualCount,habitat\nurn:a:1,Carabus hortensis,3,beech\nurn:a:2,,x,\n"
    receipt = upload(museum, consignment, packed(occurrences__csv=table)).get_json()
    assert receipt["specimens"] == 4
    assert {one["kind"] for one in receipt["oddities"]} == {"no-descriptor", "count-not-stated"}
    first, second = museum.get(f"{consignment}/lots").get_json()["items"]
    assert (first["record"], first["line"]["count"], first["line"]["taxon"]) == ("urn:a:1", 3, "Carabus hortensis")
    assert first["told"] == [{"term": "habitat", "value": "beech"}]
    assert {"term": "individualCount", "value": "x"} in second["told"]
    found = museum.get("/v1/external-identifiers?scheme=record&value=urn:a:2").get_json()["items"]
    assert [(one["kind"], one["href"], one["line"]) for one in found] == [("lot", f"{consignment}/lots", "2")]


def test_what_is_no_archive_changes_nothing_and_says_why(museums) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    good = packed(occurrences__csv="occurrenceID,scientificName\n1,Carabus\n")
    assert upload(museum, consignment, good).status_code == 200
    doctype = '<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><archive/>'
    for bad in (b"PK and no more", packed(readme__md="nothing"), packed(meta__xml=doctype)):
        assert_problem(upload(museum, consignment, bad, tag='"2"'), 422, "invalid")
    assert_problem(upload(museum, consignment, good, tag='"1"'), 412, "stale-version")
    assert_problem(upload(museum, consignment, good, kind="text/plain"), 415, "unsupported-media-type")
    assert len(museum.get(f"{consignment}/lots").get_json()["items"]) == 1


def test_lots_go_out_as_a_data_package_that_says_itself_how_it_is_to_be_read(museums) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    table = 'occurrenceID,catalogNumber,scientificName,individualCount\n7,"HM 1",Carabus,3\n7,,"=Cicindela, 2",\n'
    upload(museum, consignment, packed(o__csv=table))
    out = museum.get(f"{consignment}/lots/data-package", headers={"Accept": ZIP})
    assert (out.status_code, out.headers["ETag"]) == (200, '"2-zip"')
    with zipfile.ZipFile(io.BytesIO(out.data)) as package:
        told = json.loads(package.read("datapackage.json"))
        (material,) = told["resources"]
        text = io.StringIO(package.read(material["path"]).decode(material["encoding"]), newline="")
    assert told["id"] == f"urn:uuid:{consignment.rsplit('/', 1)[1]}"
    names = [field["name"] for field in material["schema"]["fields"]]
    header, *rows = csv.reader(text)
    assert header == names
    (key,) = material["schema"]["primaryKey"]
    first, second = (dict(zip(names, row, strict=True)) for row in rows)
    assert first[key] != second[key]
    assert [first[term] for term in ("catalogNumber", "scientificName", "objectQuantity")] == ["HM 1", "Carabus", "3"]
    assert [second[term] for term in ("catalogNumber", "scientificName", "objectQuantity")] == [
        "",
        "=Cicindela, 2",
        "",
    ]
    again = museum.get(f"{consignment}/lots/data-package", headers={"Accept": ZIP, "If-None-Match": '"2-zip"'})
    assert again.status_code == 304


def test_two_records_of_one_name_go_out_as_two(museums, tmp_path: Path) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    upload(museum, consignment, packed(o__csv="occurrenceID,scientificName\n7,Carabus\n7,Cicindela\n"))
    out = museum.get(f"{consignment}/lots/archive", headers={"Accept": ZIP})
    rows = read_by_others(out.data, tmp_path)
    assert [(row.data[DWC + "occurrenceID"], row.data[DWC + "scientificName"]) for row in rows] == [
        ("7", "Carabus"), ("7", "Cicindela"),
    ]  # fmt: skip
    assert out.headers["Content-Disposition"].startswith("attachment")


def test_a_sheet_of_lots_comes_in_with_semicolons_and_a_mark_and_goes_out_without_formulas(museums) -> None:
    museum = museums[0][0]
    consignment = a_consignment(museum)
    sheet = "\ufeffrecord;count;taxon;disposition;owner_institution_code\n1;3;=HYPERLINK(1);On loan;KES\n2;1;@b;;\n"
    assert upload(museum, consignment, sheet.encode(), kind="text/csv").status_code == 200
    first = museum.get(f"{consignment}/lots").get_json()["items"][0]
    assert (first["line"]["taxon"], first["owner"], first["disposition"]) == ("=HYPERLINK(1)", "KES", "on loan")
    out = museum.get(f"{consignment}/lots", headers={"Accept": "text/csv"}).text
    assert [row["taxon"] for row in csv.DictReader(io.StringIO(out))] == ["'=HYPERLINK(1)", "'@b"]
    assert upload(museum, consignment, out.encode(), tag='"2"', kind="text/csv").status_code == 200
    again = museum.get(f"{consignment}/lots").get_json()["items"]
    assert [lot["line"]["taxon"] for lot in again] == ["=HYPERLINK(1)", "@b"]
    bad = upload(museum, consignment, b"count,disposition\nmany,elsewhere\n", tag='"3"', kind="text/csv")
    cells = {fault["cell"] for fault in bad.get_json(force=True)["errors"]}
    assert cells == {"row 2, column count", "row 2, column disposition"}


def test_a_loan_goes_out_with_who_holds_and_who_owns_it(museums, tmp_path: Path) -> None:
    (lender, north), (borrower, south) = museums
    names = f"/v1/institutions/{north.id}/identifiers"
    ror = {"identifiers": [{"scheme": "ror", "value": "015hz7p22"}]}
    lender.put(names, json=ror, headers={"If-Match": lender.get(names).headers["ETag"]})
    loan = lender.post(
        "/v1/transfers",
        json={
            "code": "L-14", "kind": "loan", "lender": {"institution_id": str(north.id)},
            "borrower": {"institution_id": str(south.id)}, "answerable": {"name": "Dr Ines Halloran"},
            "purpose": "Revision", "by": "Marta Quillfeather", "on": "2026-03-01",
            "lines": [{"key": "1", "count": 120, "taxon": "Carabus hortensis", "type_status": "not_a_type"},
                      {"key": "2", "count": 5, "taxon": "Cicindela", "type_status": "not_a_type"}],
        },
    )  # fmt: skip
    address = loan.headers["Location"]
    lender.post(f"{address}/permits", json={"kind": "Export Permit", "status": "Permit available", "number": "N-1"})
    signed = {"step": "signed", "agreement": loan.get_json()["agreement"]}
    one = {"moves": [{"line": "1", "count": 120}]}
    steps = [
        (lender, signed), (borrower, signed), (lender, {"step": "packed"} | one),
        (lender, {"step": "dispatched"} | one), (borrower, {"step": "received"} | one),
        (borrower, {"step": "acknowledged"}), (lender, {"step": "retained", "moves": [{"line": "1", "count": 15}]}),
    ]  # fmt: skip
    for number, (who, step) in enumerate(steps):
        said = step | {"by": "A. Clerk", "on": "2026-03-02"}
        added = who.post(f"{address}/facts", json=said, headers={"Idempotency-Key": f"step-number-{number}"})
        assert added.status_code == 201, added.text
    rows = read_by_others(borrower.get(f"{address}/archive", headers={"Accept": ZIP}).data, tmp_path)
    told = {
        (row.data[DWC + "scientificName"], row.data[DWC + "disposition"]): (
            row.data[DWC + "individualCount"],
            row.data[DWC + "institutionCode"],
            row.data[DWC + "institutionID"],
            row.data[DWC + "ownerInstitutionCode"],
        )
        for row in rows
    }
    assert told == {
        ("Carabus hortensis", "on loan"): ("105", "south", "", "north"),
        ("Carabus hortensis", "in collection"): ("15", "south", "", "south"),
        ("Cicindela", "in collection"): ("5", "north", "https://ror.org/015hz7p22", "north"),
    }
    away = next(row for row in rows if row.data[DWC + "disposition"] == "on loan")
    package = borrower.get(f"{address}/data-package", headers={"Accept": ZIP})
    with zipfile.ZipFile(io.BytesIO(package.data)) as opened:
        material = list(csv.DictReader(io.StringIO(opened.read("material.csv").decode(), newline="")))
    assert {(row["scientificName"], row["disposition"], row["objectQuantity"], row["ownerInstitutionCode"]) for row in
            material} == {(taxon, where, said[0], said[3]) for (taxon, where), said in told.items()}  # fmt: skip
    extensions = {one.rowtype.rsplit("/", 1)[1]: one.data for one in away.extensions}
    assert extensions["Loan"][GGBN + "loanIdentifier"] == "L-14"
    assert extensions["Loan"][GGBN + "loanDate"] == "2026-03-02"
    assert extensions["Permit"][GGBN + "permitURI"] == "N-1"
