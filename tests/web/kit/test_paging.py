"""A long list is read page by page, each row once, and a cursor cannot be bent."""

import base64
import json
from uuid import uuid5

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from problem_assertions import assert_problem, faults
from shelf import SPACE, Box, Closing, Shelf

from service.core.measure.dimension import Dimension
from service.web.kit.paging import encode

CODES = [f"box-{n:02}" for n in range(23)]


@pytest.fixture(autouse=True)
def full(kept: Shelf) -> None:
    for place, code in enumerate(CODES):
        closing = Closing.FLANGED if place % 2 else Closing.PLAIN
        box = Box(code, Dimension(1), closing, id=uuid5(SPACE, code))
        kept.boxes[box.id] = box


def walk(client: FlaskClient, address: str) -> list[list[str]]:
    pages = []
    while address:
        response = client.get(address)
        pages.append([box["code"] for box in response.get_json()["items"]])
        links = dict(reversed(link.split("; rel=")) for link in response.headers["Link"].split(", "))
        address = links.get('"next"', "").strip("<>")
        assert (response.get_json()["next_cursor"] is not None) == bool(address)
    return pages


@pytest.mark.parametrize(("size", "pages"), [(1, 23), (5, 5), (22, 2), (23, 1), (200, 1)])
def test_following_next_shows_every_row_once_and_in_order(client: FlaskClient, size: int, pages: int) -> None:
    walked = walk(client, f"/v1/boxes?page_size={size}")
    assert [code for page in walked for code in page] == CODES
    assert len(walked) == pages


def test_a_row_that_goes_meanwhile_takes_no_other_with_it(client: FlaskClient, kept: Shelf) -> None:
    first = client.get("/v1/boxes?page_size=5").get_json()
    del kept.boxes[uuid5(SPACE, "box-02")]
    second = client.get(f"/v1/boxes?page_size=5&cursor={first['next_cursor']}").get_json()
    assert second["items"][0]["code"] == "box-05"


def test_filters_go_along(client: FlaskClient) -> None:
    assert [code for page in walk(client, "/v1/boxes?closing=flanged&page_size=4") for code in page] == CODES[1::2]


def test_a_page_has_fifty_rows_unless_another_size_is_asked_for(client: FlaskClient) -> None:
    assert len(client.get("/v1/boxes").get_json()["items"]) == 23
    assert client.get("/v1/boxes").get_json()["next_cursor"] is None


def test_the_first_page_can_be_found_again(client: FlaskClient) -> None:
    cursor = client.get("/v1/boxes?page_size=5").get_json()["next_cursor"]
    link = client.get(f"/v1/boxes?page_size=5&cursor={cursor}").headers["Link"].split(", ")[0]
    assert link == '</v1/boxes?page_size=5>; rel="first"'


def test_a_cursor_is_bound_to_its_filters(client: FlaskClient) -> None:
    cursor = client.get("/v1/boxes?page_size=5&closing=plain").get_json()["next_cursor"]
    response = client.get(f"/v1/boxes?page_size=5&closing=flanged&cursor={cursor}")
    assert "other filters" in faults(assert_problem(response, 422, "invalid"))["cursor"]


def test_the_size_of_a_page_may_change_on_the_way(client: FlaskClient) -> None:
    cursor = client.get("/v1/boxes?page_size=5").get_json()["next_cursor"]
    assert client.get(f"/v1/boxes?page_size=7&cursor={cursor}").get_json()["items"][0]["code"] == "box-05"


@pytest.mark.parametrize(
    "position", [(), ("box",), ("box", "no-uuid"), ("a\x00b", str(SPACE)), ("a", str(SPACE), "more")], ids=repr
)
def test_a_forged_position_is_refused(client: FlaskClient, position: tuple[str, ...]) -> None:
    asked = json.loads(
        base64.urlsafe_b64decode(client.get("/v1/boxes?page_size=1").get_json()["next_cursor"] + "==")
    )[1]
    response = client.get("/v1/boxes", query_string={"cursor": encode(asked, position)})
    assert faults(assert_problem(response, 422, "invalid")).keys() == {"cursor"}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    cursor=st.text(min_size=1, max_size=60)
    | st.binary(max_size=40).map(lambda b: base64.urlsafe_b64encode(b).decode())
)
def test_no_text_breaks_the_list(client: FlaskClient, cursor: str) -> None:
    assert client.get("/v1/boxes", query_string={"cursor": cursor}).status_code in (200, 422)
