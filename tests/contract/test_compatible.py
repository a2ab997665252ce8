"""Each kind of change that breaks somebody's program is found, what breaks nothing is let through, and versions tell.

What counts as breaking follows from the strictness of our own requests, and from readers that pass over fields which
they do not know (as RFC 9457, section 3.2, asks of them); which version carries it, from semantic versioning 2.0.0.
"""

import copy
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from breaking import breaking_changes
from compatible import OPENAPI, last_released, may_break, read, verdict, version
from schema_breaks import NotUnderstood

Json = dict[str, Any]
TODAY = date(2026, 11, 25)


def a_contract() -> Json:
    box_input = {
        "type": "object", "additionalProperties": False, "required": ["code"],
        "properties": {
            "code": {"type": "string", "minLength": 1, "maxLength": 20, "pattern": "^[a-z]+$"},
            "kind": {"type": "string", "enum": ["storage", "post"], "default": "storage"},
            "width": {"oneOf": [{"type": "number", "minimum": 0, "maximum": 900}, {"type": "string"}]},
            "labels": {"type": "array", "items": {"type": "string"}, "maxItems": 5},
            "inside": {"$ref": "#/components/schemas/BoxInput"},
        },
    }  # fmt: skip
    box = {
        "type": "object", "additionalProperties": False, "required": ["code", "width_mm"],
        "properties": {
            "code": {"type": "string", "maxLength": 20},
            "width_mm": {"type": "number", "minimum": 0},
            "state": {"type": "string", "enum": ["new", "old"]},
            "made_on": {"type": "string", "format": "date"},
            "inside": {"$ref": "#/components/schemas/Box"},
        },
    }  # fmt: skip
    answer = {
        "headers": {"ETag": {"$ref": "#/components/headers/ETag"}},
        "content": {
            "application/json": {"schema": {"$ref": "#/components/schemas/Box"}},
            "text/plain": {"schema": {}},
        },
    }
    post = {
        "operationId": "make_box",
        "parameters": [
            {"in": "query", "name": "shelf", "schema": {"type": "integer", "maximum": 9}},
            {"in": "header", "name": "If-Match", "schema": {"type": "string"}},
        ],
        "requestBody": {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/BoxInput"}}}},
        "responses": {"201": answer, "409": {}},
        "security": [{"bearer": ["write"]}],
    }
    return {
        "info": {"version": "1.0.0"},
        "paths": {
            "/boxes": {"post": post, "get": {"operationId": "list_boxes", "responses": {"200": {}}, "security": [{}]}}
        },
        "webhooks": {"box.made": {"post": {"requestBody": {"content": {"application/json": {"schema": box}}}}}},
        "components": {
            "schemas": {"Box": box, "BoxInput": box_input},
            "headers": {"ETag": {"required": True, "schema": {"type": "string", "maxLength": 24}}},
        },
    }


def reached(part: Any, *path: str | int) -> Any:
    for step in path:
        part = part[step]
    return part


def asked(contract: Json) -> Any:
    return reached(contract, "components", "schemas", "BoxInput")


def answered(contract: Json) -> Any:
    return reached(contract, "components", "schemas", "Box")


def post(contract: Json) -> Any:
    return reached(contract, "paths", "/boxes", "post")


def put(part: Json, *path: str | int, value: Any) -> None:
    reached(part, *path[:-1])[path[-1]] = value


def drop(part: Json, *path: str | int) -> None:
    del reached(part, *path[:-1])[path[-1]]


Change = Callable[[Json], object]
BREAKS: dict[str, tuple[Change, str]] = {
    "an operation goes": (lambda c: drop(c, "paths", "/boxes", "post"), "POST /boxes: is gone"),
    "an address goes": (lambda c: drop(c, "paths", "/boxes"), "GET /boxes: is gone"),
    "an operation is renamed": (lambda c: put(post(c), "operationId", value="new_box"), "is called new_box"),
    "a key is asked for": (lambda c: put(c, "paths", "/boxes", "get", "security", value=[{"bearer": []}]), "key"),
    "a larger key is asked for": (lambda c: put(post(c), "security", 0, "bearer", value=["admin"]), "another key"),
    "a parameter goes": (lambda c: post(c)["parameters"].pop(0), "shelf is taken no more"),
    "a parameter is required": (lambda c: put(post(c), "parameters", 1, "required", value=True), "Match is required"),
    "a required parameter comes": (
        lambda c: post(c)["parameters"].append({"in": "query", "name": "by", "required": True, "schema": {}}),
        "by is required now",
    ),
    "a parameter narrows": (lambda c: put(post(c), "parameters", 0, "schema", "maximum", value=8), "maximum was 9"),
    "a body is required": (lambda c: put(post(c), "requestBody", "required", value=True), "a body is required"),
    "a media type is taken no more": (lambda c: put(post(c), "requestBody", "content", value={}), "is taken no more"),
    "an input is required": (lambda c: asked(c)["required"].append("kind"), "/kind: is required now"),
    "an input goes": (lambda c: drop(asked(c), "properties", "labels"), "/labels: is taken no more"),
    "an input's type changes": (
        lambda c: put(asked(c), "properties", "labels", "items", "type", value="number"), "/labels/*: string",
    ),
    "an input's words narrow": (lambda c: put(asked(c), "properties", "kind", "enum", value=["post"]), "'storage'"),
    "an input's words are named": (lambda c: put(asked(c), "properties", "code", "enum", value=["a"]), "anything"),
    "an input's default changes": (
        lambda c: put(asked(c), "properties", "kind", "default", value="post"), "left out, it meant 'storage'",
    ),
    "an input shortens": (lambda c: put(asked(c), "properties", "code", "maxLength", value=9), "maxLength was 20"),
    "an input must be longer": (lambda c: put(asked(c), "properties", "code", "minLength", value=2), "minLength was"),
    "an input's list shortens": (lambda c: put(asked(c), "properties", "labels", "maxItems", value=4), "maxItems"),
    "an input's items may not repeat": (
        lambda c: put(asked(c), "properties", "labels", "uniqueItems", value=True), "repeats is taken no more",
    ),
    "an input's pattern changes": (lambda c: put(asked(c), "properties", "code", "pattern", value="^[A-Z]"), "was"),
    "an input gets a format": (lambda c: put(asked(c), "properties", "code", "format", value="uuid"), "format"),
    "an alternative of an input goes": (lambda c: asked(c)["properties"]["width"]["oneOf"].pop(), "/width/1"),
    "an alternative of an input narrows": (
        lambda c: put(asked(c), "properties", "width", "oneOf", 0, "maximum", value=800), "/width/0",
    ),
    "an answered field goes": (lambda c: drop(answered(c), "properties", "state"), "/state: is answered no more"),
    "an answered field may be missing": (lambda c: answered(c)["required"].remove("code"), "/code: may be missing"),
    "an answer's type changes": (lambda c: put(answered(c), "properties", "code", "type", value="integer"), "/code"),
    "an answered field may be null": (
        lambda c: put(answered(c), "properties", "code", "type", value=["string", "null"]), "null is answered now",
    ),
    "an answer has further words": (
        lambda c: answered(c)["properties"]["state"]["enum"].append("lost"), "'lost' is answered now",
    ),
    "an answer loses its form": (lambda c: drop(answered(c), "properties", "made_on", "format"), "format was 'date'"),
    "an answer grows beyond its bounds": (
        lambda c: put(answered(c), "properties", "code", "maxLength", value=21), "maxLength was 20 and is 21",
    ),
    "a form of an answer goes": (
        lambda c: drop(post(c), "responses", "201", "content", "text/plain"), "text/plain is answered no more",
    ),
    "an outcome goes": (lambda c: drop(post(c), "responses", "201"), "201 is answered no more"),
    "an outcome comes": (lambda c: put(post(c), "responses", "202", value={}), "202 is answered now"),
    "a header goes": (lambda c: drop(post(c), "responses", "201", "headers", "ETag"), "ETag is answered no more"),
    "a header may be missing": (
        lambda c: put(c, "components", "headers", "ETag", "required", value=False), "ETag may be missing",
    ),
    "a header lengthens": (
        lambda c: put(c, "components", "headers", "ETag", "schema", "maxLength", value=99), "ETag : maxLength",
    ),
    "a webhook goes": (lambda c: drop(c, "webhooks", "box.made"), "webhook box.made: is gone"),
}  # fmt: skip
LETS_THROUGH: dict[str, Change] = {
    "nothing": lambda _: None,
    "a new operation": lambda c: put(c, "paths", "/trays", value={"get": {"operationId": "x", "responses": {}}}),
    "a new parameter": lambda c: post(c)["parameters"].append({"in": "query", "name": "by", "schema": {}}),
    "a smaller key": lambda c: put(post(c), "security", value=[{"bearer": []}, {}]),
    "a new input": lambda c: put(asked(c), "properties", "colour", value={"type": "string"}),
    "an input that may be left out": lambda c: asked(c)["required"].remove("code"),
    "a new word of an input": lambda c: asked(c)["properties"]["kind"]["enum"].append("spare"),
    "a wider input": lambda c: put(asked(c), "properties", "code", "maxLength", value=30),
    "any form of an input": lambda c: drop(asked(c), "properties", "code", "pattern"),
    "a whole number where a number was answered": lambda c: put(
        answered(c), "properties", "width_mm", "type", value="integer"
    ),
    "a new alternative of an input": lambda c: asked(c)["properties"]["width"]["oneOf"].append({"type": "null"}),
    "a further field of an answer": lambda c: put(answered(c), "properties", "colour", value={"type": "string"}),
    "a field that is always answered now": lambda c: answered(c)["required"].append("state"),
    "fewer words in an answer": lambda c: put(answered(c), "properties", "state", "enum", value=["new"]),
    "a further header": lambda c: put(post(c), "responses", "201", "headers", "Link", value={"schema": {}}),
    "a further refusal": lambda c: put(post(c), "responses", "429", value={}),
    "a refusal less": lambda c: drop(post(c), "responses", "409"),
    "other words": lambda c: put(answered(c), "properties", "code", "description", value="what it is called"),
    "an operation on its way out": lambda c: put(post(c), "deprecated", value=True),
}


def broken_by(change: Change, contract: Json | None = None) -> list[str]:
    old = contract or a_contract()
    new = copy.deepcopy(old)
    change(new)
    return breaking_changes(old, new, TODAY)


@pytest.mark.parametrize(("change", "words"), BREAKS.values(), ids=BREAKS.keys())
def test_what_breaks_a_program_is_found_and_named(change: Change, words: str) -> None:
    assert any(words in found for found in broken_by(change)), broken_by(change)


@pytest.mark.parametrize("change", LETS_THROUGH.values(), ids=LETS_THROUGH.keys())
def test_what_breaks_nothing_is_let_through(change: Change) -> None:
    assert broken_by(change) == []


def test_what_contains_itself_comes_to_an_end_and_is_looked_at_inside() -> None:
    found = broken_by(lambda c: put(answered(c), "properties", "inside", value={"type": "string"}))
    assert any("/inside" in change for change in found)


def test_what_was_to_be_gone_by_now_may_be_gone() -> None:
    contract = a_contract()
    for sunset, breaks in (("2026-11-25", False), ("2026-11-26", True)):
        post(contract)["x-sunset"] = sunset
        gone = broken_by(lambda c: drop(c, "paths", "/boxes", "post"), contract)
        assert (gone == ["POST /boxes: is gone"]) is breaks


def test_a_keyword_that_nobody_taught_it_is_no_secret() -> None:
    with pytest.raises(NotUnderstood, match="patternProperties"):
        broken_by(lambda c: put(answered(c), "patternProperties", value={}))


@pytest.mark.parametrize(
    ("old", "new", "allowed"),
    [
        ("1.0.0", "1.0.0", False), ("1.0.0", "1.0.1", False), ("1.9.9", "1.10.0", False), ("1.9.9", "2.0.0", True),
        ("0.1.0", "0.1.1", False), ("0.1.0", "0.2.0", True), ("0.9.0", "1.0.0", True),
    ],
)  # fmt: skip
def test_only_a_new_version_carries_what_breaks(old: str, new: str, allowed: bool) -> None:
    assert may_break(version(old), version(new)) is allowed
    before, after = a_contract(), a_contract()
    before["info"]["version"], after["info"]["version"] = old, new
    assert verdict(before, after, TODAY) == ([], True)
    drop(after, "paths", "/boxes", "get")
    assert verdict(before, after, TODAY) == (["GET /boxes: is gone"], allowed)


def test_no_version_comes_before_an_older_one() -> None:
    after = a_contract() | {"info": {"version": "0.9.0"}}
    assert verdict(a_contract(), after, TODAY)[1] is False


def test_versions_are_ordered_by_number_and_not_by_letter(tmp_path: Path) -> None:
    for name in ("0.9.0.yaml", "0.10.0.yaml", "0.2.11.yaml"):
        (tmp_path / name).touch()
    last = last_released(tmp_path)
    assert last is not None
    assert last.name == "0.10.0.yaml"
    assert last_released(tmp_path / "empty") is None


def test_the_contract_breaks_nothing_of_the_last_release_that_no_new_version_carries() -> None:
    last = last_released()
    assert last is not None
    released = read(last)
    assert released["info"]["version"] == last.stem
    breaks, in_order = verdict(released, read(OPENAPI / "openapi.yaml"), TODAY)
    assert in_order, breaks
