"""Between the frozen dataclasses and the JSON that is stored.

What is stored must mean the same in ten years: a fact that is not known is left out, so that a field added later
changes no old digest; a Decimal is a string, so that 1.50 stays 1.50; and a key or a type that the dataclass does not
have is refused and never guessed at.
"""

import hashlib
import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from enum import IntEnum, StrEnum
from fractions import Fraction
from typing import Any, TypeVar, get_args, get_origin
from uuid import UUID

from cattrs import Converter
from cattrs.errors import ForbiddenExtraKeysError
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

T = TypeVar("T")
Json = dict[str, Any]


class NotReadable(ValueError):
    """Stored JSON does not have the shape that is being read from it."""


def to_json(value: object) -> Json:
    """A dataclass as a dictionary that JSON can carry."""
    plain: Json = _converter.unstructure(value)
    return plain


def from_json(kind: type[T], stored: Json) -> T:
    """The dataclass ``kind`` that :func:`to_json` made ``stored`` from.

    :raises NotReadable: when a key is missing or unknown, or a value has another type.
    """
    try:
        return _converter.structure(stored, kind)
    except (ForbiddenExtraKeysError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise NotReadable(f"This is not a stored {kind.__name__}.") from error


def canonical(value: object) -> bytes:
    """The one spelling of a value as JSON in UTF-8: keys in order, no spaces."""
    return json.dumps(
        to_json(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    ).encode()


def sha256(value: object) -> str:
    """The SHA-256 of :func:`canonical`, in hexadecimal."""
    return hashlib.sha256(canonical(value)).hexdigest()


def _plain(kind: type, *also: type) -> Callable[[Any, Any], Any]:
    """Takes values of exactly this type: True is no whole number, and "3" is not one either."""

    def take(value: Any, _kind: Any) -> Any:
        if type(value) is not kind and type(value) not in also:
            raise TypeError(f"{value!r} is not {kind.__name__}")
        return kind(value)

    return take


def _decimal(value: Any, _kind: Any) -> Decimal:
    try:
        number = Decimal(value) if isinstance(value, str) else Decimal("nan")
    except InvalidOperation as error:
        raise TypeError(f"{value!r} is not a decimal number") from error
    if not number.is_finite():
        raise TypeError(f"{value!r} is not a decimal number in a string")
    return number


def _uuid(value: Any, _kind: Any) -> UUID:
    return UUID(_plain(str)(value, str))


def _list_as_tuple(kind: Any) -> Callable[[Any, Any], tuple[Any, ...]]:
    """Reads ``tuple[member, ...]``. The member's reader is looked up once, since readings come by the hundred."""
    member = get_args(kind)[0]
    read = _converter.get_structure_hook(member)

    def take(value: Any, _kind: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise TypeError(f"{value!r} is not a list")
        return tuple([read(each, member) for each in value])

    return take


def _unstructure_fields(kind: type) -> Callable[[Any], Json]:
    unknown = {field.name: override(omit_if_default=True) for field in fields(kind) if field.default is None}
    return make_dict_unstructure_fn(kind, _converter, **unknown)  # type: ignore[arg-type]


def _structure_fields(kind: type) -> Callable[[Any, Any], Any]:
    return make_dict_structure_fn(kind, _converter, _cattrs_forbid_extra_keys=True)


def _read_fraction(value: Any, _kind: Any) -> Fraction:
    return Fraction(_plain(str)(value, str))


def _read_day(value: Any, _kind: Any) -> date:
    return date.fromisoformat(_plain(str)(value, str))


def _read_moment(value: Any, _kind: Any) -> datetime:
    moment = datetime.fromisoformat(_plain(str)(value, str))
    if moment.tzinfo is None:
        raise TypeError(f"{value!r} has no offset")
    return moment


def _list_as_set(kind: Any) -> Callable[[Any, Any], frozenset[Any]]:
    as_tuple = _list_as_tuple(kind)
    return lambda value, _kind: frozenset(as_tuple(value, _kind))


def _sorted_members(members: frozenset[Any]) -> list[Any]:
    return sorted(_converter.unstructure(member) for member in members)


def _is_set(kind: Any) -> bool:
    return get_origin(kind) is frozenset


def _is_sequence(kind: Any) -> bool:
    return get_origin(kind) is tuple


_converter = Converter(detailed_validation=False, unstruct_collection_overrides={tuple: list})
_converter.register_structure_hook(int, _plain(int))
_converter.register_structure_hook(bool, _plain(bool))
_converter.register_structure_hook(str, _plain(str))
_converter.register_structure_hook(StrEnum, lambda value, kind: kind(value))
# PostgreSQL hands 20.0 back as 20 where it was written so, which is the same number.
_converter.register_structure_hook(float, _plain(float, int))
# PostgreSQL knows no zero below zero, and adding one to the other makes it the usual one.
_converter.register_unstructure_hook(float, lambda number: number + 0.0)
_converter.register_structure_hook(Decimal, _decimal)
_converter.register_unstructure_hook(Decimal, str)
_converter.register_unstructure_hook(StrEnum, lambda word: word.value)
_converter.register_structure_hook(IntEnum, lambda value, kind: kind(_plain(int)(value, int)))
_converter.register_unstructure_hook(IntEnum, lambda step: step.value)
_converter.register_structure_hook(Fraction, _read_fraction)
_converter.register_unstructure_hook(Fraction, lambda share: f"{share.numerator}/{share.denominator}")
_converter.register_structure_hook(date, _read_day)
_converter.register_unstructure_hook(date, lambda day: day.isoformat())
_converter.register_structure_hook(datetime, _read_moment)
_converter.register_unstructure_hook(datetime, lambda moment: moment.isoformat())
_converter.register_structure_hook_factory(_is_set, _list_as_set)
_converter.register_unstructure_hook_factory(_is_set, lambda _kind: _sorted_members)
_converter.register_structure_hook_factory(_is_sequence, _list_as_tuple)
_converter.register_unstructure_hook_factory(is_dataclass, _unstructure_fields)
_converter.register_structure_hook_factory(is_dataclass, _structure_fields)
_converter.register_structure_hook(UUID, _uuid)
_converter.register_unstructure_hook(UUID, str)
