"""The builder's questions over HTTP: open to anybody, exact, and in the asker's own unit."""

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import Member, enter
from problem_assertions import assert_problem
from published import of_width, publish
from sqlalchemy import Engine

from service.app import build

DRAWER = "width=19 in&depth=16 1/2 in&height=3 in"


@pytest.fixture
def ambleford(engine: Engine) -> Member:
    return enter(engine, "ambleford", "Ambleford Museum")


@pytest.fixture
def app(engine: Engine, ambleford: Member) -> Flask:
    publish(engine, ambleford.id, "wide", "Wide cabinets", of_width(486, free_positions=40))
    publish(engine, ambleford.id, "close", "Close cabinets", of_width(480, free_positions=10))
    return build(engine)


@pytest.fixture
def anybody(app: Flask) -> FlaskClient:
    return app.test_client()


def asked(client: FlaskClient, question: str, where: str = "takers") -> Any:
    response = client.get(f"/v1/drawer-{where}?{question}")
    assert response.status_code == 200, response.text
    return response.get_json()


def test_anybody_learns_who_takes_a_drawer_without_a_key(anybody: FlaskClient) -> None:
    answer = asked(anybody, DRAWER)
    assert (answer["systems_asked"], answer["as_it_is"]["total"]) == (2, 1)
    (taker,) = answer["as_it_is"]["first"]
    assert (taker["storage_system_code"], taker["into"], taker["free_positions"]) == ("wide", "steel", 40)


def test_the_smallest_change_comes_in_sixteenths_to_who_asks_in_inches(anybody: FlaskClient) -> None:
    (change,) = asked(anybody, DRAWER)["drawer_changes"]
    # 482.6 mm are 2.6 mm too much for 480: one sixteenth (1.5875 mm) is not enough, two (3.175 mm) are.
    assert change["change"] == {"width_mm": -3.175, "depth_mm": 0, "height_mm": 0}
    assert change["in_words"] == "1/8 in narrower (3.175 mm)"
    assert change["worth"] == "1 more system"
    assert (change["taken_by"], change["gained"], change["lost"]) == (2, 1, 0)


def test_and_in_whole_millimetres_to_who_asks_in_millimetres(anybody: FlaskClient) -> None:
    answer = asked(anybody, "width=482.6&depth=41.91 cm&height=76.2 mm")
    (change,) = answer["drawer_changes"]
    assert answer["cut"] == "millimetre"
    assert change["in_words"] == "3 mm narrower"
    finer = asked(anybody, "width=482.4&depth=419.1&height=76.2&cut=half_millimetre")
    assert finer["drawer_changes"][0]["change"] == {
        "width_mm": -2.5,
        "depth_mm": 0,
        "height_mm": 0,
    }


def test_every_suggested_size_asked_again_is_taken_by_as_many_as_promised(anybody: FlaskClient) -> None:
    for width in (475, 482.6, 487, 495, 510):
        for change in asked(anybody, f"width={width}&depth=430&height=90&cut=millimetre&reach=32")["drawer_changes"]:
            size = "&".join(f"{axis}={change['size'][f'{axis}_mm']}" for axis in ("width", "depth", "height"))
            assert asked(anybody, size)["as_it_is"]["total"] == change["taken_by"]


def test_unit_trays_are_asked_about_with_all_three_sides(anybody: FlaskClient) -> None:
    too_wide = "width=600&depth=419.1&height=76.2"
    assert "by_the_tray" not in asked(anybody, too_wide)
    answer = asked(anybody, f"{too_wide}&tray_width=99.5&tray_depth=96.5&tray_height=41")
    assert answer["by_the_tray"]["total"] == 2
    refused = anybody.get(f"/v1/drawer-takers?{too_wide}&tray_width=99.5")
    problem = assert_problem(refused, 422, "invalid")
    assert {fault["parameter"] for fault in problem["errors"]} == {"tray_depth", "tray_height"}


def test_whom_to_offer_drawers_to_names_institutions_with_their_room(anybody: FlaskClient) -> None:
    answer = asked(anybody, "width=479&depth=419.1&height=76.2&count=45", "homes")
    (home,) = answer["first"]
    assert (home["institution_code"], home["room_for"], home["has_room_for_all"]) == ("ambleford", 50, True)
    assert [taker["storage_system_code"] for taker in home["systems"]] == ["close", "wide"]
    (home,) = asked(anybody, "width=479&depth=419.1&height=76.2&count=51", "homes")["first"]
    assert home["has_room_for_all"] is False


@pytest.mark.parametrize("width", ["0", "0 mm", "11 m", "19 lb", "1,234 mm", "-5", ""])
def test_what_is_no_size_of_a_drawer_is_refused_by_name(anybody: FlaskClient, width: str) -> None:
    problem = assert_problem(anybody.get(f"/v1/drawer-takers?width={width}&depth=400&height=60"), 422, "invalid")
    assert [fault["parameter"] for fault in problem["errors"]] == ["width"]


def test_what_was_hidden_or_superseded_is_not_found_any_more(
    anybody: FlaskClient, engine: Engine, app: Flask, ambleford: Member
) -> None:
    system = publish(engine, ambleford.id, "third", "Third", of_width(484))
    assert asked(anybody, DRAWER)["as_it_is"]["total"] == 2
    owner, path = ambleford.client(app), f"/v1/storage-systems/{system}"
    tag = owner.get(path).headers["ETag"]
    cover = {"name": "Third", "visibility": "members"}
    assert owner.put(path, json=cover, headers={"If-Match": tag}).status_code == 200
    assert asked(anybody, DRAWER)["as_it_is"]["total"] == 1
    assert asked(owner, DRAWER)["as_it_is"]["total"] == 1, "not even its owner: the question is everybody's"


def test_too_many_questions_are_put_off_with_the_seconds_to_wait(engine: Engine) -> None:
    client = build(engine, questions_per_minute=2).test_client()
    for where in ("takers", "homes"):
        asked(client, f"{DRAWER}{'&count=1' if where == 'homes' else ''}", where)
    refused = client.get(f"/v1/drawer-takers?{DRAWER}")
    assert_problem(refused, 429, "too-many-requests")
    assert 1 <= int(refused.headers["Retry-After"]) <= 30
    page = client.get(f"/build?{DRAWER}")
    assert page.status_code == 429
    assert "Retry-After" in page.headers
    assert client.get("/build").status_code == 200, "the empty form costs nothing"
    assert client.get("/v1/handbook/drawer-styles").status_code == 200
