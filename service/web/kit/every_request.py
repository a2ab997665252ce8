"""What happens around every request: its id, its line in the log, and the headers that every answer carries."""

import re
import time
import uuid
from typing import Any

import flask
import structlog
from flask import Flask, Response

from service.core.actor import ANYBODY

_WELL_FORMED_ID = re.compile(r"[A-Za-z0-9._-]{8,64}", re.ASCII)
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
}
PARAMETER = "RequestId"
_log = structlog.get_logger("traybridge.http")


def described() -> dict[str, Any]:
    """The request header in the contract."""
    return {
        "name": "X-Request-Id",
        "description": "Your own id for this request, to find it in both logs: 8 to 64 letters, digits, dots, "
        "hyphens and underscores. Anything else is replaced by an id of ours.",
        "schema": {"type": "string"},
        "example": "nightly-sync-2026-11-25",
    }


def install(app: Flask) -> None:
    """Put these around every request of the app."""
    app.before_request(_begin)
    app.after_request(_end)


def _begin() -> None:
    asked = flask.request.headers.get("X-Request-Id", "")
    flask.g.request_id = asked if _WELL_FORMED_ID.fullmatch(asked) else uuid.uuid4().hex
    flask.g.begun_s = time.perf_counter()
    structlog.contextvars.clear_contextvars()
    structlog.contextvars.bind_contextvars(request_id=flask.g.request_id)


def _end(response: Response) -> Response:
    response.headers["X-Request-Id"] = flask.g.request_id
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    if (going := flask.g.get("going")) is not None:
        going.tell(response.headers)
    response.headers.setdefault("Cache-Control", "private, no-cache" if "ETag" in response.headers else "no-store")
    _write_line(response)
    return response


def _write_line(response: Response) -> None:
    """The route's template and never its path: a path may name what only the institution should know."""
    actor = flask.g.get("actor", ANYBODY)
    _log.info(
        "request",
        method=flask.request.method,
        route=str(flask.request.url_rule) if flask.request.url_rule else None,
        status=response.status_code,
        duration_ms=round((time.perf_counter() - flask.g.begun_s) * 1000, 2),
        institution_id=None if actor.institution_id is None else str(actor.institution_id),
    )
