"""The contract: an OpenAPI 3.1 document written from the declarations, the same bytes every time."""

import json
from collections.abc import Iterator, Mapping
from itertools import groupby
from pathlib import Path
from typing import Any

import marshmallow
import yaml
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.common import get_unique_schema_name, make_schema_key, resolve_schema_instance
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from flask_smorest import Api as DocumentedApi
from marshmallow import ValidationError, fields

from service.web.kit import conditions, idempotency, problems
from service.web.kit.fields import Field
from service.web.kit.negotiation import JSON, SVG
from service.web.kit.operation import Operation
from service.web.kit.problems import KINDS, ProblemSchema

Json = dict[str, Any]


class IncompleteContract(ValueError):
    """The document lacks what a reader of it needs; the message names every gap."""


class Converter(OpenAPIConverter):
    """apispec's converter, told what our fields accept and that requests and answers may differ.

    A schema that reads otherwise than it writes becomes two components, ``Box`` and ``BoxInput``.
    """

    asked = False

    def init_attribute_functions(self) -> None:
        super().init_attribute_functions()  # type: ignore[no-untyped-call]
        self.attribute_functions.insert(1, self.own_shape)

    def own_shape(self, field: Any, **_: Any) -> Json:
        """What one of our own fields says of itself."""
        if not hasattr(field, "shape"):
            return {}
        for name, component in getattr(field, "components", dict)().items():
            if name not in self.spec.components.schemas:
                self.spec.components.schema(name, component)
        shape: Json = field.shape() if self.asked or not isinstance(field, Field) else field.answer_shape()
        return shape

    def resolve_nested_schema(self, schema: Any) -> Json:
        instance = resolve_schema_instance(schema)
        is_input = self.asked and reads_otherwise(instance)
        key = (make_schema_key(instance), is_input)
        if key not in self.refs:
            plain_name = self.schema_name_resolver(schema)
            name = get_unique_schema_name(self.spec.components, plain_name + ("Input" if is_input else ""))
            self.refs[key] = name
            self.spec.components.schema(name, self.schema2jsonschema(instance))
        return {"$ref": f"#/components/schemas/{self.refs[key]}"}

    def schema2jsonschema(self, schema: Any) -> Json:
        described: Json = super().schema2jsonschema(schema)  # type: ignore[no-untyped-call]
        description = (type(schema).__doc__ or "").partition("\n\n")[0].strip()
        return ({"description": " ".join(description.split())} if description else {}) | described

    def fields2jsonschema(self, fields: Mapping[str, Any], *, partial: Any = None) -> Json:
        there = {name: field for name, field in fields.items() if not _is_absent(field, self.asked)}
        return dict(super().fields2jsonschema(there, partial=partial))  # type: ignore[no-untyped-call]


class Plugin(MarshmallowPlugin):
    Converter = Converter


def _is_absent(field: Any, asked: bool) -> bool:
    return bool(field.dump_only if asked else field.load_only)


def reads_otherwise(schema: marshmallow.Schema, seen: frozenset[type] = frozenset()) -> bool:
    """Whether a request with this schema looks different from an answer with it."""
    if type(schema) in seen:
        return False
    return any(_differs(field, seen | {type(schema)}) for field in schema.fields.values())


def _differs(field: Any, seen: frozenset[type]) -> bool:
    if field.dump_only or field.load_only:
        return True
    if isinstance(field, fields.Nested):
        return reads_otherwise(field.schema, seen)
    if isinstance(field, fields.List):
        return _differs(field.inner, seen)
    return isinstance(field, Field) and field.shape() != field.answer_shape()


class Api(DocumentedApi):  # type: ignore[misc]  # flask-smorest carries no types
    """The app's operations and the document that describes them.

    ``examples`` is the folder with ``<operationId>.json``: ``{"request": …, "response": …}``, and under ``"media"``
    the text of other media types.
    """

    ERROR_SCHEMA = ProblemSchema

    def __init__(self, app: Any, *, examples: Path | None = None) -> None:
        self.examples = examples
        self.operations: list[Operation] = []
        super().__init__(app, spec_kwargs={"marshmallow_plugin": Plugin()})
        self.spec.components.security_scheme(
            "bearer", {"type": "http", "scheme": "bearer", "description": "A key of the institution."}
        )

    def _register_error_handlers(self) -> None:
        """Problems are told by `problems`, not by flask-smorest."""

    def _register_responses(self) -> None:
        """Each operation lists its own refusals."""

    def _register_etag_headers(self) -> None:
        """Versions are ours; see `conditions`."""

    def _register_pagination_header(self) -> None:
        """Pages are ours; see `paging`."""

    def register_blueprint(self, blp: Any, **options: Any) -> None:
        self.operations += getattr(blp, "operations", [])
        super().register_blueprint(blp, **options)

    def example(self, operation: Operation) -> Json:
        """What the examples folder has for an operation."""
        file = None if self.examples is None else self.examples / f"{operation.name}.json"
        return dict(json.loads(file.read_text("utf-8"))) if file is not None and file.is_file() else {}

    def document(self) -> Json:
        """The whole OpenAPI document."""
        document: Json = self.spec.to_dict()
        for components in document["components"].values():
            in_order = sorted(components.items())
            components.clear()
            components.update(in_order)
        return document

    def as_yaml(self) -> str:
        """The document as it is committed."""
        return yaml.dump(
            self.document(), Dumper=_PlainDumper, sort_keys=False, allow_unicode=True, width=110, indent=2
        )

    def complete(self) -> None:
        """Check that nothing is missing: names are unique, each operation has its words and its examples.

        :raises IncompleteContract: naming every gap.
        """
        gaps = [gap for operation in self.operations for gap in self._gaps(operation)]
        names = [operation.name for operation in self.operations]
        gaps += [
            f"{name}: two operations have this name" for name in sorted({n for n in names if names.count(n) > 1})
        ]
        if gaps:
            raise IncompleteContract("The contract is not complete.\n" + "\n".join(gaps))

    def _gaps(self, operation: Operation) -> Iterator[str]:
        example = self.example(operation)
        if operation.returns is not None and "response" not in example:
            yield f"{operation.name}: openapi/examples/{operation.name}.json has no “response”"
        needs_request = operation.body is not None or operation.upload
        if needs_request and "request" not in example:
            yield f"{operation.name}: openapi/examples/{operation.name}.json has no “request”"
        elif operation.body is not None:
            try:
                operation.body.load(example["request"])
            except ValidationError as error:
                yield f"{operation.name}: the example request would be refused: {error.messages}"


class _PlainDumper(yaml.SafeDumper):
    """Writes every part out where it stands: anchors would be read by nobody."""

    def ignore_aliases(self, data: Any) -> bool:  # noqa: ARG002
        return True


def describe(_: Json, declared: Json, *, api: Api, **__: Any) -> Json:
    """The operation object of one declaration; flask-smorest adds summary, description and tag."""
    operation: Operation = declared["operation"]
    converter: Converter = api.ma_plugin.converter
    example = api.example(operation)
    described: Json = {"operationId": operation.name}
    if parameters := _parameters(operation, converter):
        described["parameters"] = parameters
    if operation.body is not None:
        content = {"schema": _schema(converter, operation.body, asked=True), **_example(example, "request")}
        described["requestBody"] = {"required": True, "content": {JSON: content}}
    if operation.upload is not None:
        content = {"schema": {"type": "string"}, **_example(example, "request")}
        described["requestBody"] = {"required": True, "content": {operation.upload: content}}
    described["responses"] = _success(operation, converter, example) | _refused(operation, converter)
    key = {"bearer": [] if operation.scope == "public" else [operation.scope]}
    described["security"] = [{}, key] if operation.scope == "public" else [key]
    return described


def _schema(converter: Converter, schema: marshmallow.Schema, *, asked: bool) -> Json:
    converter.asked = asked
    return converter.resolve_nested_schema(schema)


def _parameters(operation: Operation, converter: Converter) -> list[Json]:
    converter.asked = True
    parameters = list(converter.schema2parameters(operation.query, location="query")) if operation.query else []
    if operation.conditional:
        parameters.append(
            dict(conditions.IF_NONE_MATCH_PARAMETER if operation.is_read else conditions.IF_MATCH_PARAMETER)
        )
    if operation.idempotent != "refused":
        parameters.append(idempotency.parameter(operation.idempotent))
    return parameters


def _success(operation: Operation, converter: Converter, example: Json) -> Json:
    success: Json = {"description": _OUTCOME.get(operation.status, "Done.")}
    if headers := _headers(operation):
        success["headers"] = headers
    content: Json = {}
    if operation.returns is not None:
        schema = _schema(converter, operation.returns, asked=False)
        content[JSON] = {"schema": schema, **_example(example, "response")}
    for media_type in operation.media:
        content[media_type] = {"schema": {"type": "string"}, **_example(_readable(example), media_type)}
    if content:
        success["content"] = content
    answers = {str(operation.status): success}
    if operation.conditional and operation.is_read:
        answers["304"] = {"description": "You hold the current version."}
    if operation.later is not None:
        answers["202"] = _later(operation.later, converter)
    return answers


def _later(schema: marshmallow.Schema, converter: Converter) -> Json:
    """The answer of an operation whose work goes on after it."""
    seconds = {"type": "integer", "minimum": 1, "maximum": 3600}
    return {
        "description": _OUTCOME[202],
        "headers": {
            "Location": {**_LOCATION, "description": "The address of what tells how far it is."},
            "Retry-After": {"description": "Seconds after which to ask there.", "required": True, "schema": seconds},
        },
        "content": {JSON: {"schema": _schema(converter, schema, asked=False)}},
    }


_LOCATION: Json = {
    "required": True,
    "schema": {"type": "string", "format": "uri-reference", "maxLength": 2000},
}


_OUTCOME = {200: "The answer.", 201: "It was made.", 202: "It was begun.", 204: "Done; there is nothing to show."}


def _readable(example: Json) -> Json:
    """The examples in other media that a person can read; a drawing's source is none of them."""
    return {media_type: text for media_type, text in example.get("media", {}).items() if media_type != SVG}


def _headers(operation: Operation) -> Json:
    headers: Json = {}
    if operation.creates or (operation.conditional and operation.status != 204):
        headers["ETag"] = {**conditions.ETAG_HEADER, "required": operation.conditional}
    if operation.creates:
        headers["Location"] = {"description": "The address of what was made.", **_LOCATION}
    if operation.query is not None and "cursor" in operation.query.fields:
        schema = {"type": "string", "maxLength": 4000}
        headers["Link"] = {"description": "The first and the next page (RFC 8288).", "schema": schema}
    return headers


def _example(examples: Json, name: str) -> Json:
    return {"example": examples[name]} if name in examples else {}


def _refused(operation: Operation, converter: Converter) -> Json:
    kinds = [KINDS[slug] for slug in operation.refusals()]
    schema = _schema(converter, ProblemSchema(), asked=False)
    return {
        str(status): {
            "description": " ".join(f"`{kind.slug}`: {kind.meaning}" for kind in alike),
            "content": {problems.MEDIA_TYPE: {"schema": schema}},
        }
        for status, alike in ((s, list(group)) for s, group in groupby(kinds, key=lambda kind: kind.status))
    }
