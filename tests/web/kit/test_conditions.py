"""Nobody overwrites what they have not seen, and nobody fetches what they hold."""

import pytest
from flask.testing import FlaskClient
from problem_assertions import assert_problem, faults

BOX = {"code": "box-1", "width": 419.1}


@pytest.fixture
def address(client: FlaskClient) -> str:
    return client.post("/v1/boxes", json=BOX).headers["Location"]


@pytest.mark.parametrize("held", ['"1"', 'W/"1"', '"0", "1"', "*"])
def test_a_version_that_the_asker_holds_is_not_sent_again(client: FlaskClient, address: str, held: str) -> None:
    response = client.get(address, headers={"If-None-Match": held})
    assert (response.status_code, response.data) == (304, b"")
    assert response.headers["ETag"] == '"1"'
    assert response.headers["Cache-Control"] == "private, no-cache"


def test_a_version_that_has_passed_is_sent_anew(client: FlaskClient, address: str) -> None:
    client.put(address, json=BOX, headers={"If-Match": '"1"'})
    response = client.get(address, headers={"If-None-Match": '"1"'})
    assert (response.status_code, response.headers["ETag"]) == (200, '"2"')


def test_two_forms_of_one_version_are_told_apart(client: FlaskClient, address: str) -> None:
    as_text = client.get(address, headers={"Accept": "text/plain"})
    assert as_text.headers["ETag"] == '"1-txt"'
    assert as_text.headers["Vary"] == "Accept"
    as_json = client.get(address, headers={"If-None-Match": '"1-txt"'})
    assert as_json.status_code == 200


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_change_must_say_what_it_was_decided_on(client: FlaskClient, address: str, method: str) -> None:
    assert_problem(client.open(address, method=method, json=BOX), 428, "condition-missing")


@pytest.mark.parametrize("method", ["PUT", "DELETE"])
def test_a_change_to_an_older_version_is_refused(client: FlaskClient, address: str, method: str) -> None:
    client.put(address, json=BOX, headers={"If-Match": '"1"'})
    response = client.open(address, method=method, json=BOX, headers={"If-Match": '"1"'})
    assert "version 2" in assert_problem(response, 412, "stale-version")["detail"]


@pytest.mark.parametrize("tag", ["1", "*", 'W/"1"', '"1", "2"', '"x"', '""', '"１"', f'"{"9" * 40}"'])
def test_a_condition_that_protects_nobody_is_no_condition(client: FlaskClient, address: str, tag: str) -> None:
    response = client.put(address, json=BOX, headers={"If-Match": tag.encode("utf-8").decode("latin-1")})
    assert faults(assert_problem(response, 422, "invalid")).keys() == {"If-Match"}


def test_the_tag_of_any_form_of_a_version_will_do(client: FlaskClient, address: str) -> None:
    tag = client.get(address, headers={"Accept": "text/plain"}).headers["ETag"]
    response = client.put(address, json={**BOX, "label": "Carabidae"}, headers={"If-Match": tag})
    assert (response.status_code, response.headers["ETag"]) == (200, '"2"')
