"""One declaration for an endpoint: its route, its checks and its paragraph in the contract."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import wraps
from http import HTTPStatus
from typing import Any, TypeVar

import flask
import marshmallow
from flask import Response
from flask_smorest import Blueprint as DocumentedBlueprint

from service.web.kit import arguments, conditions, idempotency, negotiation
from service.web.kit.auth import Door, admit
from service.web.kit.going import Going
from service.web.kit.problems import KINDS
from service.web.kit.schema import Parameters

View = TypeVar("View", bound=Callable[..., Any])
SchemaLike = marshmallow.Schema | type[marshmallow.Schema]

_READS = frozenset({"GET", "HEAD"})


@dataclass(frozen=True, slots=True)
class Reply:
    """What a view answers when the body alone does not say it all.

    ``version`` becomes the ETag, ``location`` the address of what was made. ``body`` is what the operation's schema
    dumps, or text when the asker wants one of the operation's other media types.
    """

    body: object = None
    version: int | None = None
    location: str | None = None
    status: int | None = None
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Operation:
    """What was declared of one operation; ``name`` is its ``operationId``."""

    name: str
    method: str
    path: str
    scope: Door
    body: marshmallow.Schema | None
    upload: str | None
    query: Parameters | None
    returns: marshmallow.Schema | None
    status: int
    media: tuple[str, ...]
    conditional: bool
    creates: bool
    errors: tuple[str, ...]
    idempotent: idempotency.Taken = "refused"
    later: marshmallow.Schema | None = None
    headers: Mapping[str, str] = field(default_factory=dict)
    going: Going | None = None
    takes: str = negotiation.JSON
    upload_holds: str = ""

    @property
    def offered(self) -> tuple[str, ...]:
        """The media types of the answer, the preferred one first."""
        return ((negotiation.JSON,) if self.returns is not None else ()) + self.media

    @property
    def is_read(self) -> bool:
        return self.method in _READS

    @property
    def needs_version(self) -> bool:
        return self.conditional and not self.is_read

    def refusals(self) -> list[str]:
        """The slugs of everything that this operation may refuse with."""
        slugs = ["bad-request", "unauthenticated", "invalid", "internal-error", "busy", "not-ready", *self.errors]
        slugs += [] if self.scope == "public" else ["scope-missing"]
        slugs += ["not-found"] if "<" in self.path else []
        slugs += ["not-json"] if self.body is not None else []
        slugs += ["too-large", "unsupported-media-type"] if self.body is not None or self.upload else []
        slugs += ["not-acceptable"] if self.offered else []
        slugs += ["condition-missing", "stale-version"] if self.needs_version else []
        slugs += ["still-running", "key-used-otherwise"] if self.idempotent != "refused" else []
        slugs += ["idempotency-key-missing"] if self.idempotent == "required" else []
        return sorted(set(slugs), key=lambda slug: (KINDS[slug].status, slug))


class Blueprint(DocumentedBlueprint):  # type: ignore[misc]  # flask-smorest carries no types
    """The operations of one kind of resource; ``description`` introduces them in the contract."""

    def __init__(self, name: str, import_name: str, *, description: str, url_prefix: str | None = None) -> None:
        from service.web.kit.openapi import describe_declared

        super().__init__(name, import_name, description=description, url_prefix=url_prefix)
        self._prepare_doc_cbks = [describe_declared]
        self.operations: list[Operation] = []
        self.views: dict[str, Callable[..., Any]] = {}

    def operation(
        self,
        method: str,
        path: str,
        *,
        scope: Door,
        body: SchemaLike | None = None,
        upload: str | None = None,
        upload_holds: str = "",
        query: type[Parameters] | None = None,
        returns: SchemaLike | None = None,
        status: int | None = None,
        media: Sequence[str] = (),
        conditional: bool = False,
        creates: bool = False,
        errors: Sequence[str] = (),
        moves: bool = False,
        later: SchemaLike | None = None,
        headers: Mapping[str, str] | None = None,
        going: Going | None = None,
    ) -> Callable[[View], View]:
        """Declare the operation that the decorated view answers.

        The view gets its path parameters, ``query``, ``body`` and ``upload`` by name, finds who asks in
        ``current_actor()``, and returns what ``returns`` dumps, a ``Reply``, or a ready response. Its docstring
        becomes the summary and the description.

        ``scope`` has no default, so that nobody forgets it. ``upload`` names the media type of a body that is no
        JSON, and that the view gets as bytes, or if it is a zip archive as a file that it closes; ``upload_holds``
        says what is to stand in it. ``media`` are types offered beside JSON (or, without ``returns``, instead of it);
        see ``negotiation.wanted``. ``conditional`` gives a read its ETag and 304, and
        makes a change ask for If-Match; see ``conditions.expected_version``. ``creates`` answers 201 with a Location.
        ``errors`` are the slugs that the view may refuse with, beside those that follow from the declaration.
        Every POST takes an Idempotency-Key; one that ``moves`` something needs it. ``later`` is the schema of what is
        answered, always as JSON, with 202, Location and Retry-After where the work goes on after the answer.
        ``headers`` are what the view sets of its own, each by its name in ``answer_headers.HEADERS``. ``going`` says
        that the operation is on its way out.
        """
        unknown = [slug for slug in errors if slug not in KINDS]
        if unknown:
            raise ValueError(f"{method} {path}: {', '.join(unknown)} is missing in the table of problems.")

        def register(view: View) -> View:
            declared = Operation(
                name=view.__name__, method=method, path=path, scope=scope, body=_instance(body), upload=upload,
                query=query() if query else None, returns=_instance(returns),
                status=status or (201 if creates else 200 if returns or media else 204),
                media=tuple(media), conditional=conditional, creates=creates, errors=tuple(errors),
                idempotent="required" if moves else "offered" if method == "POST" else "refused",
                later=_instance(later), headers=headers or {}, going=going, upload_holds=upload_holds,
            )  # fmt: skip
            self.add(declared, view)
            return view

        return register

    def declared(self, name: str) -> Operation:
        """What was declared under this name."""
        return next(operation for operation in self.operations if operation.name == name)

    def add(self, operation: Operation, view: Callable[..., Any]) -> None:
        """Let a view answer what was declared."""

        @wraps(view)
        def answering(**path: Any) -> Response:
            return answer(operation, view, path)

        answering._apidoc = {"operation": operation}  # type: ignore[attr-defined]
        self.operations.append(operation)
        self.views[operation.name] = view
        self.add_url_rule(operation.path, None, answering, methods=[operation.method])


def _instance(schema: SchemaLike | None) -> marshmallow.Schema | None:
    return schema() if isinstance(schema, type) else schema


def answer(operation: Operation, view: Callable[..., Any], path: Mapping[str, Any]) -> Response:
    """Run one operation: who asks, in which form, on which version, with what; then the view; then its answer."""
    flask.g.going = operation.going
    flask.g.actor = admit(operation.scope, flask.current_app.extensions["kit"].authenticate)
    if operation.offered:
        flask.g.media_type = negotiation.choose(operation.offered)
    if operation.needs_version:
        flask.g.expected_version = conditions.required_version()
    if operation.idempotent != "refused" and (claim := idempotency.claim(operation.name, operation.idempotent)):
        once: idempotency.Once = flask.current_app.extensions["kit"].once
        return once(claim, lambda: _answered(operation, view, path))
    return _answered(operation, view, path)


def _answered(operation: Operation, view: Callable[..., Any], path: Mapping[str, Any]) -> Response:
    result = view(**path, **arguments.read(operation.query, operation.body, operation.upload, operation.takes))
    if isinstance(result, Response):
        return result
    return _response(operation, result if isinstance(result, Reply) else Reply(result))


def _response(operation: Operation, reply: Reply) -> Response:
    tag = None if reply.version is None else conditions.etag(reply.version, negotiation.wanted())
    if tag is not None and operation.is_read and conditions.is_unchanged(tag):
        response = Response(status=304)
    else:
        response = _with_body(operation, reply)
    response.headers.update(reply.headers)
    if tag is not None:
        response.set_etag(tag)
    if reply.location is not None and response.status_code in (HTTPStatus.CREATED, HTTPStatus.ACCEPTED):
        response.headers["Location"] = reply.location
    if len(operation.offered) > 1:
        response.vary.add("Accept")
    return response


def _with_body(operation: Operation, reply: Reply) -> Response:
    status, media_type = reply.status or operation.status, negotiation.wanted()
    if operation.later is not None and status == HTTPStatus.ACCEPTED:
        return _json(operation.later, reply.body, status)
    if not operation.offered:
        return Response(status=status)
    if media_type != negotiation.JSON:
        return Response(reply.body, status, mimetype=media_type)  # type: ignore[arg-type]
    assert operation.returns is not None  # noqa: S101 - JSON is offered only then
    return _json(operation.returns, reply.body, status)


def _json(schema: marshmallow.Schema, body: object, status: int) -> Response:
    response = flask.jsonify(schema.dump(body))
    response.status_code = status
    return response
