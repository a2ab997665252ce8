"""Webhooks over HTTP: the secret is shown once, nobody changes what they have not read, and nothing leads home."""

from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from members import enter
from problem_assertions import assert_problem
from sqlalchemy import Engine

from service.actions.webhooks import MOST_WEBHOOKS
from service.app import build
from service.outside.calling import Caller

#: Addresses of the open network stand behind every name; nobody calls there in these tests.
OPEN = Caller(resolver=lambda *_: ["193.0.6.139"])
WISH = {"url": "https://hooks.ambleford.example/traybridge"}


@pytest.fixture
def app(engine: Engine) -> Flask:
    return build(engine, caller=OPEN)


@pytest.fixture
def ambleford(app: Flask, engine: Engine) -> FlaskClient:
    return enter(engine, "ambleford", "Ambleford Museum").client(app)


def make(client: FlaskClient, **wish: Any) -> dict[str, Any]:
    made = client.post("/v1/webhooks", json=WISH | wish)
    assert made.status_code == 201, made.text
    return dict(made.get_json()) | {"at": made.headers["Location"]}


def test_the_secret_is_shown_once_and_once_more_for_each_new_one(ambleford: FlaskClient) -> None:
    made = make(ambleford)
    read = ambleford.get(made["at"])
    assert made["secret"].startswith("whsec_")
    assert "secret" not in read.get_json()
    assert made["secret"] not in ambleford.get("/v1/webhooks").text
    rotated = ambleford.post(f"{made['at']}/secret-rotation", json={}, headers={"If-Match": read.headers["ETag"]})
    assert rotated.status_code == 200, rotated.text
    assert rotated.get_json()["secret"] not in (made["secret"], "")
    assert rotated.get_json()["former_until"] > made["created_at"]
    assert ambleford.get(made["at"]).headers["ETag"] != read.headers["ETag"]


def test_a_secret_can_be_replaced_without_any_overlap(ambleford: FlaskClient) -> None:
    made = make(ambleford)
    address = f"{made['at']}/secret-rotation"
    rotated = ambleford.post(address, json={"overlap_hours": 0}, headers={"If-Match": '"1"'})
    assert "former_until" not in rotated.get_json()


def test_a_change_names_the_version_that_it_was_decided_on(ambleford: FlaskClient) -> None:
    made = make(ambleford)
    assert_problem(ambleford.put(made["at"], json=WISH), 428, "condition-missing")
    changed = ambleford.put(made["at"], json=WISH | {"enabled": False}, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed.get_json()["enabled"]) == (200, False)
    assert_problem(ambleford.put(made["at"], json=WISH, headers={"If-Match": '"1"'}), 412, "stale-version")
    assert_problem(ambleford.delete(made["at"], headers={"If-Match": '"1"'}), 412, "stale-version")
    assert ambleford.delete(made["at"], headers={"If-Match": '"2"'}).status_code == 204
    assert_problem(ambleford.get(made["at"]), 404, "not-found")


def test_what_was_read_can_be_sent_back(ambleford: FlaskClient) -> None:
    made = make(ambleford, types=["transfer.dispatched"], description="Night run")
    read = ambleford.get(made["at"])
    again = ambleford.put(made["at"], json=read.get_json(), headers={"If-Match": read.headers["ETag"]})
    assert again.status_code == 200
    assert again.get_json()["types"] == ["transfer.dispatched"]


@pytest.mark.parametrize(
    "url",
    [
        "http://hooks.example/", "https://127.0.0.1/", "https://127.1/", "https://0x7f.1/", "https://2130706433/",
        "https://localhost/", "https://[::1]/", "https://[::ffff:10.0.0.1]/", "https://10.1.2.3/",
        "https://169.254.169.254/latest/meta-data/", "https://[64:ff9b::7f00:1]/", "https://me:pw@hooks.example/",
        "ftp://hooks.example/", "https://", "hooks.example", "https://hooks.example/#x",
    ],
)  # fmt: skip
def test_no_address_that_leads_home_or_is_none_can_be_registered(engine: Engine, url: str) -> None:
    """By the real resolver of this machine, which knows no name that ends in .example."""
    client = enter(engine, "ambleford", "Ambleford Museum").client(build(engine))
    refused = client.post("/v1/webhooks", json={"url": url})
    assert_problem(refused, 422, "invalid")
    assert refused.get_json()["errors"][0]["pointer"] == "/url"
    assert client.get("/v1/webhooks").get_json()["items"] == []


def test_an_address_is_judged_again_when_it_is_changed(ambleford: FlaskClient, app: Flask) -> None:
    from service.web.webhooks import call_by

    made = make(ambleford)
    call_by(app, Caller(resolver=lambda *_: ["193.0.6.139", "10.0.0.1"]))
    assert_problem(ambleford.put(made["at"], json=WISH, headers={"If-Match": '"1"'}), 422, "invalid")


def test_there_are_not_more_webhooks_than_anybody_needs(ambleford: FlaskClient) -> None:
    for _ in range(MOST_WEBHOOKS):
        make(ambleford)
    assert_problem(ambleford.post("/v1/webhooks", json=WISH), 409, "too-many-webhooks")


def test_nothing_is_sent_to_a_disabled_one(ambleford: FlaskClient) -> None:
    made = make(ambleford, enabled=False)
    for what, body in (("tests", None), ("replays", {"since": "2026-01-01T00:00:00Z"})):
        refused = ambleford.post(f"{made['at']}/{what}", json=body)
        assert_problem(refused, 409, "webhook-is-disabled")


def test_what_to_send_again_is_one_event_or_a_time_and_not_both(ambleford: FlaskClient) -> None:
    made = make(ambleford)
    event = ambleford.post(f"{made['at']}/tests").get_json()
    both = {"event_id": event["id"], "since": "2026-01-01T00:00:00Z"}
    for body in ({}, both):
        assert_problem(ambleford.post(f"{made['at']}/replays", json=body), 422, "invalid")
    again = ambleford.post(f"{made['at']}/replays", json={"event_id": event["id"]})
    assert (again.status_code, again.get_json()) == (202, {"count": 1})
    nobody = {"event_id": "019ab000-0000-7000-8000-000000000001"}
    assert_problem(ambleford.post(f"{made['at']}/replays", json=nobody), 404, "not-found")


def test_a_retry_of_the_request_makes_no_second_webhook(ambleford: FlaskClient) -> None:
    headers = {"Idempotency-Key": "my-own-0001"}
    first = ambleford.post("/v1/webhooks", json=WISH, headers=headers).get_json()
    assert ambleford.post("/v1/webhooks", json=WISH, headers=headers).get_json() == first
    assert len(ambleford.get("/v1/webhooks").get_json()["items"]) == 1
