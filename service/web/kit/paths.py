"""Path parameters that look like what they name: ``<code:style>``, ``<number:line>``, ``<uuid:consignment>``.

An address that does not fit is one where there is nothing: 404.
"""

from typing import Any

from flask import Flask
from werkzeug.routing import BaseConverter

from service.web.kit.example_values import with_example
from service.web.kit.fields import CODE, LONGEST_CODE, UUID_WRITTEN

LARGEST_NUMBER = 999_999


class CodeConverter(BaseConverter):
    """A code in a path."""

    regex = rf"[A-Za-z0-9][A-Za-z0-9._-]{{0,{LONGEST_CODE - 1}}}"


class NumberConverter(BaseConverter):
    """A number that counts from 1."""

    regex = r"[1-9][0-9]{0,5}"
    part_isolating = True

    def to_python(self, value: str) -> int:
        return int(value)


def number_shape(_: BaseConverter) -> dict[str, Any]:
    return {"type": "integer", "minimum": 1, "maximum": LARGEST_NUMBER}


def code_shape(_: BaseConverter) -> dict[str, Any]:
    return {"type": "string", "minLength": 1, "maxLength": LONGEST_CODE, "pattern": CODE}


def uuid_shape(_: BaseConverter) -> dict[str, Any]:
    return {"type": "string", "format": "uuid", "pattern": UUID_WRITTEN, "maxLength": 36}


_WORDS: dict[tuple[str, str], tuple[str, int | str | None]] = {
    ("number", "integer"): ("its number, counted from 1", 1),
    ("line", "integer"): ("its place in the list, counted from 1", 1),
    ("line", "string"): ("the line's own key", "1"),
    ("style", "string"): ("the code of the drawer style", "cornell"),
    ("cabinet", "string"): ("the code of the cabinet", "cab-01"),
    ("sheet", "string"): ("which part: cabinets, drawers or unit-trays", "drawers"),
    ("check_code", "string"): ("as it stands at the foot of the paper", None),
    ("arrangement_id", "string"): ("the id of the arrangement plan", None),
    ("plan_id", "string"): ("the id of the housing plan", None),
    ("system_id", "string"): ("the id of the storage system", None),
}


def described(parameter: dict[str, Any]) -> dict[str, Any]:
    """A path parameter in the contract, with its words and an example."""
    name = parameter["name"]
    words, example = _WORDS.get((name, parameter["schema"]["type"]), (_of(name), None))
    shown = {"example": example} if example is not None else {}
    return with_example({"in": "path", "name": name, "description": words, **parameter, **shown})


def _of(name: str) -> str:
    thing = name.removesuffix("_id").replace("_", " ")
    return f"the id of the {thing}" if name.endswith("_id") else f"the {thing}"


def install(app: Flask) -> None:
    """Teach the app's router these parameters."""
    app.url_map.converters["code"] = CodeConverter
    app.url_map.converters["number"] = NumberConverter
