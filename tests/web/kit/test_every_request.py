"""Every answer carries its id and its protection, and every request leaves one line that tells no secret."""

import io
import json
import logging
from collections.abc import Iterator

import pytest
import structlog
from flask.testing import FlaskClient
from structlog.testing import capture_logs

from service.web.kit import logs

PATHS = ["/v1/boxes", "/v1/boxes/drawing", "/nothing", "/v1/boxes/not-an-id"]


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_has_an_id_and_is_protected(client: FlaskClient, path: str) -> None:
    headers = client.get(path).headers
    assert len(headers["X-Request-Id"]) == 32
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in headers["Content-Security-Policy"]


def test_an_id_that_the_asker_chose_is_kept(client: FlaskClient) -> None:
    assert client.get("/nothing", headers={"X-Request-Id": "loans-desk.17"}).get_json(force=True)["instance"] == (
        "loans-desk.17"
    )


@pytest.mark.parametrize("chosen", ["short", "x" * 65, "with space", "semi;colon", "<script>alert(1)</script>"])
def test_an_id_that_is_not_well_formed_is_replaced(client: FlaskClient, chosen: str) -> None:
    assert client.get("/nothing", headers={"X-Request-Id": chosen}).headers["X-Request-Id"] != chosen


def test_one_line_a_request_names_the_route_and_not_the_path(client: FlaskClient) -> None:
    with capture_logs() as lines:
        client.get("/v1/boxes/00000000-0000-4000-8000-000000000000?x=secret-query")
    [line] = lines
    assert line["route"] == "/v1/boxes/<uuid:box_id>"
    assert (line["method"], line["status"]) == ("GET", 422)
    assert line["institution_id"] == "6d0c4b4e-9d0b-4f7e-8f0a-0d9f6c5b7a11"
    assert line["duration_ms"] >= 0
    assert "key-all" not in str(line)
    assert "secret-query" not in str(line)


@pytest.fixture
def stderr(monkeypatch: pytest.MonkeyPatch) -> Iterator[io.StringIO]:
    """The log of a process in production, as its standard error has it."""
    stream = io.StringIO()
    monkeypatch.setattr("sys.stderr", stream)
    before = logging.getLogger().handlers[:]
    logs.configure(as_json=True)
    yield stream
    logging.basicConfig(handlers=before, force=True)
    structlog.reset_defaults()


def test_an_accident_is_logged_with_its_request_and_its_cause(client: FlaskClient, stderr: io.StringIO) -> None:
    sent = {"X-Request-Id": "accident-1", "Authorization": "Bearer key-all"}
    client.post("/v1/boxes/accident", headers=sent)
    lines = [json.loads(line) for line in stderr.getvalue().splitlines()]
    assert {line["request_id"] for line in lines} == {"accident-1"}
    assert any("swordfish" in json.dumps(line.get("exception", "")) for line in lines)
    assert "key-all" not in stderr.getvalue()
    assert [line["status"] for line in lines if line["event"] == "request"] == [500]
