"""Which media type an answer takes, by the Accept header."""

from collections.abc import Sequence

import flask

from service.web.kit.problems import Refusal

JSON = "application/json"
TEXT = "text/plain"
SVG = "image/svg+xml"
CSV = "text/csv"
PDF = "application/pdf"
HTML = "text/html"
ZIP = "application/zip"

#: How a strong ETag tells the forms of one version apart (RFC 9110, section 8.8.3). JSON is the plain version.
ETAG_SUFFIX = {JSON: "", TEXT: "-txt", SVG: "-svg", CSV: "-csv", PDF: "-pdf", HTML: "-htm", ZIP: "-zip"}


def choose(offered: Sequence[str]) -> str:
    """The first of the offered types that suits the asker best.

    :raises Refusal: 406, with what is offered.
    """
    accepted = flask.request.accept_mimetypes
    chosen = accepted.best_match(offered) if accepted else offered[0]
    if chosen is None:
        raise Refusal("not-acceptable", f"This is available as {' or '.join(offered)}.")
    return chosen


def wanted() -> str:
    """The media type that the request being answered will get."""
    return str(flask.g.get("media_type", JSON))
