"""A collection is reorganised: over real HTTP, on a real PostgreSQL, in two weeks and by two processes.

Six trays of 130 x 190 mm go into a drawer of 420 x 400 mm: three columns of two.
"""

import csv
import io
import time
from typing import Any

import requests
from live_service import live_service
from live_worker import live_worker
from members import Member, enter
from sqlalchemy import Engine

WITHIN_S = 120
GENERA = {"Cicindela": ("campestris", "hybrida"), "Carabus": ("auratus", "hortensis", "monilis", "nitens"),
    "Amara": ("aenea", "aulica")}  # fmt: skip
#: Not the alphabet: this house reads tiger beetles first.
SEQUENCE = [f"{genus} {species}" for genus, of_genus in GENERA.items() for species in of_genus]
SIZE = "130;190"


class Clerk:
    """Somebody at Ambleford."""

    def __init__(self, address: str, member: Member) -> None:
        self.address, self.member = address, member

    def call(self, method: str, path: str, expect: int, **more: Any) -> requests.Response:
        headers = self.member.headers | more.pop("headers", {})
        response = requests.request(method, self.address + path, headers=headers, timeout=60, **more)
        assert response.status_code == expect, response.text
        return response

    def get(self, path: str) -> Any:
        return self.call("GET", path, 200).json()

    def send_sheet(self, path: str, text: str) -> Any:
        sent = {"data": text.encode("utf-8-sig"), "headers": {"Content-Type": "text/csv"}}
        return self.call("PUT", path, 200, **sent).json()

    def trays(self) -> dict[str, dict[str, Any]]:
        found: list[dict[str, Any]] = []
        path = "/v1/trays?page_size=50"
        while path:
            answer = self.call("GET", path, 200)
            found += answer.json()["items"]
            path = answer.links.get("next", {}).get("url", "")
        return {tray["code"]: tray for tray in found}

    def walk(self, plan: str, through: int, by: str) -> dict[str, Any]:
        body = {"by": by, "done_through": through}
        return dict(self.call("PUT", f"{plan}/progress", 200, json=body).json())

    def finished(self, operation: str) -> str:
        """Where the result of an operation lives, once it is over."""
        give_up = time.monotonic() + WITHIN_S
        while time.monotonic() < give_up:
            found = self.get(operation)
            if found["state"] == "succeeded":
                return str(found["result"]["href"])
            assert found["state"] in ("pending", "running"), found
            time.sleep(0.1)
        raise AssertionError(f"After {WITHIN_S} s the operation is {found}.")


def inventory_sheet() -> str:
    """Seven drawers, five trays each but the last; one taxon after the other, as a German spreadsheet saves it."""
    headings = "room;cabinet;positions_per_column;drawer;position;style;inner_width_mm;inner_depth_mm"
    lines = [f"{headings};tray;taxon;specimens;curation_level;width_mm;depth_mm"]
    taxa = [taxon for taxon in SEQUENCE for _ in range(4)]
    for at, taxon in enumerate(taxa):
        drawer = at // 5 + 1
        lines.append(f"hall;A1;12;A1-{drawer:02};{drawer};amble;420;400;T{at:03};{taxon};{at % 3 or ''};6;{SIZE}")
    lines.append("hall;A1;;A1-08;8;amble;420;400;;;;;;")
    return "\r\n".join(lines) + "\r\n"


def in_order(clerk: Clerk) -> list[str]:
    """The taxa as one reads them, drawer by drawer."""
    placed = [tray for tray in clerk.trays().values() if "drawer" in tray]
    assert len({(tray["drawer"], tray["place"]) for tray in placed}) == len(placed), "no two in one place"
    return [tray["taxon"] for tray in sorted(placed, key=lambda tray: (tray["drawer"], tray["place"]))]


def test_trays_are_taken_in_half_of_it_this_week_and_the_rest_after_somebody_moved_something(
    database: str, engine: Engine
) -> None:
    member = enter(engine, "ambleford", "Ambleford Museum")
    stranger = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection")
    with live_service(database) as address:
        clerk = Clerk(address, member)
        receipt = clerk.send_sheet("/v1/inventory?by=Marta%20Quillfeather", inventory_sheet())
        assert (receipt["drawers_made"], receipt["trays_made"]) == (8, 32)
        told = clerk.send_sheet(
            "/v1/taxon-sequence", "family;genus;species\r\n" + "".join(f"Carabidae;{g};{s}\r\n" for g, s in
                (name.split() for name in SEQUENCE)),
        )  # fmt: skip
        assert told == {"taxa": 8, "not_in_sequence": []}
        rules = {"reserve_percent": 0, "rates": {"trays_moved_per_h": 60, "drawers_handled_per_h": 20}}
        clerk.call("PUT", "/v1/arrangement-rules", 200, json=rules, headers={"If-Match": '"0"'})

        new = [
            {"code": f"N{at}", "taxon": taxon, "specimens": 7, "width_mm": 130, "depth_mm": 190}
            for at, taxon in enumerate(["Cicindela campestris"] * 3 + ["Carabus nitens"] * 3)
        ]
        made = clerk.call("POST", "/v1/arrangement-plans", 201, json={"take_in": {"trays": new}})
        plan, first = made.headers["Location"], made.json()["alternatives"][0]
        # Five in a drawer of six: one gap each. Three more behind the fourth tray of the first drawer make eight in
        # it, so two leave it for the second, and one of that for the third: at least three trays change drawers.
        assert first["is_proved"]
        assert first["moved"] >= 3
        assert first["put_in"] == 6
        steps = clerk.get(f"{plan}/walking-list")["steps"]
        assert first["hours"]["hours"] > 0
        sheet = clerk.call("GET", f"{plan}/walking-list", 200, headers={"Accept": "text/csv"}).text
        assert [row["tray"] for row in csv.DictReader(io.StringIO(sheet))] == [step["tray"] for step in steps]
        half = len(steps) // 2
        for number in range(1, half + 1):
            clerk.walk(plan, number, "Tomasz Brill")
            assert {f"T{at:03}" for at in range(32)} <= clerk.trays().keys()
        Clerk(address, stranger).call("GET", plan, 404)
        Clerk(address, stranger).call("PUT", f"{plan}/progress", 404, json={"by": "Nobody", "done_through": half})

    # A week later, by another process: all is as it was left, and the last step sent again does nothing.
    with live_service(database) as address, live_worker(database):
        clerk = Clerk(address, member)
        assert clerk.walk(plan, half, "Tomasz Brill")["done_count"] == half
        assert "overtaken" not in clerk.get(plan)
        ahead = steps[half]["to_drawer"]
        lifted = next(tray for tray in clerk.trays().values() if tray.get("drawer") == ahead)
        clerk.call(
            "POST", "/v1/tray-moves", 200, headers={"Idempotency-Key": "by-hand-0001"},
            json={"by": "Dr Ines Halloran", "moves": [{"tray": lifted["code"], "drawer": "A1-08"}]},
        )  # fmt: skip
        assert lifted["code"] in clerk.get(plan)["overtaken"]
        refused = clerk.call("PUT", f"{plan}/progress", 409, json={"by": "Tomasz Brill", "done_through": half + 1})
        assert refused.json()["type"] == "/problems/plan-overtaken"

        later = clerk.call("POST", f"{plan}/renewal?later=true", 202)
        again = clerk.finished(later.headers["Location"])
        assert clerk.get(plan)["replaced_by"] == clerk.get(again)["id"]
        clerk.walk(again, clerk.get(again)["step_count"], "Marta Quillfeather")

        # The tray that was moved by hand stays where somebody put it; a re-ordering brings it home.
        taxa = [{"name": name} for name in SEQUENCE]
        home = clerk.call("POST", "/v1/arrangement-plans", 201, json={"reorder_taxa": {"taxa": taxa}})
        clerk.walk(home.headers["Location"], home.json()["step_count"], "Marta Quillfeather")
        trays = clerk.trays()
        assert trays.keys() == {f"T{at:03}" for at in range(32)} | {f"N{at}" for at in range(6)}, "nothing is lost"
        assert all("drawer" in tray for tray in trays.values())
        ranks = [SEQUENCE.index(taxon) for taxon in in_order(clerk)]
        assert ranks == sorted(ranks)
        drawers = [tray["drawer"] for tray in trays.values()]
        assert max(drawers.count(drawer) for drawer in drawers) <= 6
        moves = clerk.get("/v1/tray-moves?page_size=200")["items"]
        assert {move["moved_by"] for move in moves} == {"Marta Quillfeather", "Tomasz Brill", "Dr Ines Halloran"}


def ready(clerk: Clerk) -> None:
    """The house of the sheet above, with its own sequence and no reserve."""
    clerk.send_sheet("/v1/inventory?by=Marta%20Quillfeather", inventory_sheet())
    lines = [f"Carabidae;{genus};{species}" for genus, species in (name.split() for name in SEQUENCE)]
    clerk.send_sheet("/v1/taxon-sequence", "\r\n".join(["family;genus;species", *lines]) + "\r\n")
    clerk.call("PUT", "/v1/arrangement-rules", 200, json={"reserve_percent": 0}, headers={"If-Match": '"0"'})


def test_a_new_species_is_inserted_with_its_trays_and_the_rest_after_somebody_moved_something(
    database: str, engine: Engine
) -> None:
    member = enter(engine, "ambleford", "Ambleford Museum")
    with live_service(database) as address:
        clerk = Clerk(address, member)
        ready(clerk)
        taxon = {"name": "Carabus rutilans", "after": "Carabus nitens", "genus": "Carabus", "family": "Carabidae"}
        new = [{"code": f"R{at}", "taxon": "Carabus rutilans", "width_mm": 130, "depth_mm": 190} for at in range(3)]
        question = {"insert_taxa": {"taxa": [taxon], "trays": new}}
        made = clerk.call("POST", "/v1/arrangement-plans", 201, json=question)
        plan = made.headers["Location"]
        assert made.json()["alternatives"][0]["is_proved"]
        clerk.walk(plan, 1, "Tomasz Brill")
        names = [each["name"] for each in clerk.get("/v1/taxon-sequence")["items"]]
        assert "Carabus rutilans" not in names, "it enters the sequence with the last step"

        # Somebody lifts a tray out of a drawer that the plan counts on, and puts it down again further back.
        ahead = clerk.get(f"{plan}/walking-list")["steps"][1]["to_drawer"]
        lifted = next(code for code, tray in clerk.trays().items() if tray.get("drawer") == ahead)
        clerk.call(
            "POST", "/v1/tray-moves", 200, headers={"Idempotency-Key": "by-hand-0002"},
            json={"by": "Dr Ines Halloran", "moves": [{"tray": lifted, "drawer": "A1-08"}]},
        )  # fmt: skip
        clerk.call("PUT", f"{plan}/progress", 409, json={"by": "Tomasz Brill", "done_through": 2})
        again = clerk.call("POST", f"{plan}/renewal", 201)
        done = clerk.walk(again.headers["Location"], again.json()["step_count"], "Tomasz Brill")
        assert done["carried_out_at"]

        names = [each["name"] for each in clerk.get("/v1/taxon-sequence")["items"]]
        assert names.index("Carabus rutilans") == names.index("Carabus nitens") + 1
        trays = clerk.trays()
        assert trays.keys() == {f"T{at:03}" for at in range(32)} | {"R0", "R1", "R2"}, "nothing is lost"
        assert trays[lifted]["drawer"] == "A1-08", "who moved it meant it"
        ranks = [names.index(tray["taxon"]) for tray in sorted(
            (tray for code, tray in trays.items() if code != lifted), key=lambda tray: (tray["drawer"], tray["place"])
        )]  # fmt: skip
        assert ranks == sorted(ranks)


def test_the_trays_of_a_housing_plan_are_taken_in_by_its_id(database: str, engine: Engine) -> None:
    member = enter(engine, "ambleford", "Ambleford Museum")
    with live_service(database) as address:
        clerk = Clerk(address, member)
        ready(clerk)
        amble = {"code": "amble", "width_mm": 420, "depth_mm": 400}
        housed = clerk.call(
            "POST", "/v1/housing-plans", 201,
            json={
                "taxa": [{"taxon": "Carabus monilis", "specimens": 50}, {"taxon": "Amara sp.", "specimens": 12}],
                "tray_choices": [{"code": "half", "holds": 25, "width_mm": 130, "depth_mm": 190}],
                "drawers": [amble], "growth_reserve_percent": 0, "play_mm": 0,
            },
        ).json()  # fmt: skip
        question = {"take_in": {"housing_plan_id": housed["id"], "code_prefix": "gift-7"}}
        made = clerk.call("POST", "/v1/arrangement-plans", 201, json=question)
        assert made.json()["alternatives"][0]["put_in"] == housed["tray_count"] == 3
        clerk.walk(made.headers["Location"], made.json()["step_count"], "Tomasz Brill")
        trays = clerk.trays()
        gift = {code: tray["taxon"] for code, tray in trays.items() if code.startswith("gift-7-")}
        assert sorted(gift.values()) == ["Amara sp.", "Carabus monilis", "Carabus monilis"]
        read = [tray["taxon"] for tray in sorted(trays.values(), key=lambda tray: (tray["drawer"], tray["place"]))]
        assert read == sorted(read, key=lambda name: SEQUENCE.index(name) if name in SEQUENCE else len(SEQUENCE))
        twice = clerk.call("POST", "/v1/arrangement-plans", 409, json=question)
        assert "already" in twice.json()["detail"]
        unknown = {"take_in": {"housing_plan_id": "019ab000-0000-7000-8000-00000000dead"}}
        clerk.call("POST", "/v1/arrangement-plans", 404, json=unknown)
