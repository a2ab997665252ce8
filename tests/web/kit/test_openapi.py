"""The contract is whole, true, and the same every time."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask import Flask
from openapi_spec_validator import validate
from schema_truth import admits
from shelf import create_shelf, write_examples

from service.web.kit.openapi import Api, IncompleteContract, _PlainDumper


@pytest.fixture
def document(api: Api) -> dict[str, Any]:
    return api.document()


def operations(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for path in document["paths"].values():
        yield from (operation for method, operation in path.items() if method != "parameters")


def schemas(part: object) -> Iterator[dict[str, Any]]:
    if isinstance(part, dict):
        yield part
        part = list(part.values())
    if isinstance(part, list):
        for inner in part:
            yield from schemas(inner)


def test_the_document_is_openapi(document: dict[str, Any]) -> None:
    assert document["openapi"] == "3.1.0"
    validate(document)


def test_the_document_is_the_same_every_time(api: Api, tmp_path: Path) -> None:
    write_examples(tmp_path)
    assert create_shelf(tmp_path)[1].as_yaml() == api.as_yaml() == api.as_yaml()


def test_the_written_document_says_the_same(api: Api, document: dict[str, Any]) -> None:
    text = api.as_yaml()
    assert yaml.safe_load(text) == document
    assert "&id" not in text


def test_every_route_is_in_the_document(app: Flask, document: dict[str, Any]) -> None:
    routes = {rule.endpoint.split(".")[-1] for rule in app.url_map.iter_rules() if rule.endpoint != "static"}
    assert {operation["operationId"] for operation in operations(document)} == routes


def test_every_operation_has_words_a_key_and_its_refusals(document: dict[str, Any]) -> None:
    for operation in operations(document):
        assert operation["summary"].endswith(".")
        assert operation["security"]
        assert {"401", "422"} <= operation["responses"].keys()
        refused = {status: r for status, r in operation["responses"].items() if int(status) >= 400}
        assert all(list(r["content"]) == ["application/problem+json"] for r in refused.values())


def test_a_public_operation_asks_for_no_key_and_takes_one(document: dict[str, Any]) -> None:
    assert document["paths"]["/v1/boxes/drawing"]["get"]["security"] == [{}, {"bearer": []}]
    assert document["paths"]["/v1/boxes"]["get"]["security"] == [{"bearer": ["read"]}]


def test_a_change_asks_for_the_version_and_a_read_tells_it(document: dict[str, Any]) -> None:
    box = document["paths"]["/v1/boxes/{box_id}"]
    [if_match] = [parameter for parameter in box["put"]["parameters"] if "name" in parameter]
    assert (if_match["name"], if_match["required"]) == ("If-Match", True)
    assert {"412", "428"} <= box["put"]["responses"].keys()
    assert "ETag" in box["get"]["responses"]["200"]["headers"]
    assert "304" in box["get"]["responses"]


def test_what_is_read_otherwise_than_written_has_two_schemas(document: dict[str, Any]) -> None:
    parts = document["components"]["schemas"]
    assert parts["BoxContentInput"]["properties"]["width"]["$ref"] == "#/components/schemas/DimensionInput"
    assert parts["Box"]["properties"]["width"]["$ref"] == "#/components/schemas/Dimension"
    assert parts["BoxContentInput"]["additionalProperties"] is False
    assert "HealthInput" not in parts
    assert "PaginationMetadata" not in parts


def test_every_text_and_list_that_is_asked_for_is_bounded(document: dict[str, Any]) -> None:
    asked = [operation.get("requestBody", {}) for operation in operations(document)]
    # An If-None-Match of any length is compared and thrown away; the server's own limit on headers bounds it.
    asked += [
        parameter
        for operation in operations(document)
        for parameter in operation.get("parameters", [])
        if parameter.get("name") != "If-None-Match"
    ]
    asked += [part for name, part in document["components"]["schemas"].items() if name.endswith("Input")]
    for schema in schemas(asked):
        if schema.get("type") == "string":
            assert schema.keys() & {"maxLength", "enum"}, schema
        if schema.get("type") == "array":
            assert "maxItems" in schema, schema
        if schema.get("type") in ("integer", "number"):
            assert schema.keys() >= {"minimum", "maximum"}, schema


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    for part in schemas(document):
        if "$ref" in part:
            _, _, kind, name = part["$ref"].split("/")
            assert name in document["components"][kind]


def test_what_is_made_is_read_and_changed_by_links(document: dict[str, Any]) -> None:
    made = document["paths"]["/v1/boxes"]["post"]["responses"]["201"]["links"]
    assert made["get_box"]["parameters"] == {"path.box_id": "$response.body#/id"}
    assert made["delete_box"]["parameters"] == {
        "path.box_id": "$response.body#/id",
        "header.If-Match": "$response.header.ETag",
    }
    listed = document["paths"]["/v1/boxes"]["get"]["responses"]["200"]["links"]
    assert listed == {
        "get_box": {"operationId": "get_box", "parameters": {"path.box_id": "$response.body#/items/0/id"}}
    }
    read = document["paths"]["/v1/boxes/{box_id}"]["get"]["responses"]["200"]["links"]
    assert read["replace_box"]["parameters"] == {
        "path.box_id": "$request.path.box_id",
        "header.If-Match": "$response.header.ETag",
    }


def test_a_link_names_an_operation_and_parameters_of_it(document: dict[str, Any]) -> None:
    takes = {
        described["operationId"]: {f"path.{p['name']}" for p in path.get("parameters", [])}
        | {f"{p['in']}.{p['name']}" for p in described["parameters"] if "name" in p}
        for path in document["paths"].values()
        for method, described in path.items()
        if method != "parameters"
    }
    links = [link for part in schemas(document) if "links" in part for link in part["links"].values()]
    assert len(links) >= 5
    for link in links:
        assert link["parameters"].keys() <= takes[link["operationId"]]


def test_text_that_looks_like_a_number_stays_text_for_every_reader_of_yaml() -> None:
    # YAML 1.2.2, section 10.3.2, resolves these as numbers; YAML 1.1 leaves the first as text (from memory).
    looks = ["0000000000000008", "12", "-1", "1.5", "1e3", "0x1F", "0o17", ".5"]
    written = yaml.dump(looks, Dumper=_PlainDumper)
    assert written == "".join(f"- '{text}'\n" for text in looks)


def test_what_is_not_read_again_by_anybody_stands_nowhere(document: dict[str, Any]) -> None:
    assert "Sunset" not in document["components"]["headers"]
    assert "code-taken" in document["components"]["examples"]
    assert "step-refused" not in document["components"]["examples"]


def test_every_example_fits_its_schema(document: dict[str, Any]) -> None:
    parts = document["components"]["schemas"]
    contents = [part["application/json"] for part in schemas(document) if "application/json" in part]
    assert len(contents) >= 8
    assert all(admits(content["schema"], parts, content["example"]) for content in contents)


def test_a_whole_contract_is_complete(api: Api) -> None:
    api.complete()


def test_every_gap_is_named(tmp_path: Path) -> None:
    write_examples(tmp_path)
    (tmp_path / "list_boxes.json").unlink()
    (tmp_path / "create_box.json").write_text('{"request": {"code": "a"}, "response": {}}')
    with pytest.raises(IncompleteContract) as caught:
        create_shelf(tmp_path)[1].complete()
    assert "list_boxes.json has no “response”" in str(caught.value)
    assert "create_box: the example request would be refused" in str(caught.value)
    assert len(str(caught.value).splitlines()) == 3
