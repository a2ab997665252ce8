"""What of a new contract breaks programs that were written against an old one."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from schema_breaks import Comparing, Side, Way

Json = dict[str, Any]


def breaking_changes(old: Json, new: Json, today: date) -> list[str]:
    """Every change that breaks something, in words. What was to be gone by today (``x-sunset``) breaks nothing."""
    return [*_operations(old, new, today), *_webhooks(old, new)]


def _operations(old: Json, new: Json, today: date) -> Iterator[str]:
    for path, method, described in _each(old):
        name = f"{method.upper()} {path}"
        there = new["paths"].get(path, {}).get(method)
        if there is not None:
            changes = _Operation(old, new, path, described, there)
            yield from (f"{name}: {change}" for change in changes.breaks())
        elif date.fromisoformat(described.get("x-sunset", "9999-12-31")) > today:
            yield f"{name}: is gone"


def _webhooks(old: Json, new: Json) -> Iterator[str]:
    """What the service sends of its own accord is read as an answer is."""
    for name, methods in old.get("webhooks", {}).items():
        there = new.get("webhooks", {}).get(name, {})
        for method, described in methods.items():
            if method not in there:
                yield f"webhook {name}: is gone"
                continue
            bodies = (described["requestBody"]["content"], there[method]["requestBody"]["content"])
            yield from (f"webhook {name}: {change}" for change in _bodies(old, new, "answered", *bodies))


def _each(document: Json) -> Iterator[tuple[str, str, Json]]:
    for path, methods in document["paths"].items():
        for method, described in methods.items():
            if method != "parameters":
                yield path, method, described


def _bodies(old: Json, new: Json, way: Way, before: Json, after: Json) -> Iterator[str]:
    for media, content in before.items():
        if media not in after:
            yield f"{media} is {'taken' if way == 'asked' else 'answered'} no more"
        else:
            sides = Side(content["schema"], old), Side(after[media]["schema"], new)
            yield from (f"{media} {change}" for change in Comparing(way).breaks(*sides))


class _Operation:
    """One operation before and after."""

    def __init__(self, old: Json, new: Json, path: str, before: Json, after: Json) -> None:
        self.old, self.new, self.path, self.before, self.after = old, new, path, before, after

    def breaks(self) -> Iterator[str]:
        if self.before["operationId"] != self.after["operationId"]:
            yield f"is called {self.after['operationId']} now, which renames it in generated clients"
        yield from self._key()
        yield from self._parameters()
        yield from self._body()
        yield from self._answers()

    def _key(self) -> Iterator[str]:
        """Whoever could call it still can: some new way in asks for no more than the old one."""
        for way_in in self.before.get("security", [{}]):
            if not any(_asks_no_more(other, way_in) for other in self.after.get("security", [{}])):
                yield f"asks for another key than {way_in or 'none'}"

    def _parameters(self) -> Iterator[str]:
        before = _parameters_of(self.old, self.path, self.before)
        after = _parameters_of(self.new, self.path, self.after)
        for (place, name), parameter in after.items():
            earlier = before.get((place, name), {})
            if parameter.get("required") and not earlier.get("required"):
                yield f"the {place} parameter {name} is required now"
        for (place, name), parameter in before.items():
            if (place, name) not in after:
                yield f"the {place} parameter {name} is taken no more"
                continue
            sides = Side(parameter["schema"], self.old), Side(after[place, name]["schema"], self.new)
            yield from (f"the {place} parameter {name} {change}" for change in Comparing("asked").breaks(*sides))

    def _body(self) -> Iterator[str]:
        before, after = self.before.get("requestBody", {}), self.after.get("requestBody", {})
        if after.get("required") and not before.get("required"):
            yield "a body is required now"
        yield from _bodies(self.old, self.new, "asked", before.get("content", {}), after.get("content", {}))

    def _answers(self) -> Iterator[str]:
        before, after = self.before["responses"], self.after["responses"]
        for status in sorted({*before, *after}):
            is_refusal = status >= "4"
            if status in before and status in after:
                yield from (f"{status} {change}" for change in self._answer(before[status], after[status]))
            elif not is_refusal:
                yield f"{status} is answered {'no more' if status in before else 'now'}"

    def _answer(self, before: Json, after: Json) -> Iterator[str]:
        yield from _bodies(self.old, self.new, "answered", before.get("content", {}), after.get("content", {}))
        for name, header in before.get("headers", {}).items():
            earlier, later = _header(self.old, header), _header(self.new, after.get("headers", {}).get(name))
            if later is None:
                yield f"the header {name} is answered no more"
            elif earlier.get("required") and not later.get("required"):
                yield f"the header {name} may be missing now"
            else:
                sides = Side(earlier["schema"], self.old), Side(later["schema"], self.new)
                yield from (f"the header {name} {change}" for change in Comparing("answered").breaks(*sides))


def _asks_no_more(new: Mapping[str, list[str]], old: Mapping[str, list[str]]) -> bool:
    return all(name in old and set(scopes) <= set(old[name]) for name, scopes in new.items())


def _parameters_of(document: Json, path: str, described: Json) -> dict[tuple[str, str], Json]:
    named = [*document["paths"][path].get("parameters", []), *described.get("parameters", [])]
    return {(p["in"], p["name"]): p for p in (_behind(document, "parameters", parameter) for parameter in named)}


def _header(document: Json, header: Json | None) -> Any:
    return None if header is None else _behind(document, "headers", header)


def _behind(document: Json, kind: str, part: Json) -> Json:
    """The part itself, behind its reference."""
    return document["components"][kind][part["$ref"].rpartition("/")[2]] if "$ref" in part else part
