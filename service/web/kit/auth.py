"""Who asks: a bearer key becomes an actor, and the actor's scopes decide.

The key itself is never kept, logged or repeated in an answer.
"""

from collections.abc import Callable
from typing import Literal

import flask

from service.core.actor import ANYBODY, Actor
from service.web.kit.problems import Refusal

Authenticate = Callable[[str], Actor | None]
"""Finds the actor behind a secret key; ``None`` when there is none, or the key was withdrawn or has run out."""

Door = Literal["public", "read", "write", "admin"]
"""The scope that an operation asks for. ``public`` asks for none, but a key that is given must be a good one."""

HOW_TO_SEND = "Send your key as “Authorization: Bearer <key>”."
CHALLENGE = {"WWW-Authenticate": 'Bearer realm="traybridge"'}


def admit(door: Door, authenticate: Authenticate) -> Actor:
    """The actor behind this request, who may go through this door.

    :raises Refusal: 401 without a good key where one is needed, 403 when the key lacks the scope.
    """
    actor = _actor(authenticate)
    if door == "public":
        return actor
    if actor is ANYBODY:
        raise Refusal("unauthenticated", HOW_TO_SEND, headers=CHALLENGE)
    if not actor.may(door):
        raise Refusal("scope-missing", f"This key does not carry the scope “{door}”, which this operation asks for.")
    return actor


def _actor(authenticate: Authenticate) -> Actor:
    header = flask.request.headers.get("Authorization")
    if header is None:
        return ANYBODY
    scheme, _, secret = header.partition(" ")
    if scheme.lower() != "bearer" or not secret.strip():
        raise Refusal("unauthenticated", f"{HOW_TO_SEND} There are no names and passwords here.", headers=CHALLENGE)
    actor = authenticate(secret.strip())
    if actor is None:
        raise Refusal("unauthenticated", "This key is not known, was withdrawn or has run out.", headers=CHALLENGE)
    return actor


def current_actor() -> Actor:
    """The actor of the request being answered."""
    actor = flask.g.get("actor", ANYBODY)
    assert isinstance(actor, Actor)  # noqa: S101 - only `admit` sets it
    return actor
