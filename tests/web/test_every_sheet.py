"""Every kind of sheet goes out and comes in again over HTTP, through spreadsheet programs, and holds no formula.

The kinds are held against the contract and against the forms that there are, so that a new one cannot be forgotten.
"""

import csv
import io
import pkgutil
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any
from uuid import uuid4

import pytest
from flask.testing import FlaskClient
from members import Member, enter
from shelves import furnish, tray_row
from sqlalchemy import Engine

from service import formats
from service.app import build, document
from service.formats.cabinets_csv import CABINETS
from service.formats.consignment_csv import CONSIGNMENT
from service.formats.drawers_csv import DRAWERS
from service.formats.inventory_csv import INVENTORY, SEQUENCE
from service.formats.lots_csv import LOTS
from service.formats.sheet import Sheet
from service.formats.transfer_lines_csv import TRANSFER_LINES
from service.formats.trays_csv import TRAYS
from service.formats.wanted_trays_csv import WANTED_TAXA, WANTED_TRAYS

CSV = "text/csv"
CONTRACT = document()
#: What a spreadsheet would reckon with, and how it goes out: by each of the signs that OWASP's page on CSV injection
#: names, and behind a semicolon, which begins a new cell where semicolons part them.
FORMULAS = {
    '=HYPERLINK("x";1,2)': '\'=HYPERLINK("x";1,2)',
    "+1+1": "'+1+1",
    "-2+3": "'-2+3",
    "@SUM(A1)": "'@SUM(A1)",
    "one; =1+1": "one;' =1+1",
}


@dataclass(frozen=True)
class Museums:
    """Two museums of one service."""

    north: Member
    south: Member
    client: FlaskClient
    other: FlaskClient


@pytest.fixture
def museums(shared_engine: Engine) -> Museums:
    app, mark = build(shared_engine), uuid4().hex[:10]
    north, south = enter(shared_engine, f"n-{mark}", "@North"), enter(shared_engine, f"s-{mark}", "South")
    return Museums(north, south, north.client(app), south.client(app))


@dataclass(frozen=True)
class Place:
    """Where a sheet is read and sent, where the same stands in JSON, and what tells the version to change."""

    read: str
    send: str
    json: str
    version: str | None = None


def _draft(museums: Museums) -> str:
    system = museums.client.post("/v1/storage-systems", json={"code": "hall", "name": "Hall", "visibility": "owner"})
    return str(
        museums.client.post(f"{system.headers['Location']}/revisions", json={"content": {}}).headers["Location"]
    )


def _part(name: str) -> Callable[[Museums], Place]:
    def placed(museums: Museums) -> Place:
        draft = _draft(museums)
        return Place(f"{draft}/sheets/{name}", f"{draft}/sheets/{name}", draft, draft)

    return placed


def _consignment(museums: Museums) -> str:
    offer = {"code": "c", "kind": "gift", "sender": {"name": "Orla Fennimore"}}
    return str(museums.client.post("/v1/consignments", json=offer).headers["Location"])


def _lines(museums: Museums) -> Place:
    address = _consignment(museums)
    return Place(f"{address}/lines", f"{address}/lines", address, address)


def _lots(museums: Museums) -> Place:
    address = _consignment(museums)
    return Place(f"{address}/lots", f"{address}/lots/sheet", f"{address}/lots", address)


def _loan(museums: Museums, **line: Any) -> str:
    made = museums.client.post(
        "/v1/transfers",
        json={
            "code": "L-1", "kind": "loan", "lender": {"institution_id": str(museums.north.id)},
            "borrower": {"institution_id": str(museums.south.id)}, "answerable": {"name": "Dr Ines Halloran"},
            "purpose": "Revision", "by": "Marta Quillfeather", "on": "2026-03-01",
            "lines": [{"key": "1", "count": 1, "taxon": "Carabus", "type_status": "not_a_type"} | line],
        },
    )  # fmt: skip
    assert made.status_code == 201, made.text
    return str(made.headers["Location"])


def _transfer_lines(museums: Museums) -> Place:
    address = _loan(museums)
    return Place(f"{address}/lines", f"{address}/lines?by=Marta", f"{address}/lines", address)


def _inventory(_: Museums) -> Place:
    return Place("/v1/inventory", "/v1/inventory?by=Marta", "/v1/trays")


def _sequence(_: Museums) -> Place:
    return Place("/v1/taxon-sequence", "/v1/taxon-sequence", "/v1/taxon-sequence")


@dataclass(frozen=True)
class Kind:
    """A kind of sheet: the operations that give and take it, and a row of it.

    ``row`` has N where each row has another number; in the columns of ``free`` people write what they like.
    """

    form: Sheet
    gives: str
    takes: str
    placed: Callable[[Museums], Place]
    free: tuple[str, ...]
    row: dict[str, str] = field(default_factory=dict)

    def sheet(self) -> list[list[str]]:
        """The headings, and a row with each of the formulas wherever somebody may write freely."""
        headings = [*self.row, *self.free]
        written = [
            [cell.replace("N", str(number)) for cell in self.row.values()] + [formula] * len(self.free)
            for number, formula in enumerate(FORMULAS, start=1)
        ]
        return [headings, *written]


_OF_SYSTEM = ("get_revision_sheet", "upload_revision_sheet")
KINDS = (
    Kind(
        CABINETS, *_OF_SYSTEM, _part("cabinets"), ("name", "material"),
        {"code": "steel-N", "count": "12", "columns": "2", "opening_width_mm": "486,5", "pitch_mm": "3 1/4 in",
         "runners_removable": "no"},
    ),
    Kind(
        DRAWERS, *_OF_SYSTEM, _part("drawers"), ("name", "wood"),
        {"code": "amble-N", "outer_width_mm": "18 7/8 in", "inner_width_mm": "450", "lining": "cork",
         "lining_glued_firmly": "yes", "along_grain": "width"},
    ),
    Kind(
        TRAYS, *_OF_SYSTEM, _part("unit-trays"), ("series_name", "name"),
        {"series": "series-N", "play_mm": "0.5", "may_turn": "no", "code": "half-N", "outer_width_mm": "99.5",
         "bottom": "polyethylene_foam"},
    ),
    Kind(
        CONSIGNMENT, "get_lines_sheet", "upload_lines", _lines, ("description", "wood", "taxa", "condition"),
        {"container": "drawer", "count": "N", "outer_width_mm": "19 in", "tray_count": "0",
         "sender_temperature_c": "-5", "sender_humidity_percent": "55", "identifiers": "our-lots:N",
         "treatments_used": "none"},
    ),
    Kind(
        LOTS, "list_lots", "upload_lots_sheet", _lots,
        ("record", "taxon", "remarks", "institution_code", "institution_id", "owner_institution_code",
         "collection_code"),
        {"count": "N", "type_status": "paratype", "catalogue_numbers": "A 1;A 2", "disposition": "on loan"},
    ),
    Kind(
        TRANSFER_LINES, "list_transfer_lines", "upload_transfer_lines", _transfer_lines, ("taxon", "remarks"),
        {"key": "line-N", "count": "N", "type_status": "holotype", "groups": "Coleoptera; Carabidae"},
    ),
    Kind(
        INVENTORY, "get_inventory", "upload_inventory", _inventory,
        ("room_name", "cabinet_name", "drawer_label", "taxon", "label"),
        {"room": "hall-N", "cabinet": "A-N", "positions_per_column": "10", "drawer": "D-N", "position": "1",
         "style": "amble", "inner_width_mm": "16 1/2 in", "inner_depth_mm": "400", "reserve_percent": "12.5",
         "tray": "T-N", "place": "1", "specimens": "3", "width_mm": "130", "depth_mm": "19,0 cm"},
    ),
    Kind(SEQUENCE, "list_taxon_sequence", "upload_taxon_sequence", _sequence, ("family", "genus", "species")),
)  # fmt: skip
#: Sheets to read on, which are not sent back.
READ_ONLY = {"get_walking_list", "list_lots_held", "list_desk"}
#: A logger's time and figures: nobody writes in them, and tests/formats/test_readings_csv.py has their dialects.
OF_A_LOGGER = {"get_quarantine_readings", "add_log"}
each_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.form.kind.replace(" ", "-"))


def _parted_by(delimiter: str) -> Callable[[list[list[str]]], str]:
    def parted(rows: list[list[str]]) -> str:
        text = io.StringIO(newline="")
        csv.writer(text, delimiter=delimiter).writerows(rows)
        return text.getvalue()

    return parted


WAYS = {
    "commas": lambda rows: _parted_by(",")(rows).encode(),
    "byte-order-mark": lambda rows: _parted_by(",")(rows).encode("utf-8-sig"),
    "semicolons": lambda rows: _parted_by(";")(rows).encode(),
    "byte-order-mark-and-semicolons": lambda rows: _parted_by(";")(rows).encode("utf-8-sig"),
    "tabs-in-utf-16": lambda rows: _parted_by("\t")(rows).encode("utf-16"),
}
each_way = pytest.mark.parametrize("way", WAYS.values(), ids=WAYS)


def send(museum: FlaskClient, place: Place, data: bytes) -> None:
    tag = {"If-Match": museum.get(place.version).headers["ETag"]} if place.version else {}
    sent = museum.put(place.send, data=data, content_type=CSV, headers=tag)
    assert sent.status_code == 200, sent.text


def read(museum: FlaskClient, address: str) -> list[list[str]]:
    """The cells of a sheet, in none of which stands a formula, whatever a program takes to part them."""
    answer = museum.get(address, headers={"Accept": CSV})
    assert (answer.status_code, answer.mimetype) == (200, CSV)
    text = answer.get_data(as_text=True)
    for delimiter in ",;\t":
        for cell in (cell for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter) for cell in row):
            assert not re.match(r"\s*[=+\-@]", cell) or re.fullmatch(r"-?[0-9.]+", cell), cell
    return list(csv.reader(io.StringIO(text, newline="")))


def texts(told: Any) -> list[str]:
    """All that a JSON answer says in words."""
    if isinstance(told, dict | list):
        return [text for one in (told.values() if isinstance(told, dict) else told) for text in texts(one)]
    return [told] if isinstance(told, str) else []


def said(museum: FlaskClient, place: Place) -> Any:
    """What the place says in JSON, but for its version."""
    told = dict(museum.get(place.json).get_json())
    return {name: value for name, value in told.items() if name not in {"version", "updated_at"}}


@each_way
@each_kind
def test_a_sheet_comes_in_from_any_program_and_what_goes_out_changes_nothing(
    museums: Museums, kind: Kind, way: Callable[[list[list[str]]], bytes]
) -> None:
    museum, place = museums.client, kind.placed(museums)
    sent = kind.sheet()
    send(museum, place, way(sent))
    before = said(museum, place)
    out = read(museum, place.read)
    columns = len(kind.form.columns)
    assert out[0][:columns] == list(kind.form.headings)
    assert set(out[0][columns:]) <= set(kind.form.passed_over)
    rows = [dict(zip(out[0], row, strict=True)) for row in out[1:]]
    for heading in kind.free:
        assert sorted(row[heading] for row in rows) == sorted(FORMULAS.values())
    # In JSON stands what somebody wrote, and no apostrophe.
    assert set(texts(before)) >= set(FORMULAS)
    assert not [text for text in texts(before) if text.startswith("'")]
    send(museum, place, way(out))
    assert said(museum, place) == before
    assert read(museum, place.read) == out


@each_kind
def test_a_heading_that_no_sheet_has_is_named_with_those_that_there_are(museums: Museums, kind: Kind) -> None:
    place = kind.placed(museums)
    tag = {"If-Match": museums.client.get(place.version).headers["ETag"]} if place.version else {}
    refused = museums.client.put(place.send, data=b"colour\nred\n", content_type=CSV, headers=tag)
    assert refused.status_code == 422
    assert ", ".join(kind.form.headings) in refused.get_json(force=True)["errors"][0]["detail"]


@each_kind
def test_the_contract_says_what_stands_under_each_heading(kind: Kind) -> None:
    methods = CONTRACT.document()["paths"].values()
    described = next(one["put"] for one in methods if one.get("put", {}).get("operationId") == kind.takes)
    told = described["requestBody"]["content"][CSV]["schema"]["description"]
    for column in kind.form.columns:
        wanted = " (required)" if column.heading in kind.form.required else ""
        assert f"- `{column.heading}`{wanted}: {column.explained}" in told.split("\n")


def test_every_operation_on_sheets_is_tried_here() -> None:
    giving = {one.name for one in CONTRACT.operations if CSV in one.media}
    taking = {one.name for one in CONTRACT.operations if one.upload == CSV}
    assert giving | taking == {name for kind in KINDS for name in (kind.gives, kind.takes)} | READ_ONLY | OF_A_LOGGER


def test_every_form_that_there_is_is_tried_here() -> None:
    modules = [import_module(one.name) for one in pkgutil.walk_packages(formats.__path__, f"{formats.__name__}.")]
    forms = {id(one): one.kind for module in modules for one in vars(module).values() if isinstance(one, Sheet)}
    tried = {id(kind.form): kind.form.kind for kind in KINDS}
    # What is to be housed is read by the command line alone.
    assert forms == tried | {id(form): form.kind for form in (WANTED_TRAYS, WANTED_TAXA)}


def test_a_walking_list_holds_no_formula(museums: Museums) -> None:
    rules = museums.client.put("/v1/arrangement-rules", json={"reserve_percent": 0}, headers={"If-Match": '"0"'})
    assert rules.status_code == 200, rules.text
    send(museums.client, _sequence(museums), b"genus\n=Carabus\n")
    furnish(museums.client, tray_row("T1", "D1", taxon="=Carabus", label="@label"))
    arriving = {"code": "T2", "taxon": "=Carabus", "label": "+label", "width_mm": 130, "depth_mm": 190}
    made = museums.client.post("/v1/arrangement-plans", json={"take_in": {"trays": [arriving]}})
    assert made.status_code == 201, made.text
    out = read(museums.client, f"{made.headers['Location']}/walking-list")
    step = dict(zip(out[0], out[1], strict=True))
    assert (step["tray"], step["taxon"], step["label"]) == ("T2", "'=Carabus", "'+label")


def test_the_lists_of_the_desk_and_of_what_is_held_hold_no_formula(museums: Museums) -> None:
    address = _loan(museums, taxon="-Carabus")
    agreement = museums.client.get(address).get_json()["agreement"]
    steps = [
        (museums.client, {"step": "signed", "agreement": agreement}),
        (museums.other, {"step": "signed", "agreement": agreement}),
        (museums.client, {"step": "packed", "everything": True}),
        (museums.client, {"step": "dispatched", "everything": True}),
    ]
    for who, step in steps:
        fact = step | {"by": "A. Clerk", "on": "2026-03-02"}
        added = who.post(f"{address}/facts", json=fact, headers={"Idempotency-Key": uuid4().hex})
        assert added.status_code == 201, added.text
    held = read(museums.client, "/v1/custody/lots")
    arriving = read(museums.other, "/v1/desk?list=awaiting_receipt&as_of=2026-03-20")
    assert dict(zip(*held, strict=True))["taxon"] == "'-Carabus"
    assert dict(zip(*arriving, strict=True))["other_name"] == "'@North"
