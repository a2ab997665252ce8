"""The page of the builder's question, as it leaves the service."""

import re
from html.parser import HTMLParser

import pytest
from flask.testing import FlaskClient
from members import enter
from published import of_width, publish
from sqlalchemy import Engine

from service.app import build

QUESTION = "/build?width=19 in&depth=16 1/2 in&height=3 in"


@pytest.fixture
def anybody(engine: Engine) -> FlaskClient:
    owner = enter(engine, "ambleford", "Ambleford <Museum>").id
    publish(engine, owner, "close", "Close cabinets", of_width(480, free_positions=10))
    return build(engine).test_client()


class Outline(HTMLParser):
    """What a page is made of: its tags in order, their attributes, and ids."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def outline(client: FlaskClient, address: str, status: int = 200) -> Outline:
    response = client.get(address)
    assert response.status_code == status
    return Outline(response.text)


def test_every_input_has_a_label_and_what_describes_it_is_there(anybody: FlaskClient) -> None:
    page = outline(anybody, "/build")
    ids = {attributes.get("id") for _, attributes in page.tags}
    labelled = {label["for"] for label in page.all("label")}
    controls = page.all("input") + page.all("select")
    assert len(controls) == 8
    for control in controls:
        assert control["id"] in labelled
        assert control["aria-describedby"] in ids


def test_the_page_needs_no_script_and_nothing_from_elsewhere(anybody: FlaskClient) -> None:
    response = anybody.get(QUESTION)
    assert response.headers["Content-Security-Policy"].startswith("default-src 'none'; style-src 'self'")
    assert "<script" not in response.text
    assert " style=" not in response.text, "the policy would ignore it"
    outside = [url for url in re.findall(r'(?:href|src|action)="([^"]+)"', response.text) if "://" in url]
    assert outside == []


def test_the_answer_tells_how_many_take_it_and_what_would_make_more(anybody: FlaskClient) -> None:
    text = anybody.get(QUESTION).text
    assert "0 of 1 published systems take it as it is" in text
    assert "1/8 in narrower (3.175 mm)</b>: 1 more system" in text
    assert '<svg xmlns="http://www.w3.org/2000/svg" role="img"' in text


def test_a_suggestion_leads_to_its_own_answer(anybody: FlaskClient) -> None:
    links = [a["href"] for a in outline(anybody, QUESTION).all("a")]
    again, further = [link for link in links if link and link.startswith("/build?")]
    assert "reach=25.4+mm" in further
    assert "1/8 in narrower" in anybody.get(further).text
    text = anybody.get(again).text
    assert "1 of 1 published systems take it as it is" in text
    assert "Ambleford &lt;Museum&gt;" in text


def test_who_has_drawers_already_is_told_whom_to_offer_them_to(anybody: FlaskClient) -> None:
    text = anybody.get("/build?width=479&depth=419.1&height=76.2&count=60").text
    assert "Whom to offer 60 of them to" in text
    assert "has room for 10" in text
    assert "No institution takes this size as it is." in anybody.get(f"{QUESTION}&count=60").text


def test_what_cannot_be_read_is_said_at_its_field_and_stays_filled_in(anybody: FlaskClient) -> None:
    page = outline(anybody, "/build?width=19 lb&depth=16 1/2 in", 422)
    by_id = {field["id"]: field for field in page.all("input")}
    assert by_id["width"]["value"] == "19 lb"
    assert {name for name, field in by_id.items() if "aria-invalid" in field} == {"width", "height"}
    assert {"#width", "#height"} <= {a["href"] for a in page.all("a")}


def test_what_somebody_types_is_shown_as_text_and_never_run(anybody: FlaskClient) -> None:
    text = anybody.get('/build?width="><script>alert(1)</script>&depth=1&height=1').text
    assert "<script>" not in text


@pytest.mark.parametrize("fault", ["cut=chainsaw", "count=many", "girth=9", "width=1&width=2"])
def test_any_odd_question_is_refused_in_words_and_never_breaks_the_page(anybody: FlaskClient, fault: str) -> None:
    response = anybody.get(f"{QUESTION}&{fault}" if not fault.startswith("width") else f"/build?{fault}")
    assert response.status_code == 422
    assert "Something to mend first" in response.text


def test_the_start_page_leads_here(anybody: FlaskClient) -> None:
    assert 'href="/build"' in anybody.get("/").text
