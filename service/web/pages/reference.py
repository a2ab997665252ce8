"""The index page with the reference of the interface, the contract itself, and what each problem means."""

from collections.abc import Mapping
from itertools import groupby
from typing import Any

import flask
from flask import Blueprint, Response

from service.core.errors import NotFound
from service.web.kit.openapi import Api
from service.web.kit.problems import KINDS

PAGE_POLICY = "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

pages = Blueprint("pages", __name__, template_folder="templates", static_folder="static", static_url_path="/pages")


def page(template: str, **facts: Any) -> Response:
    """A page under a strict content policy: no script, nothing from elsewhere."""
    response = Response(flask.render_template(template, **facts), mimetype="text/html")
    response.headers["Content-Security-Policy"] = PAGE_POLICY
    response.headers["Cache-Control"] = "no-cache"
    return response


@pages.get("/")
def index() -> Response:
    """Every operation, by the kind of thing that it is about."""
    document = contract()
    tags = {tag["name"]: tag["description"] for tag in document.get("tags", [])}
    operations = [
        {"method": method.upper(), "path": path, **described}
        for path, methods in document["paths"].items()
        for method, described in methods.items()
        if method != "parameters"
    ]
    grouped = groupby(sorted(operations, key=lambda o: list(tags).index(o["tags"][0])), key=lambda o: o["tags"][0])
    sections = [(name, tags[name], list(members)) for name, members in grouped]
    return page("reference.html", info=document["info"], sections=sections)


@pages.get("/openapi.json")
def openapi() -> Response:
    """The contract, as the code has it."""
    response = flask.jsonify(contract())
    response.headers["Cache-Control"] = "no-cache"
    return response


@pages.get("/problems")
def problems() -> Response:
    """What may be refused, and what each refusal means."""
    return page("problems.html", kinds=list(KINDS.values()))


@pages.get("/problems/<slug>")
def problem(slug: str) -> Response:
    """What one refusal means."""
    if slug not in KINDS:
        raise NotFound("problem", slug)
    return page("problems.html", kinds=[KINDS[slug]])


def contract() -> Mapping[str, Any]:
    """The OpenAPI document of the running app."""
    api: Api = flask.current_app.extensions["traybridge.api"]
    return api.document()
