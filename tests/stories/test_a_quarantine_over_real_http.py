"""A loan arrives and goes into quarantine: over real HTTP, on a real PostgreSQL, from the freezer to the drawer.

Kesselbrook has published that whatever arrives goes into quarantine, in a freezer at -30 °C. The first log shows a
warm spell, and nothing may be placed; the second shows three days below -25 °C (Hammer 2012), and after a day of
warming up the tray goes into its drawer. A gift is taken over before its quarantine is over, and that stays visible.
"""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
import requests
from live_service import live_service
from members import Member, enter
from sqlalchemy import Engine

#: Everything happens in the last few days.
NOW = datetime.now(UTC).replace(minute=0, second=0, microsecond=0)
SHUT = NOW - timedelta(hours=160)
LINE = {"key": "1", "count": 24, "taxon": "Carabus hortensis", "type_status": "not_a_type",
        "treatments_used": ["naphthalene"], "catalogue_numbers": ["AMB 1902.17"]}  # fmt: skip


class At:
    """One institution at its terminal."""

    def __init__(self, address: str, member: Member) -> None:
        self.address, self.member = address, member

    def call(self, method: str, path: str, expect: int, **more: Any) -> requests.Response:
        key = {"Idempotency-Key": f'"{uuid4()}"'} if method == "POST" else {}
        headers = self.member.headers | key | more.pop("headers", {})
        response = requests.request(method, self.address + path, headers=headers, timeout=30, **more)
        assert response.status_code == expect, response.text
        return response

    def get(self, path: str) -> Any:
        return self.call("GET", path, 200).json()

    def post(self, path: str, expect: int = 201, **body: Any) -> Any:
        return self.call("POST", path, expect, json=body).json()

    def change(self, path: str, **said: Any) -> Any:
        """Read something, change some of it, and send it back."""
        before = self.call("GET", path, 200)
        tag = {"If-Match": before.headers["ETag"]}
        return self.call("PUT", path, 200, json=before.json() | said, headers=tag).json()

    def step(self, transfer: str, step: str, expect: int = 201, **said: Any) -> Any:
        return self.post(f"/v1/transfers/{transfer}/facts", expect, step=step, by="Ines Halloran", **said)


@pytest.fixture
def museums(database: str, engine: Engine) -> Iterator[tuple[At, At]]:
    ambleford = enter(engine, "ambleford", "Ambleford Museum", "GB")
    kesselbrook = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection", "GB")
    with live_service(database) as address:
        yield At(address, ambleford), At(address, kesselbrook)


def publish_rules(at: At) -> None:
    rules = {"on_arrival": True, "freezer": {"capacity_drawers": 24, "set_point_c": -30}, "longest_gap_h": 2}
    address = f"/v1/quarantine-rules/{at.member.id}"
    at.call("PUT", address, 200, json=rules, headers={"If-Match": '"0"'})


def arrive(lender: At, borrower: At, code: str, kind: str) -> str:
    """A transfer from the text to the box at the borrower's door."""
    made = lender.post(
        "/v1/transfers", code=code, kind=kind, lender={"institution_id": str(lender.member.id)},
        borrower={"institution_id": str(borrower.member.id)}, answerable={"name": "Ines Halloran"},
        purpose="Revision of the genus", by="Marta Quillfeather", lines=[LINE],
    )  # fmt: skip
    for at in (lender, borrower):
        at.step(made["id"], "signed", agreement=made["agreement"])
    lender.step(made["id"], "packed", everything=True)
    lender.step(made["id"], "dispatched", everything=True)
    borrower.step(made["id"], "received", everything=True)
    return str(made["id"])


def quarantine_of(at: At, transfer: str) -> str:
    (found,) = [each for each in at.get("/v1/quarantines")["items"] if each["subject"]["transfer_id"] == transfer]
    return f"/v1/quarantines/{found['id']}"


def log(*parts: tuple[int, float], start: datetime) -> str:
    """A probe's log, a reading an hour, from parts of (hours, °C)."""
    temperatures = [core for hours, core in parts for _ in range(hours)]
    moments = [start + timedelta(hours=hour) for hour in range(len(temperatures))]
    rows = [f"{at:%Y-%m-%d %H:%M},{core}" for at, core in zip(moments, temperatures, strict=True)]
    return "\r\n".join(["time,core_c", *rows, ""])


def upload(at: At, quarantine: str, code: str, text: str) -> Any:
    csv = {"Content-Type": "text/csv"}
    return at.call("POST", f"{quarantine}/logs?code={code}", 201, data=text.encode(), headers=csv).json()


def a_drawer_and_a_tray(at: At) -> None:
    at.post("/v1/rooms", code="hall", name="Main hall")
    at.post("/v1/drawers", code="D-1", style="amble", inner_width_mm=420, inner_depth_mm=400)
    at.post("/v1/trays", code="T-1", width_mm=130, depth_mm=190, taxon="Carabus hortensis")


def put_into_its_drawer(at: At, expect: int) -> Any:
    return at.post("/v1/tray-moves", expect, by="Ines Halloran", moves=[{"tray": "T-1", "drawer": "D-1"}])


def test_a_loan_is_placed_when_its_quarantine_is_over_and_not_before(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    publish_rules(kesselbrook)
    quarantine = quarantine_of(kesselbrook, arrive(ambleford, kesselbrook, "L-1", "loan"))
    a_drawer_and_a_tray(kesselbrook)

    waiting = kesselbrook.get(quarantine)
    assert (waiting["state"], waiting["is_free"]) == ("waiting", False)
    assert {"naphthalene", "open-when-warm", "people"} <= {each["code"] for each in waiting["handling"]}

    put_in = kesselbrook.change(
        quarantine,
        subject=waiting["subject"] | {"trays": ["T-1"]},
        packing={"packed": "bagged_crate", "drawers": 4},
        air_set_c=-30,
        shut_at=SHUT.isoformat(),
    )
    assert put_in["forecast"]["regime"] == "freezing-25"
    refused = put_into_its_drawer(kesselbrook, 409)
    assert refused["type"] == "/problems/in-quarantine"
    assert "Nobody has uploaded a log" in refused["detail"]

    # Cold after ten hours; after forty more a warm spell of three, and then too little is left for three days.
    first = log((10, 5.0), (40, -26.5), (3, -20.0), (10, -26.5), start=SHUT)
    under_way = upload(kesselbrook, quarantine, "probe-1", first)
    assert (under_way["state"], under_way["is_free"]) == ("under_way", False)
    put_into_its_drawer(kesselbrook, 409)

    # 10 + 63 hours below -25 °C without a break, from the 53rd to the 126th.
    second = log((64, -26.5), start=SHUT + timedelta(hours=63))
    held = upload(kesselbrook, quarantine, "probe-2", second)
    assert held["state"] == "held"
    assert held["held"]["regime"] == "freezing-25"
    assert datetime.fromisoformat(held["held"]["first"]) == SHUT + timedelta(hours=53)
    assert datetime.fromisoformat(held["held"]["at"]) == SHUT + timedelta(hours=125)
    assert "taken out" in held["missing"]
    put_into_its_drawer(kesselbrook, 409)

    over = kesselbrook.change(quarantine, taken_out_at=(SHUT + timedelta(hours=126)).isoformat())
    assert (over["state"], over["is_free"]) == ("over", True)
    assert datetime.fromisoformat(over["over_at"]) == SHUT + timedelta(hours=150)
    put_into_its_drawer(kesselbrook, 200)

    drawing = kesselbrook.call("GET", f"{quarantine}/drawing", 200, headers={"Accept": "image/svg+xml"}).text
    assert "held 72 h" in drawing
    readings = kesselbrook.call("GET", f"{quarantine}/readings", 200).text
    assert readings.count("\r\n") == 1 + 63 + 64
    assert ambleford.get(quarantine)["state"] == "over", "the lender reads it as well"
    ambleford.call("POST", f"{quarantine}/releases", 403, json={"by": "Somebody", "reason": "impatient"})


def test_a_gift_is_taken_over_before_its_quarantine_is_over_and_that_stays_visible(museums: tuple[At, At]) -> None:
    ambleford, kesselbrook = museums
    publish_rules(kesselbrook)
    gift = arrive(ambleford, kesselbrook, "G-1", "gift")
    quarantine = quarantine_of(kesselbrook, gift)
    kesselbrook.step(gift, "acknowledged")

    refused = kesselbrook.step(gift, "ownership_changed", 409, everything=True)
    assert refused["type"] == "/problems/override-needed"
    assert refused["codes"] == ["in-quarantine"]

    override = {"by": "Agnes Thorne", "reason": "The case is sealed.", "codes": ["in-quarantine"]}
    kesselbrook.step(gift, "ownership_changed", everything=True, override=override)
    seen = kesselbrook.get(quarantine)
    assert (seen["state"], seen["is_free"]) == ("waiting", True)
    assert [(each["by"], each["reason"]) for each in seen["releases"]] == [("Agnes Thorne", "The case is sealed.")]
    facts = ambleford.get(f"/v1/transfers/{gift}/facts")["items"]
    assert facts[-1]["override"]["reason"] == "The case is sealed."
    told = "/v1/events?type=quarantine.begun&type=quarantine.released"
    for_giver, for_receiver = ambleford.get(told)["items"], kesselbrook.get(told)["items"]
    assert [each["type"] for each in for_giver] == ["quarantine.begun", "quarantine.released"]
    assert for_giver == for_receiver, "both sides are told, of the same"
    assert ambleford.get(for_giver[-1]["data"]["href"])["releases"] == seen["releases"]


def test_what_is_in_quarantine_is_not_lent_on(museums: tuple[At, At]) -> None:
    """Known again by its catalogue number: it came home from one loan, and is packed for another."""
    ambleford, kesselbrook = museums
    loan = arrive(ambleford, kesselbrook, "L-1", "loan")
    kesselbrook.step(loan, "acknowledged")
    kesselbrook.step(loan, "sent_back", everything=True)
    publish_rules(ambleford)
    ambleford.step(loan, "received_back", everything=True)
    quarantine = quarantine_of(ambleford, loan)

    again = ambleford.post(
        "/v1/transfers", code="L-2", kind="loan", lender={"institution_id": str(ambleford.member.id)},
        borrower={"institution_id": str(kesselbrook.member.id)}, answerable={"name": "Ines Halloran"},
        purpose="Dissection", by="Marta Quillfeather", lines=[LINE],
    )  # fmt: skip
    for at in museums:
        at.step(again["id"], "signed", agreement=again["agreement"])
    refused = ambleford.step(again["id"], "packed", 409, everything=True)
    assert refused["codes"] == ["in-quarantine"]
    ambleford.post(
        f"{quarantine}/releases", by="Agnes Thorne", reason="Looked at under the microscope, drawer by drawer."
    )
    ambleford.step(again["id"], "packed", everything=True)


def test_bad_rows_of_a_log_are_all_named_and_nothing_is_stored(museums: tuple[At, At]) -> None:
    _, kesselbrook = museums
    made = kesselbrook.post(
        "/v1/quarantines", code="q-1", subject={"description": "a box"}, arrived_on=f"{NOW:%Y-%m-%d}"
    )
    address = f"/v1/quarantines/{made['id']}"
    bad = "time,core_c\r\n2026-11-02 08:00,-20\r\nyesterday,-21\r\n2026-11-02 09:00,cold\r\n"
    csv = {"Content-Type": "text/csv"}
    problem = kesselbrook.call("POST", f"{address}/logs?code=a", 422, data=bad.encode(), headers=csv).json()
    assert [each["cell"] for each in problem["errors"]] == ["row 3, column time", "row 4, column core_c"]
    assert kesselbrook.get(address)["logs"] == []
