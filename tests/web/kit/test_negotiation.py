"""An answer comes in the form that suits the asker, or says which forms there are."""

import pytest
from flask.testing import FlaskClient
from problem_assertions import assert_problem


@pytest.fixture
def address(client: FlaskClient) -> str:
    return client.post("/v1/boxes", json={"code": "box-1", "width": 419.1}).headers["Location"]


@pytest.mark.parametrize(
    ("accept", "media_type"),
    [
        (None, "application/json"),
        ("", "application/json"),
        ("*/*", "application/json"),
        ("text/*", "text/plain"),
        ("text/html, text/plain;q=0.1", "text/plain"),
        ("text/plain;q=0.5, application/json;q=0.4", "text/plain"),
        ("application/json;q=0, */*", "text/plain"),
    ],
)
def test_the_form_follows_accept(client: FlaskClient, address: str, accept: str | None, media_type: str) -> None:
    headers = {} if accept is None else {"Accept": accept}
    assert client.get(address, headers=headers).mimetype == media_type


def test_a_form_that_there_is_not_is_answered_with_those_there_are(client: FlaskClient, address: str) -> None:
    response = client.get(address, headers={"Accept": "application/pdf"})
    assert assert_problem(response, 406, "not-acceptable")["detail"].endswith("application/json or text/plain.")


def test_an_operation_may_offer_no_json_at_all(client: FlaskClient) -> None:
    assert client.get("/v1/boxes/drawing").mimetype == "image/svg+xml"
    assert_problem(client.get("/v1/boxes/drawing", headers={"Accept": "application/json"}), 406, "not-acceptable")
