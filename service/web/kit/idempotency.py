"""Retries: a request sent again under the same Idempotency-Key gets the answer of the first, and does nothing more.

The header follows draft-ietf-httpapi-idempotency-key-header-07: a quoted string of the client's own making, taken
without its quotation marks as well. What was done is kept together with the work itself, in one transaction; a
refusal changed nothing, is not kept, and may be asked for again.
"""

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import flask
from flask import Response

from service.web.kit.problems import Fault, Refusal, invalid

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
_WRITTEN = "[A-Za-z0-9._~:-]{8,128}"
KEY_PATTERN = f'^("{_WRITTEN}"|{_WRITTEN})$'
_KEY = re.compile(f'("?)({_WRITTEN})\\1', re.ASCII)
HOW_TO_SEND = "Send 8 to 128 letters, digits, dots, colons, hyphens, tildes and underscores, new for each request."

#: ``refused``: the operation takes no key. ``required``: it moves something, and a retry must not move it twice.
Taken = Literal["refused", "offered", "required"]


@dataclass(frozen=True, slots=True)
class Claim:
    """One request under a key. ``fingerprint`` is the digest of all that it says."""

    operation: str
    key: str
    fingerprint: str


Once = Callable[[Claim, Callable[[], Response]], Response]
"""Answers a claim from what was kept, or does the work and keeps its answer with it."""


def parameter(taken: Taken) -> dict[str, Any]:
    """The header's paragraph in the contract."""
    described: dict[str, Any] = {
        "in": "header",
        "name": HEADER,
        "description": "A key of your own for this request. Sent again with the same key, the request is answered as "
        "it was the first time and nothing is done twice. Kept for at least 30 days.",
        "schema": {"type": "string", "pattern": KEY_PATTERN, "minLength": 8, "maxLength": 130},
        "example": '"0190f3a0-6b1e-7c55-9a44-3f2f6d1f0c11"',
    }
    return described | ({"required": True} if taken == "required" else {})


def claim(operation: str, taken: Taken) -> Claim | None:
    """What the request claims; None without a key where none is needed.

    :raises Refusal: 400 when the key is missing, 422 when it is none.
    """
    header = flask.request.headers.get(HEADER)
    if header is None:
        if taken == "required":
            raise Refusal("idempotency-key-missing", f"This moves something, and a retry must not. {HOW_TO_SEND}")
        return None
    key = _KEY.fullmatch(header.strip())
    if key is None:
        raise invalid([Fault(HEADER, HOW_TO_SEND, "header")])
    return Claim(operation, key[2], _fingerprint())


def _fingerprint() -> str:
    said = hashlib.sha256()
    for part in (flask.request.full_path, flask.request.mimetype, flask.request.headers.get("If-Match", "")):
        said.update(part.encode("utf-8", "surrogateescape") + b"\0")
    said.update(flask.request.get_data())
    return said.hexdigest()


def still_running() -> Refusal:
    return Refusal("still-running", "The first request under this key is still being answered; ask again soon.")


def used_otherwise() -> Refusal:
    return Refusal("key-used-otherwise", "This key was used for another request; take a new key for a new request.")
