"""JSON merge patch over HTTP: what is left out stays, null takes away, and nothing is patched that was not seen."""

from typing import Any

import pytest
from flask.testing import FlaskClient
from members import enter
from problem_assertions import assert_problem, faults
from sqlalchemy import Engine

from service.app import build, document

TYPE = "application/merge-patch+json"


@pytest.fixture
def museum(engine: Engine) -> FlaskClient:
    return enter(engine, "ambleford", "Ambleford", "GB").client(build(engine))


@pytest.fixture
def consignment(museum: FlaskClient) -> str:
    line = {"container": "drawer", "count": 2, "outer": {"width": "16 1/2 in"}}
    offer = {"code": "c", "kind": "gift", "sender": {"name": "Orla Fennimore"}, "note": "by van", "lines": [line]}
    return str(museum.post("/v1/consignments", json=offer).headers["Location"])


def patch(museum: FlaskClient, address: str, change: Any, tag: str = '"1"', kind: str = TYPE) -> Any:
    return museum.patch(address, json=change, headers={"If-Match": tag, "Content-Type": kind})


def test_what_is_left_out_stays_as_it_was(museum: FlaskClient, consignment: str) -> None:
    before = museum.get(consignment).get_json()
    after = patch(museum, consignment, {"kind": "loan"})
    assert after.status_code == 200, after.text
    assert after.headers["ETag"] == '"2"'
    changed = {key for key, value in after.get_json().items() if before[key] != value}
    assert changed == {"kind", "version", "updated_at"}


def test_null_takes_a_value_away_and_a_list_is_replaced_whole(museum: FlaskClient, consignment: str) -> None:
    after = patch(museum, consignment, {"note": None, "lines": [{"container": "storage_box", "count": 9}]})
    assert after.get_json()["note"] == ""
    assert [line["container"] for line in after.get_json()["lines"]] == ["storage_box"]


def test_objects_are_merged_member_by_member(museum: FlaskClient, consignment: str) -> None:
    # One sender becomes another: the name goes, and the institution comes.
    own_id = museum.get(consignment).get_json()["institution_id"]
    after = patch(museum, consignment, {"sender": {"name": None, "institution_id": own_id}})
    assert after.get_json()["sender"] == {"institution_id": own_id}
    both = patch(museum, consignment, {"sender": {"name": "Orla Fennimore"}}, tag='"2"')
    assert list(faults(assert_problem(both, 422, "invalid"))) == ["/sender"]


def test_what_a_patch_leaves_is_judged_as_a_whole(museum: FlaskClient, consignment: str) -> None:
    for change, pointer in (
        ({"kind": None}, "/kind"),
        ({"kind": "purchase"}, "/kind"),
        ({"colour": "red"}, "/colour"),
        ({"id": "019ab000-0000-7000-8000-0000000000a1"}, "/id"),
        ({"version": 7}, "/version"),
        (["a", "list"], ""),
    ):
        refused = assert_problem(patch(museum, consignment, change), 422, "invalid")
        assert list(faults(refused)) == [pointer], change
    assert museum.get(consignment).headers["ETag"] == '"1"'


def test_a_patch_needs_its_media_type_and_the_version_that_was_seen(museum: FlaskClient, consignment: str) -> None:
    plain = patch(museum, consignment, {"kind": "loan"}, kind="application/json")
    assert_problem(plain, 415, "unsupported-media-type")
    unseen = museum.patch(consignment, json={"kind": "loan"}, headers={"Content-Type": TYPE})
    assert_problem(unseen, 428, "condition-missing")
    assert patch(museum, consignment, {"kind": "loan"}).status_code == 200
    assert_problem(patch(museum, consignment, {"kind": "gift"}), 412, "stale-version")


def test_every_thing_that_is_written_anew_under_a_version_may_be_changed_in_part() -> None:
    declared = document().operations
    things = ("institution", "storage_system", "revision", "consignment", "transfer", "permit", "loan_rules")
    patched = {operation.name for operation in declared if operation.method == "PATCH"}
    assert patched >= {f"patch_{thing}" for thing in things}
