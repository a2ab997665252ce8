"""Plans to change what stands where: asked, chosen, carried out step by step, overtaken, and asked again."""

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem
from shelves import TRAY, carry, drawer_row, furnish, stands, tray_row
from sqlalchemy import Engine

from service.actions import arrangement_plans as actions
from service.app import build

SEQUENCE = ["Carabus auratus", "Carabus hortensis", "Carabus monilis", "Carabus nitens", "Cicindela campestris",
    "Cicindela hybrida"]  # fmt: skip


@pytest.fixture
def app(engine: Engine) -> Flask:
    return build(engine)


@pytest.fixture
def member(engine: Engine) -> Member:
    return enter(engine, "ambleford", "Ambleford Museum", "GB")


@pytest.fixture
def client(app: Flask, member: Member) -> FlaskClient:
    """A collection in order: D1 holds five trays of Carabus, D2 five of Cicindela, D3 nothing; six go in a drawer."""
    client = member.client(app)
    furnish(
        client,
        drawer_row("D3", 3),
        *(tray_row(f"T{n}", "D1", taxon=SEQUENCE[(0, 1, 1, 2, 3)[n]], specimens=10) for n in range(5)),
        *(tray_row(f"T{n}", "D2", taxon=SEQUENCE[4], specimens=20) for n in range(5, 10)),
    )
    settle(client)
    return client


def settle(client: FlaskClient, **said: Any) -> None:
    rules = {"reserve_percent": 0, "rates": {"trays_moved_per_h": 60, "drawers_handled_per_h": 30, "person_hour": 24,
        "currency": "EUR"}} | said  # fmt: skip
    tag = client.get("/v1/arrangement-rules").headers["ETag"]
    assert client.put("/v1/arrangement-rules", json=rules, headers={"If-Match": tag}).status_code == 200
    sheet = "family,genus,species\r\n" + "".join(f"Carabidae,{name.replace(' ', ',')}\r\n" for name in SEQUENCE)
    assert client.put("/v1/taxon-sequence", data=sheet.encode(), content_type="text/csv").status_code == 200


def arriving(*codes: str, taxon: str = "Carabus monilis") -> list[dict[str, Any]]:
    return [{"code": code, "taxon": taxon, "specimens": 3} | TRAY for code in codes]


def plan(client: FlaskClient, **question: Any) -> dict[str, Any]:
    response = client.post("/v1/arrangement-plans", json=question)
    assert response.status_code == 201, response.text
    return dict(response.get_json()) | {"address": response.headers["Location"]}


def told_of(client: FlaskClient, made: dict[str, Any]) -> list[tuple[Any, ...]]:
    """What the event feed tells of a plan: each type, and the number of the step where there is one."""
    found = [event for event in client.get("/v1/events?page_size=200").get_json()["items"]
        if event["data"]["href"] == f"/v1/arrangement-plans/{made['id']}"]  # fmt: skip
    return [(event["type"].partition(".")[2], *filter(None, [event["data"].get("number")])) for event in found]


def named(*taxa: str) -> list[dict[str, str]]:
    return [{"name": name} for name in taxa]


def walking_list(client: FlaskClient, made: dict[str, Any]) -> list[dict[str, Any]]:
    return list(client.get(f"{made['address']}/walking-list").get_json()["steps"])


def carry_through(client: FlaskClient, made: dict[str, Any], step: int) -> Any:
    return client.put(f"{made['address']}/progress", json={"by": "Tomasz Brill", "done_through": step})


def order(client: FlaskClient) -> dict[str, list[str]]:
    """The trays of each drawer in reading order."""
    drawers: dict[str, list[str]] = {}
    placed = [(at, tray) for tray, at in stands(client).items() if at[0] is not None]
    for (drawer, _), tray in sorted(placed):
        drawers.setdefault(str(drawer), []).append(tray)
    return drawers


def test_one_new_tray_goes_into_the_gap_and_nothing_else_moves(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1")})
    (way,) = made["alternatives"]
    assert (way["moved"], way["put_in"], way["is_proved"]) == (0, 1, True)
    assert way["specimens"]["in_trays_that_stay"] == 150
    assert "N1" not in stands(client), "nothing is carried by asking"
    done = carry_through(client, made, made["step_count"]).get_json()
    assert done["done_count"] == done["step_count"] == 1
    assert order(client)["D1"] == ["T0", "T1", "T2", "T3", "N1", "T4"]


def test_what_does_not_fit_moves_as_few_trays_as_can_be(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2")})
    fewest = made["alternatives"][0]
    assert fewest["moved"] + fewest["put_in"] == made["step_count"]
    carry_through(client, made, made["step_count"])
    standing = [tray for drawer in ("D1", "D2", "D3") for tray in order(client).get(drawer, [])]
    assert standing == ["T0", "T1", "T2", "T3", "N1", "N2", "T4", *(f"T{n}" for n in range(5, 10))]


def test_the_walking_list_is_a_sheet_with_a_column_to_tick(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2")})
    steps = walking_list(client, made)
    assert [step["number"] for step in steps] == list(range(1, made["step_count"] + 1))
    text = client.get(f"{made['address']}/walking-list", headers={"Accept": "text/csv"}).get_data(as_text=True)
    assert text.startswith("done,number,trip,tray,taxon,label,from_cabinet")
    assert len(text.splitlines()) == 1 + made["step_count"]
    hours = made["alternatives"][0]["hours"]
    assert hours["cost"] == pytest.approx(hours["hours"] * 24, abs=0.01)


def test_a_step_sent_again_is_carried_out_once(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2", "N3")})
    for _ in range(3):
        assert carry_through(client, made, 1).get_json()["done_count"] == 1
    told = client.get("/v1/tray-moves").get_json()["items"]
    assert sum(each.get("plan_id") == made["id"] for each in told) == 1
    assert [step.get("done_by") for step in walking_list(client, made)][:2] == ["Tomasz Brill", None]


def test_after_every_step_every_tray_is_somewhere_and_no_drawer_is_overfull(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2", "N3")})
    for number in range(1, made["step_count"] + 1):
        assert carry_through(client, made, number).status_code == 200
        now = stands(client)
        assert {f"T{n}" for n in range(10)} <= now.keys()
        assert all(len(trays) <= 6 for trays in order(client).values())
        places = [place for place in now.values() if place[0]]
        assert len(set(places)) == len(places)


def test_a_plan_that_the_world_has_overtaken_says_so_and_is_asked_again(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2", "N3")})
    assert carry_through(client, made, 1).status_code == 200
    assert "overtaken" not in client.get(made["address"]).get_json()
    assert carry(client, "by-hand-01", {"tray": "T0", "drawer": "D3", "place": 1}).status_code == 200
    assert "T0" in client.get(made["address"]).get_json()["overtaken"]
    before = stands(client)
    assert_problem(carry_through(client, made, 2), 409, "plan-overtaken")
    assert stands(client) == before
    renewed = client.post(f"{made['address']}/renewal")
    assert renewed.status_code == 201, renewed.text
    again = renewed.get_json() | {"address": renewed.headers["Location"]}
    assert client.get(made["address"]).get_json()["replaced_by"] == again["id"]
    assert_problem(carry_through(client, made, 2), 409, "plan-is-over")
    assert carry_through(client, again, again["step_count"]).status_code == 200
    assert {"N1", "N2", "N3"} | {f"T{n}" for n in range(10)} == {
        tray for each in order(client).values() for tray in each
    }


def test_a_plan_is_told_of_when_it_is_made_carried_on_and_carried_out(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2", "N3")})
    assert told_of(client, made) == [("made",)]
    for _ in range(2):
        carry_through(client, made, 1)
    carry_through(client, made, made["step_count"])
    steps = [("steps_done", 1), ("steps_done", made["step_count"])]
    assert told_of(client, made) == [("made",), *steps, ("carried_out",)], "a step sent again is told once"


def test_a_plan_without_a_step_is_told_of_as_carried_out(client: FlaskClient) -> None:
    nothing_to_do = plan(client, restore_reserve={"reserve_percent": 0})
    assert told_of(client, nothing_to_do) == [("made",), ("carried_out",)]
    made = plan(client, insert_taxa={"taxa": [{"name": "Carabus rutilans", "after": "Carabus nitens"}]})
    assert told_of(client, made) == [("made",)]
    carry_through(client, made, 0)
    assert told_of(client, made) == [("made",), ("carried_out",)]


def test_a_plan_is_told_of_when_another_takes_its_place_and_not_when_the_world_overtakes_it(
    client: FlaskClient,
) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2", "N3")})
    carry_through(client, made, 1)
    carry(client, "by-hand-01", {"tray": "T0", "drawer": "D3", "place": 1})
    assert_problem(carry_through(client, made, 2), 409, "plan-overtaken")
    assert told_of(client, made) == [("made",), ("steps_done", 1)]
    again = client.post(f"{made['address']}/renewal").get_json()
    assert told_of(client, made) == [("made",), ("steps_done", 1), ("replaced",)]
    assert told_of(client, again) == [("made",)]


def test_what_stands_elsewhere_in_the_house_overtakes_nothing(client: FlaskClient) -> None:
    furnish(client, drawer_row("E1", 1, "A2"), tray_row("E-1", "E1", taxon="Cicindela hybrida"))
    made = plan(client, take_in={"trays": arriving("N1")})
    carry(client, "elsewhere-01", {"tray": "E-1"})
    assert "overtaken" not in client.get(made["address"]).get_json()
    assert carry_through(client, made, 1).status_code == 200


def test_trays_that_wait_are_taken_in_by_their_codes(client: FlaskClient) -> None:
    furnish(client, tray_row("W1", None, taxon="Carabus nitens"))
    made = plan(client, take_in={"unplaced": ["W1"]})
    carry_through(client, made, made["step_count"])
    assert order(client)["D1"][-1] == "W1"
    unknown = client.post("/v1/arrangement-plans", json={"take_in": {"unplaced": ["W9"]}})
    assert_problem(unknown, 409, "cannot-be-arranged")


def test_merged_taxa_bear_the_new_name_once_all_is_carried(client: FlaskClient) -> None:
    made = plan(client, merge_taxa={"taxa": ["Carabus nitens"], "into": "Carabus auratus"})
    assert carry_through(client, made, made["step_count"]).status_code == 200
    taxa = {each["code"]: each["taxon"] for each in client.get("/v1/trays").get_json()["items"]}
    assert taxa["T4"] == "Carabus auratus"
    assert order(client)["D1"] == ["T0", "T4", "T1", "T2", "T3"]
    names = [each["name"] for each in client.get("/v1/taxon-sequence").get_json()["items"]]
    assert names == [name for name in SEQUENCE if name != "Carabus nitens"]


def test_taxa_split_enter_the_sequence_once_all_is_carried(client: FlaskClient) -> None:
    part = {"taxon": {"name": "Carabus rutilans", "after": "Carabus nitens", "genus": "Carabus"}, "trays": ["T1"]}
    made = plan(client, split_taxon={"taxon": "Carabus hortensis", "parts": [part]})
    carry_through(client, made, made["step_count"])
    assert order(client)["D1"] == ["T0", "T2", "T3", "T4", "T1"]
    names = [each["name"] for each in client.get("/v1/taxon-sequence").get_json()["items"]]
    assert names.index("Carabus rutilans") == names.index("Carabus nitens") + 1


def test_a_cabinet_is_emptied(client: FlaskClient) -> None:
    furnish(client, *(drawer_row(f"E{n}", n, "A2") for n in (1, 2, 3)))
    made = plan(client, empty_cabinets={"cabinets": ["A1"]})
    assert carry_through(client, made, made["step_count"]).status_code == 200
    assert order(client).keys() == {"E1", "E2"}


def test_another_style_of_drawer_takes_the_positions_of_the_old_ones(client: FlaskClient) -> None:
    style = {"code": "wide", "inner_width_mm": 540, "inner_depth_mm": 400}
    made = plan(client, change_drawer_style={"leave": "amble", "style": style})
    assert carry_through(client, made, made["step_count"]).status_code == 200
    drawers = {each["code"]: each for each in client.get("/v1/drawers").get_json()["items"]}
    new = {code: each for code, each in drawers.items() if each["style"] == "wide"}
    assert set(order(client)) == set(new)
    assert all(each.get("position") for each in new.values()), "each stands where an emptied one stood"


def test_the_reserve_is_restored(client: FlaskClient) -> None:
    made = plan(client, restore_reserve={"reserve_percent": 30})
    carry_through(client, made, made["step_count"])
    assert all(len(trays) <= 4 for trays in order(client).values())


def test_another_alternative_is_chosen_before_the_first_step_only(client: FlaskClient) -> None:
    """Two full drawers and one with room behind them: a new drawer between saves the move that needs none."""
    full = [tray_row("F1", "D1", taxon=SEQUENCE[3]), tray_row("F2", "D2", taxon=SEQUENCE[4])]
    furnish(client, *full, tray_row("F3", "D3", taxon=SEQUENCE[5]))
    style = {"code": "amble", "inner_width_mm": 420, "inner_depth_mm": 400}
    made = plan(client, take_in={"trays": arriving("N1", taxon=SEQUENCE[3])}, new_drawers=style)
    tradeoff = [(way["moved"], way["drawers_opened"]) for way in made["alternatives"]]
    assert tradeoff == [(0, 1), (1, 0)], "fewer moves against fewer drawers"
    tag = {"If-Match": client.get(made["address"]).headers["ETag"]}
    assert_problem(client.put(f"{made['address']}/choice", json={"alternative": 9}, headers=tag), 422, "invalid")
    chosen = client.put(f"{made['address']}/choice", json={"alternative": 2}, headers=tag)
    assert chosen.get_json()["chosen"] == 2
    assert chosen.get_json()["step_count"] == made["alternatives"][1]["lifts"]
    assert_problem(
        client.put(f"{made['address']}/choice", json={"alternative": 1}, headers=tag), 412, "stale-version"
    )
    carry_through(client, made, 1)
    tag = {"If-Match": client.get(made["address"]).headers["ETag"]}
    assert_problem(client.put(f"{made['address']}/choice", json={"alternative": 1}, headers=tag), 409,
        "plan-has-begun")  # fmt: skip
    assert carry_through(client, made, chosen.get_json()["step_count"]).status_code == 200
    assert {tray for each in order(client).values() for tray in each} >= {"N1", "F1", "F2", "F3"}


def test_what_is_not_settled_is_asked_for(app: Flask, engine: Engine) -> None:
    other = enter(engine, "kesselbrook", "Kesselbrook University Insect Collection").client(app)
    furnish(other, tray_row("T1", "D1", taxon="Carabus nitens"))
    question = {"take_in": {"trays": arriving("N1")}}
    assert_problem(other.post("/v1/arrangement-plans", json=question), 409, "rules-missing")
    other.put("/v1/arrangement-rules", json={"reserve_percent": 0}, headers={"If-Match": '"0"'})
    assert_problem(other.post("/v1/arrangement-plans", json=question), 409, "no-sequence")
    other.put("/v1/arrangement-rules", json={"reserve_percent": 0, "alphabetical": True}, headers={"If-Match": '"1"'})
    made = plan(other, take_in={"trays": arriving("N1", taxon="Carabus nitens")})
    assert made["alternatives"][0]["hours"]["missing"]
    assert_problem(other.post("/v1/arrangement-plans", json={}), 422, "invalid")


def test_a_large_collection_is_a_workers(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions, "MOST_TRAYS_AT_ONCE", 5)
    later = client.post("/v1/arrangement-plans", json={"take_in": {"trays": arriving("N1")}})
    assert later.status_code == 202
    assert later.get_json()["kind"] == "arrangement_plan"


def test_drawers_before_and_after_and_the_faces_of_cabinets_are_drawn(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2")})
    drawers = client.get(f"{made['address']}/drawers").get_json()["drawers"]
    assert [each["drawer"] for each in drawers][:1] == ["D1"]
    assert drawers[0]["before"] == ["T0", "T1", "T2", "T3", "T4"]
    carry_through(client, made, 1)
    cabinet = client.get("/v1/cabinets").get_json()["items"][0]
    for address in (
        *(f"{made['address']}/drawers/{each['number']}/drawing" for each in drawers),
        f"{made['address']}/cabinets/A1/drawing",
        f"/v1/cabinets/{cabinet['id']}/drawing",
    ):
        drawing = client.get(address)
        assert drawing.mimetype == "image/svg+xml", drawing.text
        assert drawing.get_data(as_text=True).lstrip().startswith("<")
    assert_problem(client.get(f"{made['address']}/drawers/99/drawing"), 404, "not-found")
    assert_problem(client.get(f"{made['address']}/cabinets/Z9/drawing"), 404, "not-found")
    page = client.get(f"{made['address']}/walking-list", headers={"Accept": "text/html"}).get_data(as_text=True)
    assert page.count("✓") == 1, "what is carried out is ticked"
    assert "<script" not in page


# What nobody has to carry, and what finds no position


def test_a_plan_without_a_step_is_carried_out_as_soon_as_it_is_made(client: FlaskClient) -> None:
    for question in ({"restore_reserve": {"reserve_percent": 0}}, {"reorder_taxa": {"taxa": named(*SEQUENCE)}}):
        made = plan(client, **question)
        assert made["step_count"] == 0
        assert made["carried_out_at"]
        assert made["notes"][0] == "Everything stands where it should: there is nothing to carry."
        assert client.get("/v1/arrangement-plans").get_json()["items"][0]["carried_out_at"]
        assert_problem(client.post(f"{made['address']}/renewal"), 409, "plan-is-over")


def test_families_that_a_new_order_leaves_out_are_kept(client: FlaskClient) -> None:
    made = plan(client, reorder_taxa={"taxa": named(*reversed(SEQUENCE))})
    assert carry_through(client, made, made["step_count"]).get_json()["carried_out_at"]
    taxa = client.get("/v1/taxon-sequence").get_json()["items"]
    assert [each["name"] for each in taxa] == list(reversed(SEQUENCE))
    assert {each["family"] for each in taxa} == {"Carabidae"}


def test_a_taxon_without_trays_enters_the_sequence_once_somebody_says_so(client: FlaskClient) -> None:
    taxon = {"name": "Carabus rutilans", "after": "Carabus nitens", "genus": "Carabus"}
    made = plan(client, insert_taxa={"taxa": [taxon]})
    assert made["step_count"] == 0
    assert "carried_out_at" not in made
    assert "through step 0" in made["notes"][0]
    before = stands(client)
    done = carry_through(client, made, 0)
    assert done.get_json()["carried_out_at"]
    assert carry_through(client, made, 0).get_json()["version"] == done.get_json()["version"], "once is enough"
    names = [each["name"] for each in client.get("/v1/taxon-sequence").get_json()["items"]]
    assert names == [*SEQUENCE[:4], "Carabus rutilans", *SEQUENCE[4:]]
    assert stands(client) == before


def test_a_plan_shows_when_its_last_step_was_done(client: FlaskClient) -> None:
    made = plan(client, take_in={"trays": arriving("N1", "N2")})
    assert "carried_out_at" not in carry_through(client, made, 1).get_json()
    assert carry_through(client, made, made["step_count"]).get_json()["carried_out_at"]


def test_a_new_drawer_without_a_position_stands_outside_and_the_plan_says_how_many_are_missing(
    client: FlaskClient,
) -> None:
    """A1 is full of drawers, so that a new drawer between D1 and D2 has nowhere to go."""
    full = [tray_row("F1", "D1", taxon=SEQUENCE[3]), tray_row("F2", "D2", taxon=SEQUENCE[4])]
    furnish(client, *full, *(drawer_row(f"D{n}", n) for n in range(4, 11)), tray_row("F3", "D3", taxon=SEQUENCE[5]))
    style = {"code": "amble", "inner_width_mm": 420, "inner_depth_mm": 400}
    made = plan(client, take_in={"trays": arriving("N1", taxon=SEQUENCE[3])}, new_drawers=style)
    way = made["alternatives"][0]
    ((new,), missing) = way["new_drawers"], way["positions_missing"]
    assert (new["behind"], "position" in new, missing) == ("D1", False, 1)
    assert any("1 position is missing" in note for note in made["notes"])
    done = carry_through(client, made, made["step_count"]).get_json()
    assert [each["behind"] for each in done["outside"]] == ["D1"]
    assert stands(client)["N1"] == (new["code"], 1)
    page = client.get(f"{made['address']}/walking-list", headers={"Accept": "text/html"}).get_data(as_text=True)
    assert "1 position is missing for new drawers" in page


# Taxa inserted, and what a housing plan houses


def test_a_taxon_is_inserted_with_its_trays_behind_the_one_that_it_follows(client: FlaskClient) -> None:
    taxon = {"name": "Carabus rutilans", "after": "Carabus auratus", "genus": "Carabus"}
    made = plan(client, insert_taxa={"taxa": [taxon], "trays": arriving("R1", taxon="Carabus rutilans")})
    assert (made["alternatives"][0]["put_in"], made["alternatives"][0]["moved"]) == (1, 0)
    assert carry_through(client, made, made["step_count"]).status_code == 200
    assert order(client)["D1"] == ["T0", "R1", "T1", "T2", "T3", "T4"]
    names = [each["name"] for each in client.get("/v1/taxon-sequence").get_json()["items"]]
    assert names.index("Carabus rutilans") == 1
    again = client.post("/v1/arrangement-plans", json={"insert_taxa": {"taxa": [taxon]}})
    assert_problem(again, 409, "cannot-be-arranged")
    stranger = {"name": "Carabus clatratus", "after": "Carabus nemo"}
    nowhere = client.post("/v1/arrangement-plans", json={"insert_taxa": {"taxa": [stranger]}})
    assert "no Carabus nemo" in assert_problem(nowhere, 409, "cannot-be-arranged")["detail"]
