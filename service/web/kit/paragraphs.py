"""The paragraph of one operation in the contract: what it takes, what it answers, how it refuses."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any, Protocol

import marshmallow

from service.web.kit import conditions, every_request, idempotency, problems
from service.web.kit.answer_headers import header
from service.web.kit.example_values import with_example
from service.web.kit.negotiation import JSON, PDF, SVG, ZIP
from service.web.kit.operation import Operation
from service.web.kit.patching import MergePatchSchema, patch_shape
from service.web.kit.problems import KINDS, Kind, ProblemSchema

Json = dict[str, Any]

_OUTCOME = {200: "The answer.", 201: "It was made.", 202: "It was begun.", 204: "Done; there is nothing to show."}
_DRAWN = '<svg xmlns="http://www.w3.org/2000/svg" width="420mm" height="297mm" viewBox="0 0 420 297"/>'
#: The examples in media that nobody reads as text stand for their kind.
_STANDING_FOR = {SVG: _DRAWN, PDF: "%PDF-1.4", ZIP: "PK…"}


class Describing(Protocol):
    """What describes schemas as JSON Schema."""

    asked: bool

    def resolve_nested_schema(self, schema: Any) -> Json: ...

    def schema2parameters(self, schema: Any, *, location: str) -> Sequence[Json]: ...


def describe(operation: Operation, converter: Describing, example: Json) -> Json:
    """The operation object of one declaration; summary, description and tag come from its view.

    ``example`` is what the examples folder has for it.
    """
    described: Json = {"operationId": operation.name, "parameters": _parameters(operation, converter)}
    if operation.going is not None:
        described["deprecated"] = True
        if operation.going.sunset_on is not None:
            described["x-sunset"] = operation.going.sunset_on.isoformat()
    if body := _body(operation, converter, example):
        described["requestBody"] = {"required": True, "content": body}
    described["responses"] = _success(operation, converter, example) | _refused(operation, converter)
    key = {"bearer": [] if operation.scope == "public" else [operation.scope]}
    described["security"] = [{}, key] if operation.scope == "public" else [key]
    return described


def _schema(converter: Describing, schema: marshmallow.Schema, *, asked: bool) -> Json:
    converter.asked = asked
    return converter.resolve_nested_schema(schema)


def _parameters(operation: Operation, converter: Describing) -> list[Json | str]:
    converter.asked = True
    parameters = list(converter.schema2parameters(operation.query, location="query")) if operation.query else []
    if operation.conditional:
        parameters.append(
            dict(conditions.IF_NONE_MATCH_PARAMETER if operation.is_read else conditions.IF_MATCH_PARAMETER)
        )
    if operation.idempotent != "refused":
        parameters.append(idempotency.parameter(operation.idempotent))
    return [*map(with_example, parameters), every_request.PARAMETER]


def _body(operation: Operation, converter: Describing, example: Json) -> Json:
    if operation.body is not None:
        return {operation.takes: {"schema": _asked(operation, converter), **_example(example, "request")}}
    if operation.upload is not None:
        holds = {"description": operation.upload_holds} if operation.upload_holds else {}
        schema = _text_or_bytes(operation.upload) | holds
        return {operation.upload: {"schema": schema, **_example(example, "request")}}
    return {}


def _asked(operation: Operation, converter: Describing) -> Json:
    if isinstance(operation.body, MergePatchSchema):
        return patch_shape(converter, _schema(converter, operation.body.whole, asked=True))
    assert operation.body is not None  # noqa: S101 - asked for only then
    return _schema(converter, operation.body, asked=True)


def _text_or_bytes(media_type: str) -> Json:
    return {"type": "string"} | ({"contentEncoding": "binary"} if media_type in {PDF, ZIP} else {})


def _success(operation: Operation, converter: Describing, example: Json) -> Json:
    success: Json = {"description": _OUTCOME.get(operation.status, "Done."), "headers": _headers(operation)}
    if content := _content(operation, converter, example):
        success["content"] = content
    answers = {str(operation.status): success}
    if operation.conditional and operation.is_read:
        unchanged = _of_every_answer(operation) | {"ETag": header("ETag")}
        answers["304"] = {"description": "You hold the current version.", "headers": unchanged}
    if operation.later is not None:
        answers["202"] = _later(operation, operation.later, converter, example)
    return answers


def _content(operation: Operation, converter: Describing, example: Json) -> Json:
    content: Json = {}
    if operation.returns is not None:
        schema = _schema(converter, operation.returns, asked=False)
        content[JSON] = {"schema": schema, **_example(example, "response")}
    for media_type in operation.media:
        known = example.get("media", {}) | _STANDING_FOR
        content[media_type] = {"schema": _text_or_bytes(media_type), **_example(known, media_type)}
    return content


def _later(operation: Operation, schema: marshmallow.Schema, converter: Describing, example: Json) -> Json:
    """The answer of an operation whose work goes on after it."""
    headers = {"Location": header("LocationOfProgress"), "Retry-After": header("RetryAfter")}
    headers |= {"Vary": header("Vary")} if len(operation.offered) > 1 else {}
    content = {JSON: {"schema": _schema(converter, schema, asked=False), **_example(example, "later")}}
    return {"description": _OUTCOME[202], "headers": _of_every_answer(operation) | headers, "content": content}


def _of_every_answer(operation: Operation) -> Json:
    """The headers that an operation's answers have, whatever they say."""
    headers = {"X-Request-Id": header("XRequestId"), "Cache-Control": header("CacheControl")}
    if operation.going is not None:
        headers["Deprecation"] = header("Deprecation")
        if operation.going.sunset_on is not None:
            headers["Sunset"] = header("Sunset")
    return headers


def _headers(operation: Operation) -> Json:
    headers = _of_every_answer(operation)
    if operation.conditional and operation.status != 204:
        headers["ETag"] = header("ETag")
    elif operation.creates:
        headers["ETag"] = header("ETagIfThere")
    if operation.creates:
        headers["Location"] = header("Location")
    if operation.query is not None and "cursor" in operation.query.fields:
        headers["Link"] = header("Link")
    if len(operation.offered) > 1:
        headers["Vary"] = header("Vary")
    if operation.idempotent != "refused":
        headers["Idempotency-Replayed"] = header("IdempotencyReplayed")
    return headers | {name: header(described) for name, described in operation.headers.items()}


def _example(examples: Json, name: str) -> Json:
    return {"example": examples[name]} if name in examples else {}


def _refused(operation: Operation, converter: Describing) -> Json:
    kinds = [KINDS[slug] for slug in operation.refusals()]
    schema = _schema(converter, ProblemSchema(), asked=False)
    return {
        str(status): _refusal(operation, status, alike, schema)
        for status, alike in ((s, list(group)) for s, group in groupby(kinds, key=lambda kind: kind.status))
    }


_HEADERS_OF_REFUSALS = {
    401: {"WWW-Authenticate": "WWWAuthenticate"},
    415: {"Accept-Post": "AcceptPost"},
    429: {"Retry-After": "RetryAfter"},
    503: {"Retry-After": "RetryAfter"},
}


def _refusal(operation: Operation, status: int, alike: list[Kind], schema: Json) -> Json:
    own = {name: header(described) for name, described in _HEADERS_OF_REFUSALS.get(status, {}).items()}
    examples = {kind.slug: {"$ref": f"#/components/examples/{kind.slug}"} for kind in alike}
    return {
        "description": " ".join(f"`{kind.slug}`: {kind.meaning}" for kind in alike),
        "headers": _of_every_answer(operation) | own,
        "content": {problems.MEDIA_TYPE: {"schema": schema, "examples": examples}},
    }
