"""What a contract leaves unsaid: readers have nothing but the document, so all of it has its words."""

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]

#: Values that stand in a schema and are none themselves.
_VALUES = frozenset({"example", "examples", "default", "enum", "const"})


def unsaid(document: Json) -> Iterator[str]:
    """Every operation, schema and field of a document without a description, each with how to give it one."""
    for path in document["paths"].values():
        for method, operation in path.items():
            if method != "parameters" and not operation.get("description"):
                yield f"{operation['operationId']}: its docstring has a summary and nothing after it"
    for name, schema in document["components"]["schemas"].items():
        if not schema.get("description"):
            yield f"{name}: its schema has no docstring"
        for place in _fields_without_words(schema, name):
            yield f'{place}: nobody says what it means; give it metadata={{"description": …}}'


def _fields_without_words(part: Any, place: str) -> Iterator[str]:
    if isinstance(part, list):
        for inner in part:
            yield from _fields_without_words(inner, place)
    if not isinstance(part, dict):
        return
    for name, field in part.get("properties", {}).items():
        if not field.get("description"):
            yield f"{place}.{name}"
        yield from _fields_without_words(field, f"{place}.{name}")
    for key, inner in part.items():
        if key != "properties" and key not in _VALUES:
            yield from _fields_without_words(inner, place)
