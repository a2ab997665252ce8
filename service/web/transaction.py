"""The one place where a request's transaction begins and ends.

The session is bound to the institution that asks, so that row-level security shows nothing else. It commits when the
``with`` block ends well and rolls back when it does not: bad input changes nothing.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http import HTTPStatus

import flask
from flask import Response
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.store import kept_answers
from service.store.kept_answers import Kept
from service.store.session import open_session
from service.web.kit.auth import current_actor
from service.web.kit.idempotency import REPLAYED, Claim, still_running, used_otherwise

_ENGINE = "traybridge.engine"
_HELD = "held_session"
_KEPT_HEADERS = frozenset({"Content-Type", "ETag", "Location", "Link", "Vary"})


def work_on(app: flask.Flask, engine: Engine) -> None:
    """Say which database this app's transactions are made in."""
    app.extensions[_ENGINE] = engine


@contextmanager
def transaction() -> Iterator[Session]:
    """The request's transaction, as the institution that asks.

    While the answer is to be kept for retries, the transaction is held open for it by :func:`once`.
    """
    held: Session | None = flask.g.get(_HELD)
    if held is not None:
        yield held
        return
    with open_session(flask.current_app.extensions[_ENGINE], current_actor().institution_id) as session:
        yield session
        session.commit()


def once(claim: Claim, answer: Callable[[], Response]) -> Response:
    """Answer a request from what was kept under its key, or do its work and keep the answer in the same transaction.

    :raises Refusal: 409 while another is at work under the key, 422 when the key belongs to another request.
    """
    owner = current_actor().own_institution()
    with transaction() as session:
        if not kept_answers.is_free(session, owner, claim.operation, claim.key):
            raise still_running()
        earlier = kept_answers.find(session, owner, claim.operation, claim.key)
        if earlier is not None:
            return _again(earlier, claim)
        flask.g.held_session = session
        response = answer()
        if response.status_code < HTTPStatus.BAD_REQUEST:
            kept_answers.keep(session, owner, claim.operation, claim.key, _to_keep(response, claim))
    return response


def _to_keep(response: Response, claim: Claim) -> Kept:
    headers = {name: value for name, value in response.headers.items() if name in _KEPT_HEADERS}
    return Kept(claim.fingerprint, response.status_code, headers, response.get_data(as_text=True))


def _again(earlier: Kept, claim: Claim) -> Response:
    if earlier.fingerprint != claim.fingerprint:
        raise used_otherwise()
    return Response(earlier.body, earlier.status, earlier.headers | {REPLAYED: "true"})
