"""A loan's parcel planned, its papers printed and checked, a fact changed, and the old paper says so: over real HTTP.

Ambleford lends Kesselbrook sixty ground beetles in three unit trays, four slides and a drawer that nobody measured.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from live_service import live_service
from members import enter
from museum_terminal import At
from pdf_samples import pages_of, qr_codes
from sqlalchemy import Engine

PDF = {"Accept": "application/pdf"}
LINES = [
    {"key": "1", "count": 60, "taxon": "Carabus hortensis", "preparation": "pinned", "type_status": "not_a_type",
     "storage": "unit_tray", "storage_count": 3, "tray": "half", "treatments_used": ["naphthalene"]},
    {"key": "2", "count": 4, "taxon": "Amara aenea", "preparation": "slide", "type_status": "not_a_type",
     "storage": "storage_box", "storage_count": 1, "treatments_used": []},
    {"key": "3", "count": 200, "taxon": "Parnassius apollo", "preparation": "spread", "type_status": "not_a_type",
     "storage": "drawer", "storage_count": 1},
]  # fmt: skip


def room(width: float, depth: float, height: float) -> dict[str, float]:
    return {"width_mm": width, "depth_mm": depth, "height_mm": height}


BENCH = {
    "inner_boxes": [{"code": "s", "name": "Small", "inner": room(310, 210, 60), "outer": room(318, 218, 68)}],
    "cartons": [{"code": "c", "name": "Carton", "inner": room(430, 330, 200), "outer": room(444, 344, 214)}],
    "carriers": [{"code": "post", "name": "Parcel post", "divisor_cm3_per_kg": 5000, "step_g": 500}],
    "contact": {"name": "Marta Quillfeather", "address": ["1 Quay Lane", "Ambleford"]},
    "tariff_code": "9705.00",
}
PIECES = [
    {"key": "trays", "container": "unit_tray", "count": 3, "lines": ["1"], "outer": room(100, 200, 45),
     "mass_g": 150, "holds": "pinned", "heavy_bodied": True, "fumigants": []},
    {"key": "slides", "container": "storage_box", "count": 1, "lines": ["2"], "outer": room(200, 90, 40),
     "mass_g": 300, "holds": "slides", "fumigants": []},
]  # fmt: skip


@pytest.fixture
def museums(database: str, engine: Engine) -> Iterator[tuple[At, At]]:
    lender = enter(engine, "ambleford", "Ambleford Museum", "GB")
    borrower = enter(engine, "kesselbrook", "Kesselbrook 昆虫 Collection", "US")
    with live_service(database) as address:
        yield At(address, lender), At(address, borrower)


def a_loan(ambleford: At, kesselbrook: At) -> str:
    text = {
        "code": "L-2026-9", "kind": "loan", "by": "Marta Quillfeather", "on": "2026-01-02",
        "lender": {"institution_id": str(ambleford.member.id), "cites_code": "GB998"},
        "borrower": {"institution_id": str(kesselbrook.member.id)},
        "answerable": {"name": "Dr Ines Halloran"}, "purpose": "Revision of the genus Carabus", "lines": LINES,
    }  # fmt: skip
    return ambleford.call("POST", "/v1/transfers", 201, json=text).headers["Location"]


def sign_and_send(loan: str, ambleford: At, kesselbrook: At) -> None:
    agreement = ambleford.get(loan)["agreement"]
    for place, museum in enumerate((ambleford, kesselbrook)):
        told = {"step": "signed", "by": "Somebody", "on": "2026-01-03", "agreement": agreement}
        museum.call("POST", f"{loan}/facts", 201, json=told, headers={"Idempotency-Key": f"sign-{place}-000"})
    for step in ("packed", "dispatched"):
        told = {"step": step, "by": "Marta Quillfeather", "on": "2026-01-09", "everything": True}
        ambleford.call("POST", f"{loan}/facts", 201, json=told, headers={"Idempotency-Key": f"{step}-0000"})


def a_plan(loan: str, ambleford: At) -> dict[str, Any]:
    bench = f"/v1/packing-benches/{ambleford.member.id}"
    ambleford.call("PUT", bench, 200, json=BENCH, headers={"If-Match": '"0"'})
    asked = {"carrier": "post", "pieces": PIECES}
    return dict(ambleford.call("POST", f"{loan}/parcel-plans", 201, json=asked).json())


def a_paper(loan: str, at: At, kind: str, **said: Any) -> dict[str, Any]:
    new = {"kind": kind, "by": "Marta Quillfeather", "on": "2026-01-08", **said}
    return dict(at.call("POST", f"{loan}/papers", 201, json=new).json())


def pdf_of(paper: dict[str, Any], at: At) -> bytes:
    address = f"/v1/transfers/{paper['transfer_id']}/papers/{paper['id']}"
    return bytes(at.call("GET", address, 200, headers=PDF).content)


def text_of(paper: dict[str, Any], at: At) -> str:
    """What another program reads off the pages, as running text."""
    return " ".join("".join(pages_of(pdf_of(paper, at))).split())


def test_a_loan_is_packed_with_its_slides_apart_and_what_nobody_measured_left_out(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    plan = a_plan(a_loan(ambleford, kesselbrook), ambleford)
    # Three trays of 100 by 200 mm lie side by side in the box of 310 by 210 mm; that is 318 by 218 mm outside, and
    # with 50 mm all round it goes into the carton of 430 by 330 mm. Slides go alone, into another of the same.
    assert [(parcel["holds"], parcel["code"]) for parcel in plan["parcels"]] == [("pinned", "c"), ("slides", "c")]
    assert [len(box["trays"]) for box in plan["inner_boxes"]] == [3]
    assert all(gap >= 50 for parcel in plan["parcels"] for gap in parcel["padding"].values())
    # 444 × 344 × 214 mm are 32,685.5 cm³, by 5,000 that is 6.537 kg, in steps of half a kilogram 7 kg.
    assert [parcel["chargeable_g"] for parcel in plan["parcels"]] == [7_000, 7_000]
    assert [each["piece"] for each in plan["left_out"]] == ["3"]
    assert any("Brace heavy" in step for step in plan["instructions"])


def test_papers_are_printed_checked_and_say_later_what_has_changed(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    loan = a_loan(ambleford, kesselbrook)
    paper = a_paper(loan, ambleford, "specimen_list")
    pdf = pdf_of(paper, ambleford)
    assert pdf == pdf_of(paper, kesselbrook), "the same bytes for both sides, whenever they ask"
    text = "".join(pages_of(pdf))
    assert paper["check_code"] in text
    assert "Kesselbrook 昆虫 Collection" in text
    assert "Naphthalene was used on it" in text
    assert "Total 264" in text
    (address,) = qr_codes(pdf)
    assert address == f"{ambleford.address}/v1/papers/{paper['check_code']}"

    held = kesselbrook.get(address.removeprefix(ambleford.address))
    assert (held["as_printed"], held["changes"]) == (True, [])
    typed = paper["check_code"].lower().replace("-", "").replace("0", "o")
    assert kesselbrook.get(f"/v1/papers/{typed}")["as_printed"]

    change(loan, ambleford, count=58)
    old = kesselbrook.get(f"/v1/papers/{paper['check_code']}")
    assert not old["as_printed"]
    assert {"where": "Lines: line 1, Count", "printed": "60", "now": "58"} in old["changes"]
    assert [fact["step"] for fact in old["facts_since"]] == ["written"]
    assert pdf_of(paper, ambleford) == pdf, "what was printed stays as it was printed"
    assert ambleford.get(f"/v1/papers/{a_paper(loan, ambleford, 'specimen_list')['check_code']}")["as_printed"]


def change(loan: str, ambleford: At, count: int) -> None:
    """A line is written anew with another count."""
    now = ambleford.call("GET", loan, 200)
    text = {name: now.json()[name] for name in ("answerable", "purpose")}
    lines = [{**LINES[0], "count": count}, *LINES[1:]]
    again = {**text, "by": "Marta Quillfeather", "lines": lines}
    ambleford.call("PUT", loan, 200, json=again, headers={"If-Match": now.headers["ETag"]})


def test_each_paper_of_a_loan_can_be_had_when_its_time_has_come(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    loan = a_loan(ambleford, kesselbrook)
    early = {"kind": "receipt", "by": "Somebody"}
    assert ambleford.call("POST", f"{loan}/papers", 409, json=early).json()["type"].endswith("paper-too-early")
    plan = a_plan(loan, ambleford)
    agreement = a_paper(loan, ambleford, "agreement", size="Letter")
    sign_and_send(loan, ambleford, kesselbrook)
    changed = kesselbrook.get(f"/v1/papers/{agreement['check_code']}")["changes"]
    assert {"where": "Signed in the service: lender, By", "printed": "not yet", "now": "Somebody"} in changed
    parcel = text_of(a_paper(loan, ambleford, "parcel_text", parcel_plan_id=plan["id"]), ambleford)
    assert "Preserved museum specimens: dried insects on pins and insects on microscope slides" in parcel.replace(
        "\r\n", " "
    )
    assert "444 × 344 × 214" in parcel
    label = text_of(a_paper(loan, ambleford, "cites_label"), ambleford)
    assert "GB998" in label
    assert "missing: ask your Management Authority" in label
    receipt = a_paper(loan, kesselbrook, "receipt")
    assert "Acknowledgement of receipt" in text_of(receipt, kesselbrook)


def test_a_labels_code_leads_to_its_lot(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    loan = a_loan(ambleford, kesselbrook)
    codes = qr_codes(pdf_of(a_paper(loan, ambleford, "labels"), ambleford))
    lots = sorted({code for code in codes if "/lines/" in code})
    assert len([code for code in codes if "/lines/" in code]) == 3 + 1 + 1
    assert [ambleford.get(lot.removeprefix(ambleford.address))["taxon"] for lot in lots] == [
        "Carabus hortensis", "Amara aenea", "Parnassius apollo",
    ]  # fmt: skip


def test_a_code_with_a_slip_is_told_from_one_that_was_never_printed_and_strangers_learn_nothing(
    museums: tuple[At, At], engine: Engine
) -> None:
    ambleford, kesselbrook = museums
    code = a_paper(a_loan(ambleford, kesselbrook), ambleford, "agreement")["check_code"]
    wrong = ("1" if code[0] == "0" else "0") + code[1:]
    assert "does not check" in ambleford.call("GET", f"/v1/papers/{wrong}", 404).json()["detail"]
    stranger = At(ambleford.address, enter(engine, "stranger", "A stranger"))
    assert "There is no paper" in stranger.call("GET", f"/v1/papers/{code}", 404).json()["detail"]
