"""The event feed over HTTP: begun anywhere, taken up again anywhere, and each institution's own."""

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import enter
from problem_assertions import assert_problem
from sqlalchemy import Engine

from service.app import build

OFFER = {"kind": "gift", "sender": {"name": "Orla Fennimore"}}


@pytest.fixture
def app(engine: Engine) -> Flask:
    return build(engine)


@pytest.fixture
def ambleford(app: Flask, engine: Engine) -> FlaskClient:
    return enter(engine, "ambleford", "Ambleford Museum").client(app)


def write(client: FlaskClient, code: str) -> str:
    made = client.post("/v1/consignments", json=OFFER | {"code": code})
    assert made.status_code == 201, made.text
    return str(made.get_json()["id"])


def read(client: FlaskClient, **query: Any) -> dict[str, Any]:
    answer = client.get("/v1/events", query_string=query)
    assert answer.status_code == 200, answer.text
    return dict(answer.get_json())


def test_what_has_just_been_answered_is_in_the_feed(ambleford: FlaskClient) -> None:
    made = write(ambleford, "A")
    (event,) = read(ambleford)["items"]
    assert (event["type"], event["data"]["href"]) == ("consignment.written", f"/v1/consignments/{made}")
    assert ambleford.get(event["data"]["href"]).status_code == 200, "the link leads to the thing"
    assert ambleford.get(f"/v1/events/{event['id']}").get_json() == event


def told_of(client: FlaskClient, thing: str) -> list[str]:
    return [event["type"] for event in read(client)["items"] if event["data"]["subject_id"] == thing]


def test_a_quarantine_is_told_of_by_all_that_is_written_of_it(ambleford: FlaskClient) -> None:
    said = {"subject": {"description": "twelve drawers"}, "arrived_on": "2026-11-01"}
    made = ambleford.post("/v1/quarantines", json=said | {"code": "q-1"}).get_json()
    address = f"/v1/quarantines/{made['id']}"
    log = b"time,core_c\r\n2026-11-02 08:00,-31\r\n"
    assert ambleford.post(f"{address}/logs?code=a", data=log, content_type="text/csv").status_code == 201
    tag = {"If-Match": ambleford.get(address).headers["ETag"]}
    taken_out = said | {"taken_out_at": "2026-11-06T00:00:00Z"}
    assert ambleford.put(address, json=taken_out, headers=tag).status_code == 200
    seen = {"on": "2026-11-07", "by": "Ines Halloran", "signs": "none_seen"}
    assert ambleford.post(f"{address}/inspections", json=seen).status_code == 201
    let_go = {"by": "Ines Halloran", "reason": "Sealed case."}
    assert ambleford.post(f"{address}/releases", json=let_go).status_code == 201

    steps = ["begun", "log_added", "changed", "inspected", "released"]
    assert told_of(ambleford, made["id"]) == [f"quarantine.{step}" for step in steps]
    (released,) = read(ambleford, type="quarantine.released")["items"]
    reason = ambleford.get(released["data"]["href"]).get_json()["releases"][0]["reason"]
    assert reason == "Sealed case.", "the link leads to who let it go, and why"


def test_a_quarantine_that_is_over_by_its_log_is_told_of_as_what_was_written(ambleford: FlaskClient) -> None:
    """Over it is by the clock, on some later reading; nobody writes that down."""
    made = ambleford.post(
        "/v1/quarantines",
        json={"code": "q-1", "subject": {"description": "a box"}, "arrived_on": "2026-01-01",
              "shut_at": "2026-01-02T00:00:00Z", "taken_out_at": "2026-01-06T00:00:00Z"},
    ).get_json()  # fmt: skip
    hours = [f"2026-01-0{day} {hour:02}:00,-31\r\n" for day in (2, 3, 4, 5) for hour in range(24)]
    log = "".join(["time,core_c\r\n", *hours]).encode()
    over = ambleford.post(f"/v1/quarantines/{made['id']}/logs?code=a", data=log, content_type="text/csv")
    assert over.get_json()["state"] == "over"
    assert told_of(ambleford, made["id"]) == ["quarantine.begun", "quarantine.log_added"]


def test_what_is_refused_of_a_quarantine_is_not_told(ambleford: FlaskClient) -> None:
    said = {"code": "q-1", "subject": {"description": "a box"}, "arrived_on": "2026-11-01"}
    made = ambleford.post("/v1/quarantines", json=said).get_json()
    assert ambleford.post("/v1/quarantines", json=said).status_code == 409, "the code is taken"
    seen = {"on": "2999-01-01", "by": "Ines Halloran", "signs": "none_seen"}
    assert ambleford.post(f"/v1/quarantines/{made['id']}/inspections", json=seen).status_code == 422
    assert [event["type"] for event in read(ambleford)["items"]] == ["quarantine.begun"]


def test_a_reader_goes_on_where_it_ended_page_by_page_and_again_at_the_end(ambleford: FlaskClient) -> None:
    ids = [write(ambleford, str(number)) for number in range(5)]
    seen: list[str] = []
    page = read(ambleford, page_size=2)
    while True:
        seen += [event["data"]["subject_id"] for event in page["items"]]
        if not page["more"]:
            break
        page = read(ambleford, page_size=2, cursor=page["next_cursor"])
    assert seen == ids
    at_the_end = read(ambleford, cursor=page["next_cursor"])
    assert (at_the_end["items"], at_the_end["more"]) == ([], False)
    later = write(ambleford, "later")
    (event,) = read(ambleford, cursor=at_the_end["next_cursor"])["items"]
    assert event["data"]["subject_id"] == later


def test_the_link_header_leads_on(ambleford: FlaskClient) -> None:
    write(ambleford, "A")
    answer = ambleford.get("/v1/events?type=consignment.written")
    following = answer.headers["Link"].partition(">")[0].removeprefix("<")
    write(ambleford, "B")
    assert [event["type"] for event in ambleford.get(following).get_json()["items"]] == ["consignment.written"]


def test_only_some_types_and_a_cursor_that_is_good_for_all(ambleford: FlaskClient) -> None:
    made = write(ambleford, "A")
    ambleford.delete(f"/v1/consignments/{made}", headers={"If-Match": '"1"'})
    removed = read(ambleford, type="consignment.removed")
    assert [event["type"] for event in removed["items"]] == ["consignment.removed"]
    nothing = read(ambleford, type="fit_check.made")
    assert nothing["items"] == []
    assert read(ambleford, cursor=nothing["next_cursor"])["items"] == [], "it has looked past them"


def test_whoever_comes_new_may_leave_the_past_alone(ambleford: FlaskClient) -> None:
    write(ambleford, "before")
    begun = read(ambleford, from_end="true")
    assert begun["items"] == []
    after = write(ambleford, "after")
    (event,) = read(ambleford, from_end="true", cursor=begun["next_cursor"])["items"]
    assert event["data"]["subject_id"] == after


def test_an_empty_feed_has_a_cursor_to_come_back_with(ambleford: FlaskClient) -> None:
    empty = read(ambleford)
    write(ambleford, "first")
    assert len(read(ambleford, cursor=empty["next_cursor"])["items"]) == 1


def test_what_is_no_cursor_and_no_type_is_named(ambleford: FlaskClient) -> None:
    for query in ({"cursor": "nonsense"}, {"type": "consignment.sold"}, {"from_end": "perhaps"}):
        assert_problem(ambleford.get("/v1/events", query_string=query), 422, "invalid")
