"""Whatever goes wrong is told in one shape, and told so that it can be mended."""

import inspect
import io
import json
import re

import pytest
from flask.testing import FlaskClient
from problem_assertions import assert_problem, faults

from service.core import errors
from service.store.problems import PROBLEMS
from service.web.kit.problems import KINDS, MOST_FAULTS, of_domain


def test_an_unknown_path_is_a_problem(client: FlaskClient) -> None:
    assert "/nothing" in assert_problem(client.get("/nothing"), 404, "not-found")["detail"]


def test_a_path_with_a_slash_too_many_is_told_so(client: FlaskClient) -> None:
    for path in ("/v1/boxes/", "/v1/boxes//", "/v1/boxes/accident/"):
        detail = assert_problem(client.get(path), 404, "not-found")["detail"]
        assert detail.endswith(f"Leave off the slash at its end: {path.rstrip('/')}."), path
    assert "slash" not in assert_problem(client.get("/v1/nothing/"), 404, "not-found")["detail"]
    assert "slash" not in assert_problem(client.get("/v1/nothing"), 404, "not-found")["detail"]


def test_a_path_whose_id_is_none_is_a_problem(client: FlaskClient) -> None:
    assert_problem(client.get("/v1/boxes/not-an-id"), 404, "not-found")


def test_a_thing_that_is_not_there_is_a_problem(client: FlaskClient) -> None:
    gone = "00000000-0000-4000-8000-000000000000"
    assert gone in assert_problem(client.get(f"/v1/boxes/{gone}"), 404, "not-found")["detail"]


@pytest.mark.parametrize("method", ["PATCH", "TRACE", "DELETE"])
def test_a_method_that_is_not_understood_says_which_are(client: FlaskClient, method: str) -> None:
    response = client.open("/v1/boxes", method=method)
    assert_problem(response, 405, "method-not-allowed")
    assert {"GET", "POST"} <= set(response.headers["Allow"].split(", "))


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"\xff", b'{"whole": NaN}', b'{"whole": 1e999}', b'{"text": "\\ud800"}', b"[" * 5_000],
    ids=["nothing", "half", "not UTF-8", "NaN", "infinity", "half a surrogate pair", "too deep"],
)
def test_what_is_not_json_is_told_from_what_is_not_accepted(client: FlaskClient, body: bytes) -> None:
    response = client.post("/v1/boxes/everything", data=body, content_type="application/json")
    assert_problem(response, 400, "not-json")


@pytest.mark.parametrize("body", [b"[]", b'"box"', b"3", b"null"])
def test_json_that_is_no_object_is_faulted_as_a_whole(client: FlaskClient, body: bytes) -> None:
    response = client.post("/v1/boxes/everything", data=body, content_type="application/json")
    assert faults(assert_problem(response, 422, "invalid")) == {"": "Write an object, in curly brackets."}


@pytest.mark.parametrize("media_type", ["text/plain", "application/x-www-form-urlencoded", "application/jsonl", None])
def test_a_body_that_is_not_sent_as_json_is_not_read(client: FlaskClient, media_type: str | None) -> None:
    response = client.post("/v1/boxes/everything", data=b"{}", content_type=media_type)
    assert "application/json" in assert_problem(response, 415, "unsupported-media-type")["detail"]


def test_a_body_may_say_its_character_set(client: FlaskClient) -> None:
    response = client.post("/v1/boxes/everything", data=b"{}", content_type="application/json; charset=utf-8")
    assert response.get_json() == {}


def test_a_body_that_is_too_large_is_told_the_limit(client: FlaskClient) -> None:
    response = client.post("/v1/boxes/everything", json={"text": "x" * 20_000})
    assert "20000" in assert_problem(response, 413, "too-large")["detail"]


def test_a_body_in_chunks_is_not_cut_at_the_limit_but_refused(client: FlaskClient) -> None:
    """It does not say how long it is (RFC 9112, 7.1); a sheet cut in two would be stored as if it were whole."""
    body = json.dumps({"text": "x"}).encode().ljust(30_000)
    response = client.post(
        "/v1/boxes/everything",
        input_stream=io.BytesIO(body),
        content_type="application/json",
        environ_overrides={"wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"},
    )
    assert_problem(response, 413, "too-large")


@pytest.mark.parametrize("body", [b"", b" \n"])
def test_a_body_that_is_empty_is_said_to_be(client: FlaskClient, body: bytes) -> None:
    response = client.post("/v1/boxes/everything", data=body, content_type="application/json")
    assert assert_problem(response, 400, "not-json")["detail"].startswith("The body is empty")


def test_every_fault_of_a_body_is_named_at_once_and_where_it_stands(client: FlaskClient) -> None:
    sent = {
        "whole": "3",
        "a/b~c": 1,
        "trays": [{"count": 4}, {"count": 0, "height": {"readings": [1, "x"], "tolerance": -1}}],
    }
    found = faults(assert_problem(client.post("/v1/boxes/everything", json=sent), 422, "invalid"))
    assert found.keys() == {
        "/whole", "/a~1b~0c", "/trays/1/count", "/trays/1/height/readings/1", "/trays/1/height/tolerance"
    }  # fmt: skip
    assert found["/trays/1/count"] == "0 is outside 1 to 500."


def test_faults_of_the_query_stand_beside_those_of_the_body(client: FlaskClient) -> None:
    found = faults(assert_problem(client.post("/v1/boxes/everything?dry=1", json={"whole": 99}), 422, "invalid"))
    assert found.keys() == {"dry", "/whole"}


def test_every_fault_of_a_query_is_named_at_once(client: FlaskClient) -> None:
    query = "page_size=201&closing=open&closing=plain&empty=yes&empty=no&colour=red"
    found = faults(assert_problem(client.get(f"/v1/boxes?{query}"), 422, "invalid"))
    assert found.keys() == {"page_size", "closing", "empty", "colour"}
    assert found["page_size"] == "201 is outside 1 to 200."


def test_a_thousand_faults_are_not_all_listed(client: FlaskClient) -> None:
    body = assert_problem(
        client.post("/v1/boxes/everything", json={f"x{n}": 0 for n in range(1_000)}), 422, "invalid"
    )
    assert len(body["errors"]) == MOST_FAULTS
    assert body["detail"] == "1000 values are not accepted."


def test_a_fault_of_the_service_tells_nothing_of_its_inside(client: FlaskClient) -> None:
    response = client.post("/v1/boxes/accident")
    assert_problem(response, 500, "internal-error")
    assert "swordfish" not in response.get_data(as_text=True)
    assert "Traceback" not in response.get_data(as_text=True)


def test_what_contradicts_what_is_there_is_a_conflict_of_its_kind(client: FlaskClient) -> None:
    box = {"code": "a", "width": 400}
    assert client.post("/v1/boxes", json=box).status_code == 201
    assert_problem(client.post("/v1/boxes", json=box), 409, "code-taken")


def test_what_is_not_allowed_is_forbidden(client: FlaskClient) -> None:
    assert_problem(client.post("/v1/boxes/refusals/not-allowed"), 403, "forbidden")


def test_a_busy_service_says_when_to_come_back(client: FlaskClient) -> None:
    response = client.post("/v1/boxes/refusals/busy")
    assert_problem(response, 503, "busy")
    assert int(response.headers["Retry-After"]) > 0


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS.keys())
def test_each_kind_of_problem_is_documented(kind: object) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", kind.slug)
    assert 400 <= kind.status < 600
    assert kind.title
    assert kind.meaning.endswith(".")


@pytest.mark.parametrize("name", PROBLEMS)
def test_each_constraint_that_a_request_can_break_has_its_problem(name: str) -> None:
    assert of_domain(PROBLEMS[name]()).slug in KINDS


def test_each_error_of_the_house_can_be_told() -> None:
    made = {
        errors.NotFound: errors.NotFound("box", "b1"),
        errors.NotAllowed: errors.NotAllowed("You may not."),
        errors.Invalid: errors.Invalid("lines.0.count", "This is too few."),
        errors.Faults: errors.Faults((errors.Fault("/lines/0", "Too few."), errors.Fault("/lines/1", "Too many."))),
        errors.Conflict: errors.Conflict("code_taken", "The code is taken."),
        errors.StaleVersion: errors.StaleVersion("box", 1, 2),
        errors.Busy: errors.Busy("Others are at work."),
        errors.TooManyAtOnce: errors.TooManyAtOnce("You have as much under way as you may.", retry_after_s=60),
    }
    kinds = {c for _, c in inspect.getmembers(errors, inspect.isclass) if issubclass(c, errors.TraybridgeError)}
    assert kinds - {errors.TraybridgeError} == made.keys()
    assert {KINDS[of_domain(error).slug].status for error in made.values()} == {404, 403, 422, 409, 412, 429, 503}


def test_the_field_that_the_house_faults_becomes_a_pointer() -> None:
    [fault] = of_domain(errors.Invalid("lines.0.count", "This is too few.")).faults
    assert fault.as_json() == {"pointer": "/lines/0/count", "detail": "This is too few."}
