"""One declaration says all of an operation, and cannot leave out who may."""

from uuid import UUID

import pytest
from flask.testing import FlaskClient

from service.web.kit.operation import Blueprint

BOX = {"code": "box-1", "width": "16 1/2 in", "play_mm": "1/16 in"}


def test_a_scope_cannot_be_forgotten() -> None:
    with pytest.raises(TypeError, match="scope"):
        Blueprint("trays", __name__, description="Trays.").operation("GET", "")


def test_a_refusal_that_is_not_in_the_table_cannot_be_declared() -> None:
    blueprint = Blueprint("trays", __name__, description="Trays.")
    with pytest.raises(ValueError, match="tray-melted is missing in the table of problems"):
        blueprint.operation("GET", "", scope="read", errors=["tray-melted"])


def test_what_is_made_has_an_address_a_version_and_is_answered_whole(client: FlaskClient) -> None:
    response = client.post("/v1/boxes", json=BOX)
    made = response.get_json()
    assert response.status_code == 201
    assert response.headers["Location"] == f"/v1/boxes/{made['id']}"
    assert response.headers["ETag"] == '"1"'
    assert client.get(response.headers["Location"]).get_json() == made


def test_an_answer_leaves_out_what_is_not_known(client: FlaskClient) -> None:
    made = client.post("/v1/boxes", json=BOX).get_json()
    assert made["play_mm"] == 1.5875
    assert made["closing"] == "plain"
    assert "label" not in made
    assert UUID(made["id"])


def test_what_only_answers_show_cannot_be_sent(client: FlaskClient) -> None:
    response = client.post("/v1/boxes", json={**BOX, "version": 7})
    assert [fault["pointer"] for fault in response.get_json()["errors"]] == ["/version"]


def test_an_operation_without_an_answer_answers_nothing(client: FlaskClient) -> None:
    address = client.post("/v1/boxes", json=BOX).headers["Location"]
    response = client.delete(address, headers={"If-Match": '"1"'})
    assert (response.status_code, response.data) == (204, b"")
    assert "Content-Type" not in response.headers or response.content_length in (None, 0)
