"""One value, one text: the bytes that are hashed, by the JSON Canonicalization Scheme (RFC 8785).

Anybody can write the same bytes again in any language. We keep to a part of it that cannot go wrong: objects with
ASCII names, lists, text, whole numbers that fit in a double, true, false and null. There are no floats.
"""

import json
from dataclasses import Field, fields, is_dataclass
from datetime import date
from enum import Enum
from fractions import Fraction
from typing import TypeAlias

Plain: TypeAlias = "bool | int | str | list[Plain] | dict[str, Plain] | None"
#: The largest whole number that every reader of JSON holds exactly (RFC 7493, 2.2; RFC 8785, 3.2.2.3).
LARGEST = 2**53 - 1


class NotCanonical(ValueError):
    """A value that has no canonical text, or a text that is not canonical."""


def canonical(value: Plain) -> bytes:
    """The canonical text of a value, as UTF-8.

    :raises NotCanonical: for floats, numbers beyond 2^53 - 1, names beyond ASCII and text that is no Unicode.
    """
    _check(value)
    try:
        return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()
    except UnicodeEncodeError as error:
        raise NotCanonical("The text holds half a character (a lone surrogate).") from error


def read(text: bytes) -> Plain:
    """The value of a canonical text.

    :raises NotCanonical: when it is none: not JSON, or the same value written otherwise.
    """
    try:
        value: Plain = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NotCanonical("The text is not JSON.") from error
    if canonical(value) != text:
        raise NotCanonical("The text is not written in the canonical way.")
    return value


def _check(value: Plain) -> None:
    match value:
        case None | bool() | str():
            pass
        case int():
            if abs(value) > LARGEST:
                raise NotCanonical(f"{value} is too large to be read the same everywhere.")
        case list():
            for item in value:
                _check(item)
        case dict():
            _check_names(value)
            for item in value.values():
                _check(item)
        case _:
            raise NotCanonical(f"{value!r} has no canonical text.")


def _check_names(value: dict[str, Plain]) -> None:
    if not all(isinstance(name, str) and name.isascii() for name in value):
        raise NotCanonical("Names in the text are ASCII.")


def plain(value: object) -> Plain:
    """A value as plain data. What is None or empty is left out, so that new fields change no old text; but where None
    says that nobody told, empty says that there is none, and stays.
    """
    match value:
        case Enum():
            return plain(value.value)
        case None | bool() | int() | str():
            return value
        case date():
            return value.isoformat()
        case Fraction():
            return f"{value.numerator}/{value.denominator}"
        case frozenset():
            return [*sorted(str(plain(item)) for item in value)]
        case tuple():
            return [plain(item) for item in value]
    if is_dataclass(value):
        said = ((field, plain(getattr(value, field.name))) for field in fields(value))
        return {field.name: item for field, item in said if item is not None and not _is_bare(field, item)}
    raise NotCanonical(f"{value!r} has no canonical text.")


def _is_bare(field: Field[object], item: Plain) -> bool:
    return item in ("", []) and field.default is not None
