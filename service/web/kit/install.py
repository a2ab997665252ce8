"""Puts the kit into an app. The kit knows no database: what it needs to ask comes in as hooks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from flask import Flask, Response
from werkzeug.routing import UUIDConverter

from service.web.kit import every_request, paths, problems
from service.web.kit.auth import Authenticate
from service.web.kit.idempotency import Claim, Once
from service.web.kit.json_provider import OrjsonProvider
from service.web.kit.openapi import Api

LARGEST_BODY_BYTES = 1_000_000


def _every_time(_: Claim, answer: Callable[[], Response]) -> Response:
    """Keeps nothing: for an app that only describes itself."""
    return answer()


@dataclass(frozen=True, slots=True)
class Hooks:
    """What the kit asks of the app.

    ``authenticate`` finds the actor behind a key. ``why_not_ready`` gives the sentence that says what is wrong, such
    as a database that cannot be reached or lacks a migration, and ``None`` when all is well. ``once`` answers a
    request that came with an Idempotency-Key.
    """

    authenticate: Authenticate
    why_not_ready: Callable[[], str | None]
    once: Once = _every_time


@dataclass(frozen=True, slots=True)
class Contract:
    """What the OpenAPI document says of itself, and where its examples are."""

    title: str
    version: str
    description: str
    examples: Path | None = None
    licence: Mapping[str, str] = field(default_factory=lambda: {"name": "Apache 2.0", "identifier": "Apache-2.0"})


def install(app: Flask, hooks: Hooks, contract: Contract, *, largest_body_bytes: int = LARGEST_BODY_BYTES) -> Api:
    """Make this app speak the kit's HTTP; register blueprints on the ``Api`` that comes back."""
    app.json = OrjsonProvider(app)
    app.extensions["kit"] = hooks
    app.config.update(
        MAX_CONTENT_LENGTH=largest_body_bytes,
        API_TITLE=contract.title,
        API_VERSION=contract.version,
        OPENAPI_VERSION="3.1.0",
        API_SPEC_OPTIONS={
            "info": {"description": contract.description, "license": contract.licence},
            "servers": [{"url": "/"}],
        },
    )
    every_request.install(app)
    problems.install(app)
    paths.install(app)
    api = Api(app, examples=contract.examples)
    api.register_converter(paths.CodeConverter, paths.code_shape)
    api.register_converter(paths.NumberConverter, paths.number_shape)
    api.register_converter(UUIDConverter, paths.uuid_shape)
    return api
