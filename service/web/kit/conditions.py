"""Conditional requests: nobody overwrites what they have not seen, nobody downloads what they already have.

The ETag is the version of the row, ``"7"``; another form of the same version has a suffix, ``"7-svg"``. Compression
by a proxy would turn it into ``W/"7"``, which If-Match never matches (RFC 9110, section 13.1.1): leave it off.
"""

import re
from typing import Any

import flask

from service.core.errors import StaleVersion
from service.web.kit.negotiation import ETAG_SUFFIX, JSON
from service.web.kit.problems import Fault, Refusal, invalid

#: No thing is changed a thousand million times; more digits would not fit the column either.
IF_MATCH_PATTERN = r'^"[0-9]{1,9}(-[a-z]{3})?"$'
_IF_MATCH = re.compile(r'"([0-9]{1,9})(?:-[a-z]{3})?"', re.ASCII)
HOW_TO_SEND = 'Send the one ETag that you last read, such as "7" with its quotation marks.'

IF_MATCH_PARAMETER: dict[str, Any] = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "description": "The ETag of the version that this change was decided on.",
    "schema": {"type": "string", "pattern": IF_MATCH_PATTERN, "maxLength": 24},
    "example": '"7"',
}
IF_NONE_MATCH_PARAMETER: dict[str, Any] = {
    "in": "header",
    "name": "If-None-Match",
    "description": "An ETag that you hold; answered with 304 while it is still the current one.",
    "schema": {"type": "string"},
    "example": '"7"',
}


def etag(version: int, media_type: str = JSON) -> str:
    """The entity tag of a version in one of its forms, without quotation marks."""
    return f"{version}{ETAG_SUFFIX[media_type]}"


def required_version() -> int:
    """The version in If-Match.

    ``*`` and lists are refused: a condition that any version meets protects nobody.

    :raises Refusal: 428 without the header, 422 when it is not one strong ETag of ours.
    """
    header = flask.request.headers.get("If-Match")
    if header is None:
        raise Refusal("condition-missing", f"This changes something. {HOW_TO_SEND}")
    tag = _IF_MATCH.fullmatch(header.strip())
    if tag is None:
        raise invalid([Fault("If-Match", HOW_TO_SEND, "header")])
    return int(tag[1])


def expected_version() -> int:
    """The version that the request being answered was decided on; the operation is declared ``conditional``."""
    return int(flask.g.expected_version)


def check_version(what: str, current: int) -> None:
    """Refuse when the version in hand is not the one that the request was decided on; ``what`` names the thing.

    :raises StaleVersion: told as 412.
    """
    if current != expected_version():
        raise StaleVersion(what, expected_version(), current)


def is_unchanged(tag: str) -> bool:
    """Whether the asker already holds this version (If-None-Match, weak comparison)."""
    held = flask.request.if_none_match
    return held.star_tag or held.contains_weak(tag)
