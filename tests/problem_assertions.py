"""The one shape that every refusal has, asserted in one place."""

from typing import Any

from werkzeug.test import TestResponse

from service.web.kit.problems import KINDS

MEMBERS = {"type", "title", "status", "detail", "instance", "errors", "step", "missing", "line", "codes", "last_fact"}


def assert_problem(response: TestResponse, status: int, slug: str) -> dict[str, Any]:
    """Check that this is a problem of this kind, told as RFC 9457 wants it, and hand back its body."""
    assert response.status_code == status, response.get_data(as_text=True)
    assert response.content_type == "application/problem+json"
    body: dict[str, Any] = response.get_json(force=True)
    assert body["type"] == f"/problems/{slug}"
    assert body["status"] == status == KINDS[slug].status
    assert body["title"] == KINDS[slug].title
    assert body["detail"].endswith((".", "”"))
    assert body["instance"] == response.headers["X-Request-Id"]
    assert body.keys() <= MEMBERS
    for fault in body.get("errors", ()):
        assert len(fault) == 2
        assert fault.keys() <= {"pointer", "parameter", "header", "cell", "detail"}
        assert fault["detail"]
    return body


def faults(body: dict[str, Any]) -> dict[str, str]:
    """The faults of a problem by where they stand."""
    return {
        fault.get("pointer", fault.get("parameter", fault.get("header"))): fault["detail"] for fault in body["errors"]
    }
