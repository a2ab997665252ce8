"""The one place where a request's transaction begins and ends.

The session is bound to the institution that asks, so that row-level security shows nothing else. It commits when the
``with`` block ends well and rolls back when it does not: bad input changes nothing.
"""

from collections.abc import Iterator
from contextlib import contextmanager

import flask
from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.store.session import open_session
from service.web.kit.auth import current_actor

_ENGINE = "traybridge.engine"


def work_on(app: flask.Flask, engine: Engine) -> None:
    """Say which database this app's transactions are made in."""
    app.extensions[_ENGINE] = engine


@contextmanager
def transaction() -> Iterator[Session]:
    """The request's transaction, as the institution that asks."""
    with open_session(flask.current_app.extensions[_ENGINE], current_actor().institution_id) as session:
        yield session
        session.commit()
