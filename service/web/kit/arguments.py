"""What a request says: its query and its body, with every fault of both named at once."""

import shutil
import tempfile
from collections.abc import Callable
from typing import Any, BinaryIO, Final, Literal

import flask
import marshmallow
import orjson
from marshmallow import ValidationError
from werkzeug.exceptions import RequestEntityTooLarge

from service.web.kit.negotiation import JSON, ZIP
from service.web.kit.problems import Fault, Refusal, faults_in, invalid
from service.web.kit.schema import Parameters

LARGEST_ARCHIVE_BYTES: Final = 500_000_000


def read(
    query: Parameters | None, body: marshmallow.Schema | None, upload: str | None = None, takes: str = JSON
) -> dict[str, Any]:
    """The arguments for a view: ``query``, ``body`` and ``upload``, each if the operation declares it.

    :raises Refusal: 400 for what is no JSON, 413, 415, or 422 with the faults of query and body together.
    """
    arguments: dict[str, Any] = {}
    faults: list[Fault] = []
    if query is not None:
        arguments["query"] = _loaded(lambda: query.load_query(flask.request.args), "parameter", faults)
    elif flask.request.args:
        faults += [Fault(name, "There is no such query parameter here.", "parameter") for name in flask.request.args]
    if body is not None:
        sent = _json_body(takes)
        arguments["body"] = _loaded(lambda: body.load(sent), "pointer", faults)
    if upload is not None:
        arguments["upload"] = _archive() if upload == ZIP else _sent_as(upload)
    if faults:
        raise invalid(faults)
    return arguments


def _loaded(load: Callable[[], Any], place: Literal["pointer", "parameter"], faults: list[Fault]) -> Any:
    try:
        return load()
    except ValidationError as error:
        faults += faults_in(error.messages, place)
        return None


def _json_body(takes: str) -> Any:
    sent = _sent_as(takes)
    if not sent.strip():
        raise Refusal("not-json", "The body is empty; write an object, in curly brackets.")
    try:
        return orjson.loads(sent)
    except orjson.JSONDecodeError as error:
        raise Refusal("not-json", f"The body is not JSON: {error}.") from error


def _archive() -> BinaryIO:
    """A body that may be larger than memory, as a file that is gone when it is closed."""
    _check_type(ZIP)
    flask.request.max_content_length = LARGEST_ARCHIVE_BYTES
    kept = tempfile.TemporaryFile()  # noqa: SIM115 - the view closes it
    shutil.copyfileobj(flask.request.stream, kept)
    if kept.tell() >= LARGEST_ARCHIVE_BYTES:
        raise RequestEntityTooLarge
    kept.seek(0)
    return kept


def _check_type(media_type: str) -> None:
    if flask.request.mimetype != media_type:
        raise Refusal(
            "unsupported-media-type", f"Send the body as {media_type}.", headers={"Accept-Post": media_type}
        )


def _sent_as(media_type: str) -> bytes:
    _check_type(media_type)
    sent = flask.request.get_data()
    # Sent in chunks, a body does not say how long it is; what is too long is then cut at the limit without a word.
    if flask.request.content_length is None and len(sent) >= flask.current_app.config["MAX_CONTENT_LENGTH"]:
        raise RequestEntityTooLarge
    return sent
