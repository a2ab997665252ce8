"""A loan as two museums live it that share no database: over real HTTP and a real PostgreSQL, from text to closing.

Ambleford lends Kesselbrook sixty ground beetles in three of its own unit trays, a holotype in a fourth, and twelve in
a tray of a size that nobody wrote down. Every figure is worked out by hand in the comments beside it.
"""

import csv
import io
import os
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from live_service import live_service
from members import enter
from museum_terminal import At
from sqlalchemy import Engine

PE_FOAM = {"material": "polyethylene_foam", "thickness": 9, "glued_firmly": True}
PINS = {"length": 38, "depth": 6, "metal": "stainless_steel"}


def a_system(inner: dict[str, Any], tray: dict[str, Any]) -> dict[str, Any]:
    """A storage system of one drawer and one unit tray."""
    return {
        "cabinets": [
            {
                "code": "c",
                "name": "Cabinet",
                "count": 4,
                "opening": {"width": 505, "depth": 430, "height": 1985},
                "pitch": 70,
                "support": "side_runners",
                "runner_ledge": 12,
                "runners_removable": False,
                "doorway": "clears_opening",
                "free_positions": 40,
            }
        ],
        "drawers": [{"code": "d", "name": "Own drawer", "inner": inner}],
        "tray_series": [{"code": "t", "name": "Own trays", "play_mm": 0.5, "trays": [tray]}],
        "materials": {"accepted_bottoms": ["polyethylene_foam"], "treatments": ["freezing"]},
        "growth_reserve_percent": 0,
        "lid_air_gap_mm": 3,
    }


HALF = {
    "code": "half",
    "name": "Half",
    "outer": {"width": 100, "depth": 96, "height": 41},
    "base": 2,
    "bottom": PE_FOAM,
}
LINES = [
    {"key": "1", "count": 60, "taxon": "Carabus hortensis", "type_status": "not_a_type", "storage": "unit_tray",
     "storage_count": 3, "tray": "half", "held": 240, "pins": PINS, "treatments_used": ["freezing"]},
    {"key": "2", "count": 1, "taxon": "Carabus kesselbrookensis", "type_status": "holotype", "storage": "unit_tray",
     "storage_count": 1, "tray": "half", "held": 2, "pins": PINS, "treatments_used": ["freezing"],
     "catalogue_numbers": ["AMB 1902.17"], "identifiers": ["urn:uuid:0e1c6a9e-5a54-4f0b-8e57-3f6ff5d0a001"]},
    {"key": "3", "count": 12, "taxon": "Carabus sp.", "type_status": "not_a_type", "storage": "unit_tray"},
]  # fmt: skip
RULES = {
    "terms": {
        "lengths": [
            {"applies_to": "ordinary", "length": "P1Y"},
            {"applies_to": "primary_type", "length": "P3M"},
        ],
        "largest_share_lent": "1/2",
    }
}


@pytest.fixture
def museums(database: str, engine: Engine) -> Iterator[tuple[At, At]]:
    lender, borrower = (
        enter(engine, "ambleford", "Ambleford", "GB"),
        enter(engine, "kesselbrook", "Kesselbrook", "US"),
    )
    with live_service(database) as address:
        yield At(address, lender), At(address, borrower)


def a_loan(ambleford: At, kesselbrook: At) -> str:
    rules = f"/v1/loan-rules/{ambleford.member.id}"
    tag = ambleford.call("GET", rules, 200).headers["ETag"]
    ambleford.call("PUT", rules, 200, json=RULES, headers={"If-Match": tag})
    text = {
        "code": "L-2026-1",
        "kind": "loan",
        "lender": {"institution_id": str(ambleford.member.id)},
        "borrower": {"institution_id": str(kesselbrook.member.id)},
        "answerable": {"name": "Dr Ines Halloran", "position": "curator"},
        "user": {"name": "Tomasz Brill", "position": "doctoral student"},
        "purpose": "Revision of the genus Carabus",
        "by": "Registrar of ambleford",
        "on": "2026-01-02",
        "lines": LINES,
    }
    return ambleford.call("POST", "/v1/transfers", 201, json=text).headers["Location"]


def test_before_anybody_signs_the_service_says_whether_the_trays_fit_out_and_home(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    loan = a_loan(ambleford, kesselbrook)
    # Kesselbrook's drawer takes 4 × 4 trays of 100 by 96 mm with 0.5 mm of play: 402 of 410 mm, 386 of 388 mm.
    there = kesselbrook.publish(
        "range-b", "everybody", a_system({"width": 410, "depth": 388, "height": 60}, {**HALF, "code": "k"})
    )
    home = ambleford.publish("main-hall", "everybody", a_system({"width": 450, "depth": 388, "height": 60}, HALF))
    fit = ambleford.get(f"{loan}/fit?borrower_system_id={there}&lender_system_id={home}")
    out = {line["line"]: line for line in fit["out"]["answer"]["lines"]}
    assert [line["description"] for line in fit["containers"]] == [
        "Own trays: Half, of lines 1, 2",
        "unit tray, of line 3",
    ]
    assert (out[1]["count"], out[1]["verdict"], out[1]["missing"]) == (4, "by_the_tray", [])
    assert out[1]["tray_fits"][0]["tiling"]["count"] == 16
    # Nobody wrote down which tray line 3 is in: that is not known, and nothing is made up for it.
    assert out[2]["verdict"] == "hold"
    assert "lines[1].outer.width" in out[2]["missing"]
    assert [line["verdict"] for line in fit["home"]["answer"]["lines"]] == ["by_the_tray", "hold"]


def test_no_specimen_is_lost_on_the_way_out_and_home(museums: tuple[At, At], database: str) -> None:
    ambleford, kesselbrook = museums
    loan = a_loan(ambleford, kesselbrook)

    # Over a border, and nobody has said anything of a permit.
    codes = {notice["code"] for notice in kesselbrook.get(f"{loan}/notices")["notices"]}
    assert "permit-unknown" in codes

    agreement = ambleford.get(loan)["agreement"]
    ambleford.step(loan, "signed", on="2026-01-03", agreement=agreement)
    refused = ambleford.step(loan, "packed", 409, on="2026-01-05", everything=True)
    assert (refused["type"], refused["missing"]) == ("/problems/step-refused", "both-signed")
    kesselbrook.step(loan, "signed", on="2026-01-05", agreement=agreement)
    ambleford.step(loan, "packed", on="2026-01-31", everything=True)
    ambleford.step(loan, "dispatched", on="2026-01-31", everything=True)

    # A year from 31 January is 31 January; three months are 30 April, since April has no 31st.
    lines = ambleford.get(f"{loan}/lines")["items"]
    assert [line["due_on"] for line in lines] == ["2027-01-31", "2026-04-30", "2027-01-31"]

    # 73 were listed: 60 + 1 + 12. Eleven of the twelve are in the box.
    kesselbrook.step(loan, "received", on="2026-02-09", moves=[{"line": "1", "count": 60}, {"line": "2", "count": 1},
                                                              {"line": "3", "count": 11}])  # fmt: skip
    kesselbrook.step(
        loan, "difference_reported", on="2026-02-09", recounts=[{"line": "3", "listed": 12, "counted": 11}]
    )
    early = kesselbrook.step(loan, "acknowledged", 409, on="2026-02-10")
    assert early["missing"] in {"all-arrived", "no-difference"}
    assert [row["transfer_code"] for row in ambleford.get("/v1/desk?list=differences")["items"]] == ["L-2026-1"]
    ambleford.step(loan, "difference_settled", on="2026-02-11", reason="The twelfth never left the drawer.",
                   moves=[{"line": "3", "count": 1, "from": "transit_out", "to": "collection"}])  # fmt: skip
    kesselbrook.step(loan, "acknowledged", on="2026-02-12")

    # The type is overdue from 1 May on, and longer time is asked for and given for it alone.
    overdue = kesselbrook.get("/v1/desk?list=overdue&as_of=2026-05-10")["items"]
    assert [(row["line"], row["days"]) for row in overdue] == [("2", 10)]
    kesselbrook.step(loan, "extension_asked", on="2026-04-20", until="2026-07-31", lines=["2"])
    ambleford.step(loan, "extension_granted", on="2026-04-22", until="2026-07-31", lines=["2"])
    assert kesselbrook.get("/v1/desk?list=overdue&as_of=2026-05-10")["items"] == []

    # Home in two parts; one beetle was taken apart for its genitalia, and one is lost.
    kesselbrook.step(loan, "consumed", on="2026-05-01", reason="Dissected.", moves=[{"line": "1", "count": 1}])
    kesselbrook.step(
        loan, "sent_back", on="2026-06-01", moves=[{"line": "1", "count": 20}, {"line": "2", "count": 1}]
    )
    ambleford.step(loan, "received_back", on="2026-06-08", everything=True)
    kesselbrook.step(
        loan, "sent_back", on="2026-09-01", moves=[{"line": "1", "count": 38}, {"line": "3", "count": 11}]
    )
    ambleford.step(loan, "received_back", on="2026-09-09", everything=True)
    short = ambleford.step(loan, "reconciled", 409, on="2026-09-10")
    # 60 − 1 − 20 − 38 = 1 is still out.
    assert short["missing"] == "all-accounted-for"
    assert "1" in short["detail"]
    kesselbrook.step(loan, "lost", on="2026-09-20", reason="Not in the tray when it was packed.",
                     moves=[{"line": "1", "count": 1, "from": "borrower", "to": "lost"}])  # fmt: skip
    ambleford.step(loan, "reconciled", on="2026-09-25")
    closed = ambleford.step(loan, "closed", on="2026-09-26")
    totals = closed["totals"]
    # Of 72 that left (73 less the one that never did): 70 came back, 1 was consumed, 1 is lost.
    assert (totals["lent"], totals["returned"], totals["consumed"], totals["lost"], totals["outstanding"]) == (
        72, 70, 1, 1, 0,
    )  # fmt: skip

    # Who held what on a past day: on 1 July the type was home, and Kesselbrook had 60 − 1 − 20 = 39 and 11.
    held = ambleford.get("/v1/custody/institutions?on=2026-07-01")["items"]
    assert held == [{"institution_id": str(kesselbrook.member.id), "counts": held[0]["counts"]}]
    assert held[0]["counts"]["borrower"] == 50
    assert held[0]["counts"]["returned"] == 21

    sheet = ambleford.call("GET", f"{loan}/lines", 200, headers={"Accept": "text/csv"}).text
    rows = {row["key"]: row for row in csv.DictReader(io.StringIO(sheet))}
    assert (rows["1"]["lent"], rows["1"]["returned"], rows["1"]["pin_length_mm"]) == ("60", "58", "38")

    verify = [sys.executable, "-m", "service.cli", "ledger", "verify"]
    said = subprocess.run(
        verify, env={**os.environ, "DATABASE_URL": database}, capture_output=True, text=True, check=False
    )
    assert said.returncode == 0, said.stdout + said.stderr
