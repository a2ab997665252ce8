"""Whether every value that one schema takes is taken by another: what a change of a contract comes down to.

What is asked for must stay acceptable, so the new schema has to take whatever the old one took. What is answered must
stay understandable, so the old schema has to take whatever the new one allows; only further fields are no news there,
because readers pass over fields that they do not know. A keyword that is not understood here is an error, never
overlooked.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

Schema = dict[str, Any]
Way = Literal["asked", "answered"]

_WORDS = {"title", "description", "examples", "example", "default", "readOnly", "writeOnly", "deprecated"}
_UNDERSTOOD = _WORDS | {
    "$ref", "type", "enum", "const", "format", "pattern", "contentEncoding", "contentMediaType", "minimum", "maximum",
    "exclusiveMinimum", "exclusiveMaximum", "multipleOf", "minLength", "maxLength", "minItems", "maxItems",
    "minProperties", "maxProperties", "uniqueItems", "items", "properties", "required", "additionalProperties",
    "oneOf", "anyOf",
}  # fmt: skip
_AT_LEAST = ("minimum", "exclusiveMinimum", "minLength", "minItems", "minProperties")
_AT_MOST = ("maximum", "exclusiveMaximum", "maxLength", "maxItems", "maxProperties")
_THE_SAME = ("format", "pattern", "contentEncoding", "contentMediaType", "multipleOf", "const")


class NotUnderstood(ValueError):
    """A schema says something that the comparison knows nothing of; it has to learn it first."""


@dataclass(frozen=True)
class Side:
    """One schema in its document."""

    schema: Schema
    document: dict[str, Any]

    def at(self, schema: Schema) -> "Side":
        return Side(schema, self.document)

    @property
    def plain(self) -> Schema:
        """The schema itself, behind its reference; what stands beside a reference are words."""
        schema = self.schema
        while "$ref" in schema:
            schema = self.document["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
        if strange := {key for key in schema if key not in _UNDERSTOOD and not key.startswith("x-")}:
            raise NotUnderstood(f"{', '.join(sorted(strange))} in a schema: teach schema_breaks.py what breaks it.")
        return schema


@dataclass
class Comparing:
    """One comparison; ``seen`` ends the walk in schemas that contain themselves."""

    way: Way
    seen: set[tuple[str, str]] = field(default_factory=set)

    def breaks(self, old: Side, new: Side, at: str = "") -> Iterator[str]:
        """What breaks between two schemas, each with where it stands."""
        names = (old.schema.get("$ref", ""), new.schema.get("$ref", ""))
        if all(names):
            if names in self.seen:
                return
            self.seen.add(names)
        yield from self._gone(old.plain, new.plain, at)
        wide, narrow = (old, new) if self.way == "asked" else (new, old)
        yield from self._refused(wide, narrow, at)

    def _gone(self, old: Schema, new: Schema, at: str) -> Iterator[str]:
        if self.way == "answered":
            for name in old.get("properties", {}):
                if "properties" in new and name not in new["properties"]:
                    yield f"{at}/{name}: is answered no more"
        elif old.get("default") != new.get("default") and "default" in old:
            yield f"{at}: left out, it meant {old['default']!r} and means {new.get('default', 'nothing')!r}"

    def _refused(self, wide: Side, narrow: Side, at: str) -> Iterator[str]:
        """Why something that the one takes is refused by the other."""
        if alternatives := _alternatives(wide.plain):
            for place, alternative in enumerate(alternatives):
                yield from self._refused(wide.at(alternative), narrow, f"{at}/{place}")
        elif alternatives := _alternatives(narrow.plain):
            yield from self._none_takes(wide, [narrow.at(one) for one in alternatives], at)
        else:
            one, other = wide.plain, narrow.plain
            yield from (f"{at}: {reason}" for reason in _of_one_value(one, other, self.way))
            yield from self._of_fields(wide, narrow, at)
            if "items" in one and "items" in other:
                yield from self._inside(wide.at(one["items"]), narrow.at(other["items"]), f"{at}/*")

    def _none_takes(self, wide: Side, alternatives: list[Side], at: str) -> Iterator[str]:
        """Nothing, if one of the alternatives takes it all."""
        for alternative in alternatives:
            trying = Comparing(self.way, set(self.seen))
            if next(trying._refused(wide, alternative, at), None) is None:
                return
        yield f"{at}: {_name(wide.schema)} fits none of {', '.join(_name(a.schema) for a in alternatives)}"

    def _of_fields(self, wide: Side, narrow: Side, at: str) -> Iterator[str]:
        one, other = wide.plain, narrow.plain
        for name in other.get("required", ()):
            if name not in one.get("required", ()):
                yield f"{at}/{name}: {'is required now' if self.way == 'asked' else 'may be missing now'}"
        if self.way == "asked" and other.get("additionalProperties", True) is False:
            if one.get("additionalProperties", True) is not False and one.get("type") == "object":
                yield f"{at}: further fields are refused now"
            yield from (
                f"{at}/{name}: is taken no more" for name in one.get("properties", {}) if not _has(other, name)
            )
        for name in one.get("properties", {}):
            if _has(other, name):
                here = wide.at(one["properties"][name]), narrow.at(other["properties"][name])
                yield from self._inside(*here, f"{at}/{name}")
        if isinstance(one.get("additionalProperties"), dict) and isinstance(other.get("additionalProperties"), dict):
            yield from self._inside(
                wide.at(one["additionalProperties"]), narrow.at(other["additionalProperties"]), f"{at}/*"
            )

    def _inside(self, wide: Side, narrow: Side, at: str) -> Iterator[str]:
        old, new = (wide, narrow) if self.way == "asked" else (narrow, wide)
        yield from self.breaks(old, new, at)


def _has(schema: Schema, name: str) -> bool:
    return name in schema.get("properties", {})


def _alternatives(schema: Schema) -> list[Schema]:
    return schema.get("oneOf") or schema.get("anyOf") or []


def _of_one_value(wide: Schema, narrow: Schema, way: Way) -> Iterator[str]:
    """What the keywords about a single value say: its type, its words, its form, its bounds."""
    before, after = (wide, narrow) if way == "asked" else (narrow, wide)
    news = "taken no more" if way == "asked" else "answered now"
    if lost := sorted(_types(wide) - _types(narrow)):
        yield f"{' or '.join(lost)} is {news}"
    if "enum" in narrow:
        words = [repr(value) for value in wide.get("enum", ["anything"]) if value not in narrow["enum"]]
        if words:
            yield f"{', '.join(words)} is {news}"
    for keyword in _THE_SAME:
        if keyword in narrow and wide.get(keyword) != narrow[keyword]:
            yield f"{keyword} was {before.get(keyword)!r} and is {after.get(keyword)!r}"
    for keyword in (*_AT_LEAST, *_AT_MOST):
        if keyword in narrow and _further(keyword, wide.get(keyword), narrow[keyword]):
            yield f"{keyword} was {before.get(keyword)} and is {after.get(keyword)}"
    if narrow.get("uniqueItems") and not wide.get("uniqueItems"):
        yield f"an item that repeats is {news}"


def _types(schema: Schema) -> set[str]:
    """The types that a schema names; a whole number is a number."""
    named = schema.get("type", ["array", "boolean", "integer", "null", "number", "object", "string"])
    types = {named} if isinstance(named, str) else set(named)
    return types | ({"integer"} if "number" in types else set())


def _further(keyword: str, wide: float | None, narrow: float) -> bool:
    return wide is None or (wide < narrow if keyword in _AT_LEAST else wide > narrow)


def _name(schema: Schema) -> str:
    return str(schema.get("$ref", schema.get("title", schema.get("type", "it")))).rpartition("/")[2]
