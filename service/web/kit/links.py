"""Links in the contract: where one goes from what an operation answered (OpenAPI 3.1, section 4.8.20).

They follow from the paths. What ``POST /v1/boxes`` made is read at ``/v1/boxes/{box_id}``, and so is each item of a
list; what a read showed is changed under the version that it showed. Programs that walk through the service by its
contract, such as fuzzers, need nothing else.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from service.web.kit.operation import Operation

Json = dict[str, Any]
_PARAMETER = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class _Place:
    """An operation with its path as the contract writes it."""

    operation: Operation
    path: str

    @property
    def parameters(self) -> list[str]:
        return _PARAMETER.findall(self.path)


def add_links(document: Json, operations: Mapping[str, Operation]) -> None:
    """Write the links into the answers of a whole document."""
    places = [
        _Place(operations[described["operationId"]], path)
        for path, methods in document["paths"].items()
        for method, described in methods.items()
        if method != "parameters"
    ]
    for place in places:
        described = document["paths"][place.path][place.operation.method.lower()]
        links = dict(_links(place, places))
        if links:
            described["responses"][str(place.operation.status)]["links"] = links


def _links(place: _Place, places: list[_Place]) -> Iterator[tuple[str, Json]]:
    operation = place.operation
    for other in places:
        if other is place:
            continue
        if operation.creates and (key := _key_of_one(place, other)) and _names(operation, key):
            yield _link(other, place, f"$response.body#/{key}", version=_names(operation, "version"))
        elif (
            operation.is_read and _lists(operation) and other.operation.is_read and (key := _key_of_one(place, other))
        ):
            yield _link(other, place, f"$response.body#/items/0/{key}", version=False)
        elif operation.is_read and operation.conditional and _changes(other) and _same_place(place, other):
            yield _link(other, place, None, version=True)


def _lists(operation: Operation) -> bool:
    return operation.query is not None and "cursor" in operation.query.fields


def _changes(other: _Place) -> bool:
    return other.operation.needs_version


def _same_place(place: _Place, other: _Place) -> bool:
    """Whether the other operation asks for nothing that this one was not asked for."""
    return other.parameters == place.parameters and other.path.startswith(place.path)


def _key_of_one(place: _Place, other: _Place) -> str | None:
    """What names one thing of this collection, if the other operation is about one and names nothing further."""
    rest = other.path.removeprefix(place.path)
    further = _PARAMETER.findall(rest)
    if not other.path.startswith(place.path) or not rest.startswith("/{") or len(further) != 1:
        return None
    return "id" if further[0].endswith("_id") else str(further[0])


def _names(operation: Operation, key: str) -> bool:
    return operation.returns is not None and key in operation.returns.fields


def _link(to: _Place, come_from: _Place, key: str | None, *, version: bool) -> tuple[str, Json]:
    parameters = {f"path.{name}": f"$request.path.{name}" for name in come_from.parameters}
    if key is not None:
        parameters[f"path.{to.parameters[-1]}"] = key
    if version and to.operation.needs_version:
        parameters["header.If-Match"] = "$response.header.ETag"
    return to.operation.name, {"operationId": to.operation.name, "parameters": parameters}
