"""Whoever reads a thing, changes one figure and sends it back is understood: no other preparation is asked for."""

import json

import pytest
from example_story import example
from flask.testing import FlaskClient
from members import enter
from problem_assertions import assert_problem
from sqlalchemy import Engine

from service.app import build


@pytest.fixture
def owner(shared_engine: Engine, request: pytest.FixtureRequest) -> FlaskClient:
    return enter(shared_engine, f"sends-{abs(hash(request.node.name))}", "Sends back").client(build(shared_engine))


def made(owner: FlaskClient, operation: str, address: str) -> str:
    response = owner.post(address, json=example(operation)["request"])
    assert response.status_code == 201, response.text
    return str(response.headers["Location"])


def put_back(owner: FlaskClient, address: str, change: str = "", to: str = "") -> dict:
    before = owner.get(address)
    text = before.get_data(as_text=True)
    assert change in text
    after = owner.put(
        address, data=text.replace(change, to, 1) if change else text, content_type="application/json",
        headers={"If-Match": before.headers["ETag"]},
    )  # fmt: skip
    assert after.status_code == 200, after.text
    return {"before": before.get_json(), "after": after.get_json()}


def test_a_revision_comes_back_as_it_was_read_and_says_the_same(owner: FlaskClient) -> None:
    system = made(owner, "create_storage_system", "/v1/storage-systems")
    revision = made(owner, "create_revision", f"{system}/revisions")
    told = put_back(owner, revision)
    assert told["after"]["content"] == told["before"]["content"]
    assert told["after"]["content_sha256"] == told["before"]["content_sha256"]


def test_one_figure_of_a_revision_changes_and_no_other(owner: FlaskClient) -> None:
    system = made(owner, "create_storage_system", "/v1/storage-systems")
    revision = made(owner, "create_revision", f"{system}/revisions")
    told = put_back(owner, revision, '"free_positions":420', '"free_positions":419')
    told["before"]["content"]["cabinets"][0]["free_positions"] = 419
    assert told["after"]["content"] == told["before"]["content"]


def test_a_consignment_and_a_cover_sheet_come_back_as_they_were_read(owner: FlaskClient) -> None:
    consignment = made(owner, "create_consignment", "/v1/consignments")
    told = put_back(owner, consignment)
    assert told["after"]["lines"] == told["before"]["lines"]
    system = made(owner, "create_storage_system", "/v1/storage-systems")
    assert put_back(owner, system)["after"]["name"] == put_back(owner, system)["before"]["name"]


def test_what_an_answer_never_had_is_still_refused(owner: FlaskClient) -> None:
    consignment = made(owner, "create_consignment", "/v1/consignments")
    before = owner.get(consignment)
    changed = before.get_json() | {"colour": "red"}
    refused = owner.put(consignment, json=changed, headers={"If-Match": before.headers["ETag"]})
    assert_problem(refused, 422, "invalid")


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"inner": {"width": 501}}, "/lines/0/inner/width"),
        ({"pins": {"length": 38, "depth": 39}}, "/lines/0/pins/depth"),
    ],
)
def test_a_line_that_contradicts_itself_is_refused_where_it_does(
    owner: FlaskClient, change: dict, pointer: str
) -> None:
    offer = json.loads(json.dumps(example("create_consignment")["request"]))
    offer["lines"] = [{"container": "drawer", "count": 1, "outer": {"width": 500}} | change]
    problem = assert_problem(owner.post("/v1/consignments", json=offer), 422, "invalid")
    assert [fault["pointer"] for fault in problem["errors"]] == [pointer]
