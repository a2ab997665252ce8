"""A night's changes in one call: made, changed or left alone by the sender's identifiers, each item for itself."""

import threading
from typing import Any

import pytest
from flask.testing import FlaskClient
from members import enter
from problem_assertions import assert_problem, faults
from sqlalchemy import Engine

from service.app import build


@pytest.fixture
def museum(engine: Engine) -> FlaskClient:
    return enter(engine, "ambleford", "Ambleford", "GB").client(build(engine))


def offer(number: int, **more: Any) -> dict[str, Any]:
    return {
        "identifier": {"scheme": "acc", "value": str(number)},
        "code": f"2026-{number}",
        "kind": "gift",
        "sender": {"name": "Orla Fennimore"},
        "lines": [{"container": "drawer", "count": number, "outer": {"width": "16 1/2 in"}}],
    } | more


def send(museum: FlaskClient, expect: int = 200, **batch: Any) -> dict[str, Any]:
    response = museum.post("/v1/batches", json=batch)
    assert response.status_code == expect, response.text
    return dict(response.get_json())


def outcomes(answer: dict[str, Any]) -> list[str]:
    return [item["outcome"] for item in answer["items"]]


def test_the_same_night_sent_twice_does_nothing_the_second_time(museum: FlaskClient) -> None:
    night = {"consignments": [offer(1), offer(2), offer(3)]}
    first = send(museum, **night)
    assert outcomes(first) == ["made"] * 3
    again = send(museum, **night)
    assert outcomes(again) == ["unchanged"] * 3
    assert [(i["id"], i["version"]) for i in again["items"]] == [(i["id"], i["version"]) for i in first["items"]]
    changed = send(museum, consignments=[offer(1), offer(2, note="by van"), offer(4)])
    assert outcomes(changed) == ["unchanged", "changed", "made"]
    assert museum.get(changed["items"][1]["href"]).get_json()["note"] == "by van"


def test_one_bad_item_does_not_spoil_the_others_and_says_what_is_wrong(museum: FlaskClient) -> None:
    bad_width = offer(2, lines=[{"container": "drawer", "count": 0}])
    taken = offer(3, code="2026-1")
    answer = send(museum, consignments=[offer(1), bad_width, taken, offer(4)])
    assert outcomes(answer) == ["made", "refused", "refused", "made"]
    assert (answer["made"], answer["refused"]) == (2, 2)
    assert answer["items"][1]["problem"]["errors"][0]["pointer"] == "/lines/0/count"
    assert answer["items"][2]["problem"]["type"] == "/problems/code-taken"
    assert len(museum.get("/v1/consignments").get_json()["items"]) == 2


def test_all_or_nothing_writes_nothing_and_names_every_fault_where_it_stands(museum: FlaskClient) -> None:
    bad = [offer(1), offer(2, kind="purchase"), offer(3, code="2026-1")]
    response = museum.post("/v1/batches", json={"consignments": bad, "all_or_nothing": True})
    problem = assert_problem(response, 422, "invalid")
    assert sorted(faults(problem)) == ["/consignments/1/kind", "/consignments/2"]
    assert museum.get("/v1/consignments").get_json()["items"] == []
    assert museum.get("/v1/external-identifiers?scheme=acc").get_json()["items"] == []


def test_a_thousand_at_once_and_not_one_more(museum: FlaskClient) -> None:
    small = [offer(n, lines=[]) for n in range(1, 1001)]
    assert send(museum, consignments=small)["made"] == 1000
    assert send(museum, consignments=small)["unchanged"] == 1000
    one_more = {"consignments": small, "storage_systems": [a_system()]}
    assert_problem(museum.post("/v1/batches", json=one_more), 422, "invalid")


def a_system(**more: Any) -> dict[str, Any]:
    return {
        "identifier": {"scheme": "stores", "value": "7"}, "code": "hall", "name": "Hall", "visibility": "members",
    } | more  # fmt: skip


def test_a_storage_system_comes_with_its_contents_and_is_published_once(museum: FlaskClient) -> None:
    content = {"cabinets": [{"code": "c", "name": "Cabinet", "count": 40}]}
    first = send(museum, storage_systems=[a_system(content=content, publish=True)])
    assert outcomes(first) == ["made"]
    assert outcomes(send(museum, storage_systems=[a_system(content=content, publish=True)])) == ["unchanged"]
    wider = {"cabinets": [{"code": "c", "name": "Cabinet", "count": 41}]}
    assert outcomes(send(museum, storage_systems=[a_system(content=wider, publish=True)])) == ["changed"]
    holds = museum.get(first["items"][0]["href"] + "/published-revision").get_json()
    assert (holds["number"], holds["content"]["cabinets"][0]["count"]) == (2, 41)


def test_a_transfers_text_is_synchronised_until_something_is_packed(engine: Engine) -> None:
    app = build(engine)
    north, south = enter(engine, "north", "North"), enter(engine, "south", "South")
    clients = north.client(app), south.client(app)
    loan: dict[str, Any] = {
        "identifier": {"scheme": "loans", "value": "14"}, "code": "L-14", "kind": "loan",
        "lender": {"institution_id": str(north.id)}, "borrower": {"institution_id": str(south.id)},
        "answerable": {"name": "Dr Ines Halloran"}, "purpose": "Revision", "by": "Marta Quillfeather",
        "lines": [{"key": "1", "count": 20, "taxon": "Carabus hortensis", "type_status": "not_a_type"}],
    }  # fmt: skip
    made = send(clients[0], transfers=[loan])["items"][0]
    assert made["outcome"] == "made"
    assert outcomes(send(clients[0], transfers=[loan])) == ["unchanged"]
    assert outcomes(send(clients[0], transfers=[loan | {"purpose": "Revision of the genus"}])) == ["changed"]
    agreement = clients[0].get(made["href"]).get_json()["agreement"]
    steps = [(0, {"step": "signed", "agreement": agreement}), (1, {"step": "signed", "agreement": agreement})]
    for number, (who, step) in enumerate([*steps, (0, {"step": "packed", "everything": True})]):
        key = {"Idempotency-Key": f"packing-{number}"}
        added = clients[who].post(f"{made['href']}/facts", json=step | {"by": "A. Clerk"}, headers=key)
        assert added.status_code == 201, added.text
    same = loan | {"purpose": "Revision of the genus"}
    assert outcomes(send(clients[0], transfers=[same])) == ["unchanged"]
    late = send(clients[0], transfers=[loan])["items"][0]
    assert late["problem"]["type"] == "/problems/step-refused"
    other = send(clients[0], transfers=[same | {"kind": "gift"}])["items"][0]
    assert other["problem"]["errors"][0]["pointer"] == "/kind"


def test_an_item_may_say_which_version_it_was_decided_on(museum: FlaskClient) -> None:
    send(museum, consignments=[offer(1)])
    assert outcomes(send(museum, consignments=[offer(1, note="a", version=1)])) == ["changed"]
    late = send(museum, consignments=[offer(1, note="b", version=1)])["items"][0]
    assert late["problem"]["type"] == "/problems/stale-version"


def test_two_who_send_the_same_night_at_once_make_each_thing_once(engine: Engine) -> None:
    member, app = enter(engine, "ambleford", "Ambleford"), build(engine)
    told: list[dict[str, Any]] = []

    def work() -> None:
        told.append(send(member.client(app), consignments=[offer(n) for n in range(1, 21)]))

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answer["made"] for answer in told) == [0, 0, 20]
    assert sorted(answer["unchanged"] for answer in told) == [0, 20, 20]
