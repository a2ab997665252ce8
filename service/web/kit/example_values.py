"""Examples for parameters: a value of the right form, so that nobody has to make one up from a pattern."""

from typing import Any
from uuid import UUID

from service.web.kit.fields import CODE

Json = dict[str, Any]

#: Identifiers of the examples count up from here; two parameters with one name show one thing.
_FIRST = UUID("019ab000-0000-7000-8000-000000000000").int
_BY_FORMAT = {"date": "2026-11-25", "date-time": "2026-11-25T09:30:00Z"}


def with_example(parameter: Json) -> Json:
    """The parameter with an example, if its schema allows to say one and it has none."""
    if parameter.keys() & {"$ref", "example", "examples"}:
        return parameter
    schema = parameter["schema"]
    if "example" in schema:
        return parameter | {
            "schema": {k: v for k, v in schema.items() if k != "example"},
            "example": schema["example"],
        }
    value = _value(parameter["name"], schema)
    return parameter if value is None else parameter | {"example": value}


def _value(name: str, schema: Json) -> Any:
    """One value that the schema takes; None where only whoever declares the parameter knows one."""
    if "$ref" in schema:
        return "16 1/2 in" if schema["$ref"].endswith("/LengthInput") else None
    if schema.get("type") == "array":
        inner = _value(name, schema["items"])
        return None if inner is None else [inner]
    if "enum" in schema:
        return schema["enum"][0]
    if schema.get("format") == "uuid":
        return str(UUID(int=_FIRST + sum(name.encode())))
    if schema.get("format") in _BY_FORMAT:
        return _BY_FORMAT[schema["format"]]
    if schema.get("pattern") == CODE:
        return "example-1"
    if schema.get("type") == "boolean":
        return schema.get("default", True)
    return schema.get("default", schema.get("minimum"))
