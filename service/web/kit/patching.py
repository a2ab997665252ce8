"""Changing a part of a thing: JSON merge patch (RFC 7396), offered wherever a thing can be written anew as a whole.

The patch is applied to what a reader of the thing sees, and the result is judged as if it had been sent whole: one
place decides what is right, who may do it, and whether the version is still the one that was seen.
"""

import inspect
from collections.abc import Callable
from dataclasses import replace
from typing import Any, cast

import flask
import orjson
from marshmallow import ValidationError

from service.formats.merge_patch import MEDIA_TYPE, TooDeep, merged
from service.web.kit.operation import Blueprint, Operation, Reply
from service.web.kit.problems import Fault, faults_in, invalid
from service.web.kit.schema import Ignored, Strict

Json = dict[str, Any]


class MergePatchSchema(Strict):
    """A change, written as what it changes: ``null`` takes a value away, a list is replaced whole."""

    def __init__(self, whole: Any) -> None:
        super().__init__()
        self.whole = whole

    def load(self, data: Any, **_: Any) -> Json:
        """The patch as it was sent; it is judged together with what it changes."""
        if not isinstance(data, dict):
            raise ValidationError("Write an object, in curly brackets.")
        fixed = [key for key in data if key in self.whole.fields and isinstance(self.whole.fields[key], Ignored)]
        if fixed:
            raise ValidationError({key: ["This follows from other things and cannot be changed."] for key in fixed})
        return data


def offer_patch(blueprint: Blueprint, reads: str, changes: str) -> None:
    """Offer PATCH beside the PUT called ``changes``, for what the GET called ``reads`` shows."""
    read, change = blueprint.declared(reads), blueprint.declared(changes)
    view = _patching(read, change, blueprint.views[reads], blueprint.views[changes])
    view.__name__ = changes.replace("change_", "patch_", 1)
    view.__doc__ = _of_a_part(inspect.cleandoc(blueprint.views[changes].__doc__ or ""))
    declared = replace(
        change, name=view.__name__, method="PATCH", body=MergePatchSchema(change.body), takes=MEDIA_TYPE
    )
    blueprint.add(declared, view)


def _of_a_part(said: str) -> str:
    """What a change says of itself, said of a part: its first sentence sums up, the rest follows."""
    summary, _, rest = said.partition("\n")
    does, _, more = summary.rstrip(".").partition(". ")
    paragraphs = (
        f"{does}, in part.",
        "A JSON merge patch (RFC 7396): what is left out stays, null takes a value away, a list is replaced whole.",
        f"{more}." if more else "",
        rest.strip(),
    )
    return "\n\n".join(filter(None, paragraphs))


def _patching(
    read: Operation, change: Operation, reads: Callable[..., Any], changes: Callable[..., Any]
) -> Callable[..., Any]:
    whole = change.body
    assert whole is not None  # noqa: S101 - it writes the thing anew
    assert read.returns is not None  # noqa: S101 - it shows the thing
    shows = read.returns
    takes = {field.data_key or name for name, field in whole.fields.items() if not isinstance(field, Ignored)}

    def patch(body: Json, **path: Any) -> Any:
        seen = reads(**path)
        assert isinstance(seen, Reply)  # noqa: S101 - every read that carries an ETag answers so
        shown: Json = orjson.loads(flask.current_app.json.dumps(shows.dump(seen.body)))
        before = {name: value for name, value in shown.items() if name in takes}
        try:
            wanted = whole.load(cast("Json", merged(before, body)))
        except TooDeep as error:
            raise invalid([Fault("", str(error))]) from error
        except ValidationError as error:
            raise invalid(faults_in(error.messages, "pointer")) from error
        return changes(body=wanted, **path)

    return patch


def patch_shape(converter: Any, whole: Json) -> Json:
    """The JSON Schema of a merge patch for what ``whole`` refers to: every member may be left out or ``null``."""
    name = whole["$ref"].rsplit("/", 1)[1]
    return {"$ref": f"#/components/schemas/{_loosened(converter.spec.components, name)}"}


def _loosened(components: Any, name: str) -> str:
    loose = name.removesuffix("Input") + "Patch"
    if loose not in components.schemas:
        described = components.schemas[name]
        # There before its members are, since a thing may hold its own kind; what is kept is a copy of what is given.
        components.schema(loose, {"type": "object", "additionalProperties": False, "properties": {}})
        members = {key: part for key, part in described.get("properties", {}).items() if not part.get("readOnly")}
        kept = components.schemas[loose]
        kept["properties"] = {key: _or_null(components, part) for key, part in members.items()}
        kept["description"] = f"What to change. {described.get('description', '')}".strip()
    return loose


def _or_null(components: Any, part: Json) -> Json:
    described = {key: part[key] for key in ("description",) if key in part}
    inner = {key: value for key, value in part.items() if key != "description"}
    reference = inner.get("$ref") or next((one["$ref"] for one in inner.get("allOf", ()) if "$ref" in one), None)
    if reference is not None:
        name = reference.rsplit("/", 1)[1]
        if components.schemas.get(name, {}).get("type") == "object":
            inner = {"$ref": f"#/components/schemas/{_loosened(components, name)}"}
    return {"anyOf": [inner, {"type": "null"}], **described}
