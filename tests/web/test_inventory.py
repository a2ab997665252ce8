"""What stands where, written down one by one, by the sheet, and carried about."""

import threading

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem
from shelves import DRAWER, TRAY, carry, drawer_row, furnish, stands, tray_row
from sqlalchemy import Engine

from service.app import build
from service.core.arrangement.curation import health_of_cabinet, health_of_collection, health_of_drawer
from service.store.inventory import standing
from service.store.session import open_session

SHEET = (
    "\ufeffroom;cabinet;positions_per_column;drawer;position;style;inner_width_mm;inner_depth_mm;tray;place;taxon;"
    "specimens;curation_level;label;width_mm;depth_mm\r\n"
    "hall;A1;10;D1;1;amble;420;400;T1;;Carabus hortensis;12;6;'=Carabus;130;190\r\n"
    ";;;D1;;;;;T2;;Carabus nitens;3;5;;130;19,0 cm\r\n"
    ";A1;;D2;2;amble;16 1/2 in;400;;;;;;;;\r\n"
    ";;;;;;;;T9;;Carabus sp.;;;waits;130;190\r\n"
)


@pytest.fixture
def app(engine: Engine) -> Flask:
    return build(engine)


@pytest.fixture
def member(engine: Engine) -> Member:
    return enter(engine, "ambleford", "Ambleford Museum", "GB")


@pytest.fixture
def client(app: Flask, member: Member) -> FlaskClient:
    return member.client(app)


def upload(client: FlaskClient, text: str):
    return client.put("/v1/inventory?by=Marta", data=text.encode(), content_type="text/csv")


def test_a_sheet_with_a_byte_order_mark_and_semicolons_is_an_inventory(client: FlaskClient) -> None:
    receipt = upload(client, SHEET)
    assert receipt.get_json() == {
        "rooms_made": 1, "cabinets_made": 1, "drawers_made": 2, "trays_made": 3, "changed": 0, "moved": 2,
    }  # fmt: skip
    assert stands(client) == {"T1": ("D1", 1), "T2": ("D1", 2), "T9": (None, None)}
    first = client.get("/v1/trays").get_json()["items"][0]
    assert (first["label"], first["specimens"], first["curation_level"]) == ("=Carabus", 12, 6)


def test_the_same_sheet_twice_changes_nothing(client: FlaskClient) -> None:
    upload(client, SHEET)
    before = client.get("/v1/trays").get_json()
    assert set(upload(client, SHEET).get_json().values()) == {0}
    assert client.get("/v1/trays").get_json() == before


def test_what_goes_out_comes_in_again_elsewhere(client: FlaskClient, engine: Engine, app: Flask) -> None:
    upload(client, SHEET)
    text = client.get("/v1/inventory").get_data(as_text=True)
    assert "'=Carabus" in text, "no cell is a formula"
    other = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection").client(app)
    assert upload(other, text).status_code == 200
    assert other.get("/v1/inventory").get_data(as_text=True) == text
    assert stands(other) == stands(client)


def test_what_is_said_of_cabinets_and_drawers_goes_round_too(client: FlaskClient, engine: Engine, app: Flask) -> None:
    furnish(client, {"cabinet": "A1", "takes": ["amble", "wide"], "opening_width_mm": 485.9, "pitch_mm": 82.55},
        {"drawer": "D1", "reserve_percent": 12.5, "clear_height_mm": 61, "drawer_label": "+Carabus"})  # fmt: skip
    text = client.get("/v1/inventory").get_data(as_text=True)
    other = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection").client(app)
    assert upload(other, text).status_code == 200
    for kind in ("rooms", "cabinets", "drawers"):
        ours, theirs = (each.get(f"/v1/{kind}").get_json()["items"] for each in (client, other))
        own = {"id", "created_at", "updated_at", "version"}
        assert [{name: value for name, value in thing.items() if name not in own} for thing in theirs] == [
            {name: value for name, value in thing.items() if name not in own} for thing in ours
        ]
    assert set(upload(other, text).get_json().values()) == {0}


def test_every_bad_cell_is_named_and_nothing_is_stored(client: FlaskClient) -> None:
    text = (
        "cabinet,drawer,position,tray,taxon,width_mm,depth_mm,curation_level\r\n"
        "B7,D1,1,T1,Carabus,130,190,9\r\n"
        ",D9,,T2,Carabus,wide,190,1\r\n"
    )
    problem = assert_problem(upload(client, text), 422, "invalid")
    assert [fault["cell"] for fault in problem["errors"]] == [
        "row 2, column curation_level",
        "row 3, column width_mm",
    ]
    mended = text.replace(",9\r\n", ",6\r\n").replace("wide", "130")
    problem = assert_problem(upload(client, mended), 422, "invalid")
    cells = {fault["cell"]: fault["detail"] for fault in problem["errors"]}
    assert cells["row 2, column room"] == "A new cabinet needs this."
    assert stands(client) == {}
    assert client.get("/v1/cabinets").get_json()["items"] == []


def test_rows_that_contradict_each_other_are_refused(client: FlaskClient) -> None:
    rows = [drawer_row("D1", 1), drawer_row("D1", 2)]
    refused = client.post("/v1/inventory", json={"by": "Marta", "rows": [{"room": "r", "cabinet": "A1",
        "positions_per_column": 5}, *rows]})  # fmt: skip
    problem = assert_problem(refused, 422, "invalid")
    assert [fault["pointer"] for fault in problem["errors"]] == ["/rows/2/position"]


def test_one_thing_at_a_time_by_json(client: FlaskClient) -> None:
    room = client.post("/v1/rooms", json={"code": "hall", "name": "Main hall"})
    cabinet = client.post(
        "/v1/cabinets", json={"code": "A1", "name": "First", "room": "hall", "positions_per_column": 10, "columns": 2}
    )
    drawer = client.post("/v1/drawers", json={"code": "D1", "cabinet": "A1", "position": 20} | DRAWER)
    tray = client.post("/v1/trays", json={"code": "T1", "taxon": "Carabus", "drawer": "D1"} | TRAY)
    assert [each.status_code for each in (room, cabinet, drawer, tray)] == [201] * 4
    assert stands(client) == {"T1": ("D1", 1)}
    for made, kind in ((room, "in-use"), (cabinet, "in-use"), (drawer, "in-use")):
        refused = client.delete(made.headers["Location"], headers={"If-Match": made.headers["ETag"]})
        assert_problem(refused, 409, kind)
    smaller = cabinet.get_json() | {"columns": 1}
    refused = client.put(cabinet.headers["Location"], json=smaller, headers={"If-Match": cabinet.headers["ETag"]})
    assert_problem(refused, 409, "in-use")
    sent_back = client.put(tray.headers["Location"], json=tray.get_json(), headers={"If-Match": tray.headers["ETag"]})
    assert sent_back.status_code == 200, sent_back.text
    for made in (tray, drawer, cabinet, room):
        now = client.get(made.headers["Location"]).headers["ETag"]
        assert client.delete(made.headers["Location"], headers={"If-Match": now}).status_code == 204


def test_a_drawer_has_one_position_to_itself_and_a_high_one_several(client: FlaskClient) -> None:
    furnish(client)
    taken = client.post("/v1/drawers", json={"code": "D3", "cabinet": "A1", "position": 2} | DRAWER)
    assert_problem(taken, 409, "place-taken")
    high = {"code": "D3", "cabinet": "A1", "position": 8, "positions": 3} | DRAWER
    assert client.post("/v1/drawers", json=high).status_code == 201
    assert_problem(client.post("/v1/drawers", json={"code": "D4", "cabinet": "A1", "position": 9} | DRAWER), 409,
        "place-taken")  # fmt: skip
    beyond = client.post("/v1/drawers", json=high | {"code": "D5", "cabinet": "A2", "position": 9})
    assert_problem(beyond, 409, "place-taken")


def test_two_drawers_change_places_in_one_sheet(client: FlaskClient) -> None:
    furnish(client, tray_row("T1", "D1"))
    receipt = furnish_rows(client, drawer_row("D1", 2), drawer_row("D2", 1))
    assert receipt["changed"] == 2
    positions = {each["code"]: each["position"] for each in client.get("/v1/drawers").get_json()["items"]}
    assert positions == {"D1": 2, "D2": 1}
    assert stands(client) == {"T1": ("D1", 1)}, "what is in a drawer goes with it"


def furnish_rows(client: FlaskClient, *rows):
    response = client.post("/v1/inventory", json={"by": "Marta", "rows": list(rows)})
    assert response.status_code == 200, response.text
    return response.get_json()


def test_trays_are_carried_all_of_them_or_none(client: FlaskClient) -> None:
    furnish(client, tray_row("T1", "D1"), tray_row("T2", "D1"), tray_row("T3", "D1"), tray_row("T4", None))
    swapped = carry(client, "swap-0001", {"tray": "T1", "drawer": "D1", "place": 3},
        {"tray": "T3", "drawer": "D1", "place": 1})  # fmt: skip
    assert swapped.status_code == 200, swapped.text
    assert stands(client) == {"T1": ("D1", 3), "T2": ("D1", 2), "T3": ("D1", 1), "T4": (None, None)}
    assert carry(client, "into-0001", {"tray": "T4", "drawer": "D1", "after": "T3"}).status_code == 200
    assert stands(client) == {"T3": ("D1", 1), "T4": ("D1", 2), "T2": ("D1", 3), "T1": ("D1", 4)}
    taken = carry(client, "half-0001", {"tray": "T1", "drawer": "D2"}, {"tray": "T2", "drawer": "D1", "place": 2})
    assert_problem(taken, 409, "place-taken")
    assert stands(client)["T1"] == ("D1", 4), "the first move of a refused pair is not made either"
    assert carry(client, "away-0001", {"tray": "T4"}).status_code == 200
    assert stands(client)["T4"] == (None, None)
    told = client.get("/v1/tray-moves?tray=T4").get_json()["items"]
    assert [(each.get("from_drawer"), each.get("to_drawer")) for each in told] == [("D1", None), (None, "D1")]


def test_a_move_sent_again_is_made_once(client: FlaskClient) -> None:
    furnish(client, tray_row("T1", "D1"), tray_row("T2", "D2"))
    for _ in range(3):
        assert carry(client, "once-0001", {"tray": "T1", "drawer": "D2"}).status_code == 200
    assert len(client.get("/v1/tray-moves?tray=T1").get_json()["items"]) == 2, "once in, and once over"


def test_what_is_not_where_one_believes_is_told(client: FlaskClient) -> None:
    furnish(client, tray_row("T1", "D1"))
    moved = carry(client, "elsewhere-1", {"tray": "T1", "drawer": "D1", "from_drawer": "D2"})
    assert_problem(moved, 409, "tray-elsewhere")
    problem = assert_problem(carry(client, "unknown-01", {"tray": "T7", "drawer": "D7"}), 422, "invalid")
    assert [fault["pointer"] for fault in problem["errors"]] == ["/moves/0/tray", "/moves/0/drawer"]


def test_a_drawer_holds_no_more_than_its_inside(client: FlaskClient) -> None:
    furnish(client, *(tray_row(f"T{n}", "D1") for n in range(6)), tray_row("T6", "D2"))
    assert_problem(carry(client, "too-much-1", {"tray": "T6", "drawer": "D1"}), 409, "outside-drawer")
    assert stands(client)["T6"] == ("D2", 1)
    drawer = client.get("/v1/drawers").get_json()["items"][0]
    narrower = client.put(
        f"/v1/drawers/{drawer['id']}", json=drawer | {"inner_width_mm": 200}, headers={"If-Match": '"1"'}
    )
    assert_problem(narrower, 409, "outside-drawer")


def test_of_two_who_carry_trays_to_one_place_one_wins_and_the_other_is_told(app: Flask, member: Member) -> None:
    furnish(member.client(app), *(tray_row(f"T{n}", "D1") for n in range(4)))
    answers: list[int] = []
    together = threading.Barrier(4)

    def one_clerk(tray: int) -> None:
        client = member.client(app)
        together.wait()
        answers.append(
            carry(client, f"clerk-{tray:04}", {"tray": f"T{tray}", "drawer": "D2", "place": 1}).status_code
        )

    clerks = [threading.Thread(target=one_clerk, args=(tray,)) for tray in range(4)]
    for clerk in clerks:
        clerk.start()
    for clerk in clerks:
        clerk.join()
    assert sorted(answers) == [200, 409, 409, 409]
    in_second = [tray for tray, place in stands(member.client(app)).items() if place == ("D2", 1)]
    assert len(in_second) == 1


SMALL = {"width_mm": 20, "depth_mm": 20}


def test_the_health_index_is_that_of_the_published_profile(client: FlaskClient) -> None:
    """Collection profiling after McGinley 1993: (L3 + L6 + L7 + L8) / all units; in a drawer the units are trays.
    The counts are invented: (12 + 30 + 4 + 2) / 81."""
    counts = {1: 3, 2: 4, 3: 12, 4: 5, 5: 21, 6: 30, 7: 4, 8: 2}
    rows = [
        {"tray": f"L{level}-{n}", "drawer": "D1", "curation_level": level} | SMALL
        for level, count in counts.items()
        for n in range(count)
    ]
    furnish(client, *rows, tray_row("T9", "D2", specimens=7, curation_level=6))
    drawers = client.get("/v1/collection-health?by=drawer").get_json()["items"]
    assert drawers[0]["health_index"] == pytest.approx(48 / 81, abs=1e-5)
    assert [(each["code"], each["units"], each["health_index"]) for each in drawers[1:]] == [("D2", 1, 1)]
    (cabinet,) = client.get("/v1/collection-health?by=cabinet").get_json()["items"]
    # Two drawers, one at 1 as its worst tray is, the other at 6.
    assert (cabinet["code"], cabinet["units"], cabinet["health_index"]) == ("A1", 2, 0.5)
    (hall,) = client.get("/v1/collection-health?by=room").get_json()["items"]
    assert (hall["code"], hall["trays"], hall["specimens"], hall["not_counted"]) == ("hall", 82, 7, 81)


def test_where_somebody_has_not_judged_the_index_is_unknown_between_two_ends(client: FlaskClient) -> None:
    furnish(
        client, tray_row("T1", "D1"), tray_row("T2", "D1", curation_level=6), tray_row("T3", "D2", curation_level=7)
    )
    whole, drawer = (
        client.get(f"/v1/collection-health?by={by}").get_json()["items"][0] for by in ("collection", "drawer")
    )
    for health in (whole, drawer):
        assert "health_index" not in health
        assert (health["health_index_at_least"], health["health_index_at_most"]) == (0.5, 1)
        assert health["units_of_unknown_level"] == 1


def test_the_health_that_is_counted_in_the_database_is_that_of_the_arithmetic(
    client: FlaskClient, member: Member, engine: Engine
) -> None:
    levels = [None, 1, 2, 3, 4, 5, 6, 7, 8]
    rows = [
        {"tray": f"T{drawer}{at}", "drawer": f"D{drawer}"} | SMALL | ({"curation_level": level} if level else {})
        for drawer in (1, 2)
        for at, level in enumerate(levels[drawer - 1 :: drawer])
    ]
    furnish(client, *rows, drawer_row("E1", 1, "A2"), tray_row("E-1", "E1", curation_level=8))
    with open_session(engine, member.id) as session:
        inventory = standing.whole(session, member.id)
    expected = {
        "collection": [health_of_collection(inventory)],
        "cabinet": [health_of_cabinet(inventory, cabinet) for cabinet in ("A1", "A2")],
        "drawer": [health_of_drawer(inventory, drawer) for drawer in ("D1", "D2", "E1")],
    }
    for by, healths in expected.items():
        told = client.get(f"/v1/collection-health?by={by}").get_json()["items"]
        assert [{each["level"]: each["units"] for each in item["levels"]} for item in told] == [
            {int(level): count for level, count in health.by_level.items()} for health in healths
        ]
        assert [item["units_of_unknown_level"] for item in told] == [health.unknown for health in healths]


def test_a_sequence_is_the_institutions_own_and_not_the_alphabet(client: FlaskClient) -> None:
    furnish(client, tray_row("T1", "D1", taxon="Zabrus tenebrioides"), tray_row("T2", "D1", taxon="Amara aenea"))
    sheet = "family,genus,species\r\nCarabidae,Zabrus,tenebrioides\r\nCarabidae,Carabus,Carabus nitens\r\n"
    receipt = client.put("/v1/taxon-sequence", data=sheet.encode(), content_type="text/csv")
    assert receipt.get_json() == {"taxa": 2, "not_in_sequence": ["Amara aenea"]}
    names = [each["name"] for each in client.get("/v1/taxon-sequence").get_json()["items"]]
    assert names == ["Zabrus tenebrioides", "Carabus nitens"]
    assert client.get("/v1/taxon-sequence", headers={"Accept": "text/csv"}).get_data(as_text=True) == sheet
    twice = sheet + "Carabidae,Zabrus,tenebrioides\r\n"
    assert_problem(client.put("/v1/taxon-sequence", data=twice.encode(), content_type="text/csv"), 422, "invalid")


def test_rules_are_settled_by_one_at_a_time(client: FlaskClient) -> None:
    usual = client.get("/v1/arrangement-rules")
    assert (usual.headers["ETag"], usual.get_json()["reading_order"]) == ('"0"', "columns")
    said = {"reading_order": "rows", "reserve_percent": 15, "rates": {"trays_moved_per_h": 60, "currency": "EUR"}}
    settled = client.put("/v1/arrangement-rules", json=said, headers={"If-Match": '"0"'})
    assert settled.get_json()["reserve_percent"] == 15
    assert_problem(client.put("/v1/arrangement-rules", json=said, headers={"If-Match": '"0"'}), 412, "stale-version")
