"""The contract: an OpenAPI 3.1 document written from the declarations, the same bytes every time."""

import json
import re
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import marshmallow
import yaml
from apispec.ext.marshmallow import MarshmallowPlugin
from apispec.ext.marshmallow.common import get_unique_schema_name, make_schema_key, resolve_schema_instance
from apispec.ext.marshmallow.openapi import OpenAPIConverter
from flask_smorest import Api as DocumentedApi
from marshmallow import ValidationError, fields

from service.web.kit import every_request, paths, words
from service.web.kit.answer_headers import HEADERS
from service.web.kit.fields import Field
from service.web.kit.links import add_links
from service.web.kit.operation import Operation
from service.web.kit.paragraphs import describe
from service.web.kit.problems import KINDS, ProblemSchema
from service.web.kit.unsaid import unsaid

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
        self.attribute_functions.append(self.in_words)

    def own_shape(self, field: Any, **_: Any) -> Json:
        """What one of our own fields says of itself."""
        if not hasattr(field, "shape"):
            return {}
        for name, component in getattr(field, "components", dict)().items():
            if name not in self.spec.components.schemas:
                self.spec.components.schema(name, component)
        shape: Json = field.shape() if self.asked or not isinstance(field, Field) else field.answer_shape()
        return shape

    def in_words(self, field: Any, *, ret: Json) -> Json:
        """What the field means."""
        return {key: value for key, value in words.described(field, ret).items() if key == "description"}

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
        self._not_described: list[Any] = []
        self._one_at_a_time = threading.Lock()
        super().__init__(app, spec_kwargs={"marshmallow_plugin": Plugin()})
        self._describe_what_many_share()

    def _describe_what_many_share(self) -> None:
        components = self.spec.components
        components.security_scheme(
            "bearer", {"type": "http", "scheme": "bearer", "description": "A key of the institution."}
        )
        components.parameter(every_request.PARAMETER, "header", every_request.described())
        for name, header in HEADERS.items():
            components.header(name, header)
        for kind in KINDS.values():
            components.example(kind.slug, {"summary": kind.title, "value": kind.example()})

    def _register_error_handlers(self) -> None:
        """Problems are told by `problems`, not by flask-smorest."""

    def _register_responses(self) -> None:
        """Each operation lists its own refusals."""

    def _register_etag_headers(self) -> None:
        """Versions are ours; see `conditions`."""

    def _register_pagination_header(self) -> None:
        """Pages are ours; see `paging`."""

    def register_blueprint(self, blp: Any, **options: Any) -> None:
        """Its operations answer from now on, and are described once somebody asks for the document: that takes
        longer than all the rest of a start, and few who start the service ask.
        """
        self.operations += getattr(blp, "operations", [])
        self._app.register_blueprint(blp, **options)
        self._not_described.append(blp)

    def _describe(self) -> None:
        with self._one_at_a_time:
            for blueprint in self._not_described:
                blueprint.register_views_in_doc(self, self._app, self.spec, name=blueprint.name, parameters=None)
                self.spec.tag({"name": blueprint.name, "description": blueprint.description})
            self._not_described.clear()

    def example(self, operation: Operation) -> Json:
        """What the examples folder has for an operation.

        What a creation answers in another form is what reading answers in that form; it stands with the reading.
        """
        example = self._in_folder(operation.name)
        if operation.creates and operation.media and "media" not in example:
            read = self._in_folder(operation.name.replace("create_", "get_", 1))
            example |= {"media": read["media"]} if "media" in read else {}
        return example

    def _in_folder(self, name: str) -> Json:
        file = None if self.examples is None else self.examples / f"{name}.json"
        return dict(json.loads(file.read_text("utf-8"))) if file is not None and file.is_file() else {}

    def document(self) -> Json:
        """The whole OpenAPI document."""
        self._describe()
        document: Json = self.spec.to_dict()
        for methods in document["paths"].values():
            if "parameters" in methods:
                methods["parameters"] = [paths.described(parameter) for parameter in methods["parameters"]]
        add_links(document, {operation.name: operation for operation in self.operations})
        _leave_out_what_nothing_refers_to(document)
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
        """Check that nothing is missing: names are unique, each operation has its examples, and all has its words.

        :raises IncompleteContract: naming every gap.
        """
        gaps = [gap for operation in self.operations for gap in self._gaps(operation)]
        names = [operation.name for operation in self.operations]
        gaps += [
            f"{name}: two operations have this name" for name in sorted({n for n in names if names.count(n) > 1})
        ]
        gaps += unsaid(self.document())
        if gaps:
            raise IncompleteContract("The contract is not complete.\n" + "\n".join(gaps))

    def _gaps(self, operation: Operation) -> Iterator[str]:
        example = self.example(operation)
        answers = (("response", operation.returns), ("later", operation.later))
        for name in (name for name, schema in answers if schema is not None and name not in example):
            yield f"{operation.name}: openapi/examples/{operation.name}.json has no “{name}”"
        needs_request = operation.body is not None or operation.upload
        if needs_request and "request" not in example:
            yield f"{operation.name}: openapi/examples/{operation.name}.json has no “request”"
        elif operation.body is not None:
            try:
                operation.body.load(example["request"])
            except ValidationError as error:
                yield f"{operation.name}: the example request would be refused: {error.messages}"


def _leave_out_what_nothing_refers_to(document: Json) -> None:
    referred = set(_references(document))
    for kind in ("examples", "headers"):
        named = document["components"].get(kind, {})
        document["components"][kind] = {n: c for n, c in named.items() if f"#/components/{kind}/{n}" in referred}


def _references(part: Any) -> Iterator[str]:
    if isinstance(part, dict):
        if isinstance(part.get("$ref"), str):
            yield part["$ref"]
        part = list(part.values())
    if isinstance(part, list):
        for inner in part:
            yield from _references(inner)


class _PlainDumper(yaml.SafeDumper):
    """Writes every part out where it stands: anchors would be read by nobody."""

    def ignore_aliases(self, data: Any) -> bool:  # noqa: ARG002
        return True


#: Text that readers of YAML 1.2 would take for a number, though those of YAML 1.1 do not: a digest such as 00…08.
_LIKE_A_NUMBER = re.compile(r"[-+]?(0x[0-9a-fA-F]+|0o[0-7]+|[0-9]+(\.[0-9]*)?([eE][-+]?[0-9]+)?|\.[0-9]+)")


def _write_text(dumper: yaml.SafeDumper, text: str) -> yaml.ScalarNode:
    style = "'" if _LIKE_A_NUMBER.fullmatch(text) else None
    return dumper.represent_scalar("tag:yaml.org,2002:str", text, style=style)


_PlainDumper.add_representer(str, _write_text)


def describe_declared(_: Json, declared: Json, *, api: "Api", **__: Any) -> Json:
    """What flask-smorest asks for each of its views; it adds summary, description and tag."""
    operation: Operation = declared["operation"]
    if operation.going is not None:
        words = (declared["docstring"].get("description"), operation.going.in_words())
        declared["docstring"]["description"] = "\n\n".join(filter(None, words))
    return describe(operation, api.ma_plugin.converter, api.example(operation))
