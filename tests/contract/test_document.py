"""The committed contract is what the code says, it is valid, and nothing in it is left unsaid."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.app import build, document

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.yaml"


@pytest.fixture(scope="module")
def contract() -> dict[str, Any]:
    return dict(yaml.safe_load(COMMITTED.read_text("utf-8")))


def operations(contract: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    for path, methods in contract["paths"].items():
        for method, described in methods.items():
            if method != "parameters":
                yield f"{method.upper()} {path}", described


def test_the_committed_document_is_what_the_code_says() -> None:
    assert COMMITTED.read_text("utf-8") == document().as_yaml(), "run make openapi and read the difference"


def test_it_is_valid_openapi_3_1(contract: dict[str, Any]) -> None:
    assert contract["openapi"].startswith("3.1")
    assert [error.message for error in OpenAPIV31SpecValidator(contract).iter_errors()] == []


def test_every_operation_has_its_examples_and_everything_its_words() -> None:
    document().complete()


def test_every_operation_has_a_summary_and_says_how_it_refuses(contract: dict[str, Any]) -> None:
    for name, described in operations(contract):
        assert described["summary"].endswith("."), name
        refusals = {status for status in described["responses"] if status.startswith(("4", "5"))}
        assert refusals, name
        for status in refusals:
            assert "application/problem+json" in described["responses"][status]["content"], (name, status)


def test_every_parameter_and_header_is_described_and_shown(contract: dict[str, Any]) -> None:
    parts = contract["components"]
    told = [*parts["headers"].values(), *parts["parameters"].values()]
    for path in contract["paths"].values():
        told += path.get("parameters", [])
    for _, described in operations(contract):
        told += [parameter for parameter in described["parameters"] if "$ref" not in parameter]
    assert len(told) > 100
    assert [part for part in told if not part.get("description") or "example" not in part] == []


def test_every_answer_names_its_headers_and_shows_what_it_looks_like(contract: dict[str, Any]) -> None:
    for name, described in operations(contract):
        for status, answer in described["responses"].items():
            assert {"X-Request-Id", "Cache-Control"} <= answer["headers"].keys(), (name, status)
            for media, content in answer.get("content", {}).items():
                assert content.keys() & {"example", "examples"}, (name, status, media)


def test_every_operation_may_fail_of_itself_and_says_when_to_ask_again(contract: dict[str, Any]) -> None:
    for name, described in operations(contract):
        assert {"500", "503"} <= described["responses"].keys(), name
        assert "Retry-After" in described["responses"]["503"]["headers"], name


def test_every_text_list_and_number_that_is_asked_for_has_its_bounds(contract: dict[str, Any]) -> None:
    inputs = {name: schema for name, schema in contract["components"]["schemas"].items() if name.endswith("Input")}
    assert inputs
    unbounded = [path for name, schema in inputs.items() for path in _unbounded(schema, name)]
    assert unbounded == []


def _unbounded(schema: Any, path: str) -> Iterator[str]:
    if isinstance(schema, list):
        for place, inner in enumerate(schema):
            yield from _unbounded(inner, f"{path}/{place}")
    if not isinstance(schema, dict):
        return
    kind = schema.get("type")
    if kind == "string" and not {"enum", "maxLength"} & schema.keys():
        yield f"{path}: text without an end"
    if kind == "array" and "maxItems" not in schema:
        yield f"{path}: list without an end"
    if kind in ("integer", "number") and not {"minimum", "maximum"} <= schema.keys():
        yield f"{path}: number without bounds"
    for key, inner in schema.items():
        if key != "examples":
            yield from _unbounded(inner, f"{path}/{key}")


def test_every_route_of_the_application_stands_in_it(contract: dict[str, Any], engine: Any) -> None:
    """Beside the pages for people, which are no part of the interface."""
    routes = {
        f"{method} {rule.rule}"
        for rule in build(engine).url_map.iter_rules()
        for method in rule.methods - {"HEAD", "OPTIONS"}
        if not rule.endpoint.startswith("pages.")
    }
    assert len(routes) == len(list(operations(contract)))
