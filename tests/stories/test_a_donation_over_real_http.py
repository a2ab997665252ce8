"""The main job as three institutions live it, over real HTTP and a real PostgreSQL.

Orla Fennimore offers sixty home-built drawers. Every figure below is worked out by hand in the comments beside it.
"""

from decimal import Decimal
from typing import Any

import pytest
from live_service import live_service
from members import enter
from museum_terminal import At
from sqlalchemy import Engine

PE_FOAM = {"material": "polyethylene_foam", "thickness": 6, "glued_firmly": True}

DRAWERS = {
    "container": "drawer",
    "count": 60,
    "description": "Home-built drawers, moths",
    "outer": {"width": 500, "depth": 400, "height": 60},
    "inner": {"width": 478, "depth": 378, "height": 50},
    "trays": [{"count": 1440, "outer": {"width": 110, "depth": 60, "height": 40}, "base": 2, "bottom": PE_FOAM}],
    "pins": {"length": 38, "depth": 6, "metal": "stainless_steel"},
    "treatments_used": ["freezing"],
    "closure": "flanged_lid",
    "pest_signs": "none_seen",
    "specimens": 11800,
}


def a_system(width: Any, depth: Any, pitch: Any, inner: dict[str, Any], **more: Any) -> dict[str, Any]:
    cabinet = {
        "code": "c",
        "name": "Cabinet",
        "count": 40,
        "opening": {"width": width, "depth": depth, "height": 1985},
        "pitch": pitch,
        "support": "side_runners",
        "runner_ledge": 12,
        "runners_removable": False,
        "doorway": "clears_opening",
        "free_positions": 400,
    }
    return {
        "cabinets": [cabinet],
        "drawers": [{"code": "d", "name": "Own drawer", "inner": inner}],
        "tray_series": [
            {
                "code": "t",
                "name": "Own trays",
                "play_mm": 0.5,
                "trays": [{"code": "half", "name": "Half", "outer": {"width": 99.5, "depth": 96.5, "height": 41}}],
            }
        ],
        "materials": {"accepted_bottoms": ["polyethylene_foam"], "treatments": ["freezing"]},
        "growth_reserve_percent": 20,
        "lid_air_gap_mm": 3,
        "rates": {
            "currency": "GBP",
            "drawer": "68.00",
            "cabinet_position": "21.50",
            "person_hour": "24.50",
            "trays_moved_per_h": 120,
        },
        **more,
    }


class AtItsDesk(At):
    def check(self, consignment: str, system: str) -> dict[str, Any]:
        question = {"consignment_id": consignment, "storage_system_id": system}
        return dict(self.call("POST", "/v1/fit-checks", 201, json=question).json())


@pytest.fixture
def institutions(database: str, engine: Engine):
    members = [enter(engine, code, code.title()) for code in ("ambleford", "kesselbrook", "port-lindal")]
    with live_service(database) as address:
        yield [AtItsDesk(address, member) for member in members]


def test_sixty_drawers_that_fit_nowhere_come_by_the_tray(institutions: list[AtItsDesk]) -> None:
    ambleford, kesselbrook, port_lindal = institutions
    # Ambleford's cabinets take drawers of 485.6 by 425 mm; Kesselbrook's are square; Port Lindal's are metric.
    own = ambleford.publish(
        "main-hall", "everybody", a_system(485.6, 425, "3 1/4 in", {"width": 450, "depth": 388, "height": 60.8})
    )
    square = kesselbrook.publish(
        "range-b",
        "members",
        a_system("18 1/4 in", "18 3/8 in", "3 1/4 in", {"width": "16 1/2 in", "depth": "16 1/8 in", "height": 44}),
    )
    metric = port_lindal.publish(
        "turm", "everybody", a_system(505, 430, 65, {"width": 488, "depth": 398, "height": 54})
    )
    offer = {
        "code": "2026-017",
        "kind": "gift",
        "sender": {"name": "Orla Fennimore, private collector"},
        "lines": [DRAWERS],
    }
    consignment = ambleford.call("POST", "/v1/consignments", 201, json=offer).json()["id"]

    answer = ambleford.check(consignment, own)["answer"]
    (line,) = answer["lines"]
    assert line["verdict"] == "by_the_tray"
    plan = next(finding for finding in line["findings"] if finding["rule"] == "drawer_in_cabinet")
    # As it stands: 500 mm into 485.6 mm, 14.4 mm too much. Front to the side: 500 mm into a depth of 425 mm.
    assert plan["outcome"] == "fail"
    assert plan["margin_mm"] == -14.4
    (fit,) = line["tray_fits"]
    # 450 / (110 + 0.5) is 4 whole trays across, 388 / (60 + 0.5) is 6 deep: 24. A fifth stays free: 19.2, so 19.
    assert (fit["tiling"]["count"], fit["usable_per_drawer"]) == (24, 19)
    # 1,440 / 19 is 75.8: 76 drawers. By area alone 1,440 x 6,600 / (0.8 x 174,600) is 68.04: no fewer than 69.
    assert (line["needed"]["drawers"], line["needed"]["drawers_at_least"]) == (76, 69)
    # 76 x 68.00 = 5,168.00; 76 x 21.50 = 1,634.00; 1,440 trays at 120 an hour are 12 h at 24.50 = 294.00.
    amounts = {item["what"]: item["amount"] for item in answer["cost"]["items"] if item["amount"] != "0.00"}
    assert sorted(amounts.values()) == ["1634.00", "294.00", "5168.00"]
    assert answer["cost"]["total"] == "7096.00"
    assert sum(Decimal(amount) for amount in amounts.values()) == Decimal("7096.00")

    # Trays of 40 mm under a lid of 44 mm at Kesselbrook; 2 + 6 - 6 + 38 = 40 mm of pin leave 4 mm, and 3 are wanted.
    # 419.1 / 110.5 is 3 across, 409.575 / 60.5 is 6 deep: 18, a fifth free: 14. 1,440 / 14 is 102.9.
    elsewhere = ambleford.check(consignment, square)["answer"]["lines"][0]
    assert (elsewhere["verdict"], elsewhere["needed"]["drawers"]) == ("by_the_tray", 103)
    # Port Lindal's opening of 505 by 430 mm takes them as they are: 5 mm to spare, the runners carry 12 - 5 = 7 mm.
    at_home = ambleford.check(consignment, metric)["answer"]["lines"][0]
    assert (at_home["verdict"], at_home["needed"]["drawers"]) == ("as_it_is", 0)

    # What is Ambleford's stays Ambleford's until it is offered, and then it is read and not changed.
    path = f"/v1/consignments/{consignment}"
    port_lindal.call("GET", path, 404)
    shown = ambleford.call("GET", path, 200)
    shared = {key: value for key, value in offer.items() if key not in ("code", "lines")}
    shared["offered_to"] = [str(port_lindal.member.id)]
    ambleford.call("PUT", path, 200, json=shared, headers={"If-Match": shown.headers["ETag"]})
    assert port_lindal.check(consignment, metric)["answer"]["lines"][0]["verdict"] == "as_it_is"
    port_lindal.call("DELETE", path, 403, headers={"If-Match": '"2"'})


def test_the_answer_of_today_can_be_given_again_after_everything_has_changed(institutions: list[AtItsDesk]) -> None:
    ambleford, *_ = institutions
    system = ambleford.publish(
        "main-hall", "owner", a_system(485.6, 425, 82.55, {"width": 450, "depth": 388, "height": 60.8})
    )
    offer = {"code": "1", "kind": "gift", "sender": {"name": "Orla Fennimore"}, "lines": [DRAWERS]}
    made = ambleford.call("POST", "/v1/consignments", 201, json=offer)
    asked = ambleford.check(made.json()["id"], system)

    wider = a_system(505, 425, 82.55, {"width": 450, "depth": 388, "height": 60.8})
    draft = ambleford.call("POST", f"/v1/storage-systems/{system}/revisions", 201, json={"content": wider})
    ambleford.call(
        "POST", f"{draft.headers['Location']}/publication", 200, headers={"If-Match": draft.headers["ETag"]}
    )
    assert ambleford.check(made.json()["id"], system)["answer"]["lines"][0]["verdict"] == "as_it_is"
    ambleford.call("DELETE", made.headers["Location"], 204, headers={"If-Match": made.headers["ETag"]})

    again = ambleford.call("GET", f"/v1/fit-checks/{asked['id']}", 200).json()
    assert again == asked
    assert again["revision_number"] == 1
    table = ambleford.call("GET", f"/v1/fit-checks/{asked['id']}", 200, headers={"Accept": "text/plain"})
    assert "by the tray" in table.text
    assert "7,096.00" in table.text
    drawing = ambleford.call("GET", f"/v1/fit-checks/{asked['id']}/lines/1/drawing", 200)
    assert drawing.headers["Content-Type"].startswith("image/svg+xml")
