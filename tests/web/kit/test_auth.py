"""Nobody passes a door without the scope it asks for, and no answer repeats a key."""

import pytest
from flask.testing import FlaskClient
from problem_assertions import assert_problem
from shelf import KEYS, boxes

from service.core.actor import ANYBODY, Actor

CLOSED = [operation for operation in boxes.operations if operation.scope != "public"]


@pytest.mark.parametrize("operation", CLOSED, ids=lambda operation: operation.name)
def test_no_closed_operation_answers_without_a_key(stranger: FlaskClient, operation: object) -> None:
    path = operation.path.replace("<uuid:box_id>", "00000000-0000-4000-8000-000000000000").replace(
        "<code:kind>", "busy"
    )
    response = stranger.open(f"/v1/boxes{path}", method=operation.method)
    assert_problem(response, 401, "unauthenticated")
    assert response.headers["WWW-Authenticate"].startswith("Bearer ")


@pytest.mark.parametrize(
    "header", ["Bearer", "Bearer ", "Bearer wrong", "Basic key-all", "key-all", "Bearer key-all x"]
)
def test_a_key_that_is_not_good_opens_nothing_public_or_not(stranger: FlaskClient, header: str) -> None:
    for path in ("/v1/boxes", "/v1/boxes/drawing"):
        response = stranger.get(path, headers={"Authorization": header})
        assert_problem(response, 401, "unauthenticated")
        assert "key-all" not in response.get_data(as_text=True)


def test_a_key_that_only_reads_does_not_write(reader: FlaskClient) -> None:
    assert reader.get("/v1/boxes").status_code == 200
    assert "“write”" in assert_problem(reader.post("/v1/boxes", json={}), 403, "scope-missing")["detail"]


def test_the_scope_is_asked_for_before_anything_is_read(reader: FlaskClient) -> None:
    assert_problem(reader.post("/v1/boxes", data=b"{", content_type="text/plain"), 403, "scope-missing")


def test_the_word_bearer_has_no_case(stranger: FlaskClient) -> None:
    assert stranger.get("/v1/boxes", headers={"Authorization": "bearer key-read"}).status_code == 200


def test_a_public_operation_knows_who_asks_when_they_say_so(stranger: FlaskClient, reader: FlaskClient) -> None:
    assert stranger.get("/v1/boxes/drawing").headers["X-Asked-By"] == "None"
    assert reader.get("/v1/boxes/drawing").headers["X-Asked-By"] == str(KEYS["key-read"].key_id)


def test_no_scope_includes_another() -> None:
    assert not Actor(scopes=frozenset({"admin"})).may("read")
    assert ANYBODY.is_anonymous


@pytest.mark.parametrize("header", ["Basic a2V5OmFsbA==", "Bearer", "key-all"])
def test_who_comes_with_a_name_and_a_password_is_told_what_would_be_right(stranger: FlaskClient, header: str) -> None:
    problem = assert_problem(stranger.get("/v1/boxes", headers={"Authorization": header}), 401, "unauthenticated")
    assert "“Authorization: Bearer <key>”" in problem["detail"]
    unknown = assert_problem(
        stranger.get("/v1/boxes", headers={"Authorization": "Bearer wrong"}), 401, "unauthenticated"
    )
    assert "not known" in unknown["detail"]
