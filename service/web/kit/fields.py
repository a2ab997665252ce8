"""Fields that accept exactly what their JSON Schema says, nothing more.

Each field reads JSON (``read``), writes JSON (``write``) and describes itself (``shape``). Text from a query string
goes through ``from_text`` first, so the same field serves a body and a query.
"""

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any
from uuid import UUID

from marshmallow import ValidationError, fields

#: The largest whole number that every client reads exactly (RFC 8259, section 6): 2 to the power 53, less one.
LARGEST_INT = 2**53 - 1
#: How many items a list may have where nothing smaller is said.
LONGEST_LIST = 1_000
LONGEST_CODE = 64

MISSING = "This is required."
NULL = "null is not taken here; leave the field out when the value is not known."

ANY_TEXT = r"^[^\x00]*$"
CODE = r"^[A-Za-z0-9][A-Za-z0-9._-]*$"
UUID_WRITTEN = r"^[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}$"
DATE_WRITTEN = r"^[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"
INSTANT_WRITTEN = (
    r"^[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])T([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
    r"(\.[0-9]{1,6})?(Z|[+-]([01][0-9]|2[0-3]):[0-5][0-9])$"
)

Shape = dict[str, Any]


def matches(pattern: str, text: str) -> bool:
    """Whether the whole text has the pattern. Python's ``$`` also stands before a last line feed; ECMA's does not."""
    return re.fullmatch(pattern.removeprefix("^").removesuffix("$"), text) is not None


class Field(fields.Field[Any]):
    """What the fields of this module have in common."""

    default_error_messages = {"required": MISSING, "null": NULL, "validator_failed": "This value is not accepted."}  # noqa: RUF012

    def read(self, value: Any) -> Any:
        """The value behind a piece of JSON.

        :raises ValidationError: with a sentence for the person who wrote it.
        """
        raise NotImplementedError

    def write(self, value: Any) -> Any:
        """The JSON for a value."""
        return value

    def from_text(self, text: str) -> Any:
        """The JSON that a piece of a query string stands for; text that stands for nothing comes back unread."""
        return text

    def shape(self) -> Shape:
        """The JSON Schema of what this field accepts."""
        raise NotImplementedError

    def answer_shape(self) -> Shape:
        """The JSON Schema of what this field answers."""
        return self.shape()

    def _deserialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return self.read(value)

    def _serialize(self, value: Any, *_: Any, **__: Any) -> Any:
        return None if value is None else self.write(value)


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValidationError("Write this as text, in quotation marks.")
    return value


class Text(Field):
    """Words. A null character and half a surrogate pair are refused: no database column can hold them.

    ``pattern`` narrows the form; ``like`` is then the example that a refusal shows.
    """

    def __init__(
        self, *, max_length: int, min_length: int = 1, pattern: str = ANY_TEXT, like: str = "", **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.min_length, self.max_length, self.pattern, self.like = min_length, max_length, pattern, like

    def read(self, value: Any) -> str:
        text = _text(value)
        if not self.min_length <= len(text) <= self.max_length:
            raise ValidationError(f"This has {len(text)} characters; write {self.min_length} to {self.max_length}.")
        if "\x00" in text or any("\ud800" <= character <= "\udfff" for character in text):
            raise ValidationError("This contains a character that is no text (a null or half a surrogate pair).")
        if self.pattern != ANY_TEXT and not matches(self.pattern, text):
            raise ValidationError(f"Write {self.like}.")
        return text

    def shape(self) -> Shape:
        return {
            "type": "string",
            "minLength": self.min_length,
            "maxLength": self.max_length,
            "pattern": self.pattern,
        }


class Code(Field):
    """A name for machines and URLs, such as ``NHMX`` or ``cornell-24``."""

    def __init__(self, *, max_length: int = LONGEST_CODE, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.max_length = max_length

    def read(self, value: Any) -> str:
        text = _text(value)
        if len(text) > self.max_length or not matches(CODE, text):
            raise ValidationError(
                f"A code is 1 to {self.max_length} letters, digits, dots, hyphens and underscores, and begins with a "
                "letter or a digit."
            )
        return text

    def shape(self) -> Shape:
        return {"type": "string", "minLength": 1, "maxLength": self.max_length, "pattern": CODE}


class Int(Field):
    """A whole number within bounds. ``3.0`` is one, as JSON Schema has it."""

    def __init__(self, *, min: int, max: int = LARGEST_INT, **kwargs: Any) -> None:  # noqa: A002
        super().__init__(**kwargs)
        self.min, self.max = min, max

    def read(self, value: Any) -> int:
        is_whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        if isinstance(value, bool) or not is_whole:
            raise ValidationError("Write a whole number, without quotation marks.")
        if not self.min <= value <= self.max:
            raise ValidationError(f"{value} is outside {self.min} to {self.max}.")
        return int(value)

    def from_text(self, text: str) -> int | str:
        return int(text) if len(text) < 20 and re.fullmatch(r"-?[0-9]+", text) else text

    def shape(self) -> Shape:
        return {"type": "integer", "minimum": self.min, "maximum": self.max}


class Number(Field):
    """A finite number within bounds."""

    def __init__(self, *, min: float, max: float, **kwargs: Any) -> None:  # noqa: A002
        super().__init__(**kwargs)
        self.min, self.max = min, max

    def read(self, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError("Write a number, without quotation marks.")
        if not self.min <= value <= self.max:
            raise ValidationError(f"{value} is outside {self.min:g} to {self.max:g}.")
        return float(value)

    def from_text(self, text: str) -> float | str:
        return float(text) if len(text) < 40 and re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text) else text

    def shape(self) -> Shape:
        return {"type": "number", "minimum": self.min, "maximum": self.max}


class Amount(Field):
    """A decimal that must not be rounded on its way: money, a percentage. It travels as text: "12.50"."""

    def __init__(self, *, whole_digits: int = 9, decimals: int = 2, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.whole_digits, self.decimals = whole_digits, decimals

    @property
    def pattern(self) -> str:
        fraction = rf"(\.[0-9]{{1,{self.decimals}}})?" if self.decimals else ""
        return rf"^(0|[1-9][0-9]{{0,{self.whole_digits - 1}}}){fraction}$"

    def read(self, value: Any) -> Decimal:
        if not isinstance(value, str) or not matches(self.pattern, value):
            raise ValidationError(
                f'Write a decimal in quotation marks, such as "12.5": at most {self.whole_digits} digits before the '
                f"point and {self.decimals} after it, no sign."
            )
        return Decimal(value)

    def write(self, value: Decimal) -> str:
        return format(value, "f")

    def shape(self) -> Shape:
        return {"type": "string", "pattern": self.pattern, "maxLength": self.whole_digits + self.decimals + 1}


class Flag(Field):
    """True or false, and no other way of saying so."""

    def read(self, value: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError("Write true or false, without quotation marks.")
        return value

    def from_text(self, text: str) -> bool | str:
        return {"true": True, "false": False}.get(text, text)

    def shape(self) -> Shape:
        return {"type": "boolean"}


class Choice(Field):
    """One word of an enumeration."""

    def __init__(self, words: type[StrEnum], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.words = words

    def read(self, value: Any) -> StrEnum:
        if not isinstance(value, str) or value not in list(self.words):
            raise ValidationError(f"Write one of {', '.join(self.words)}.")
        return self.words(value)

    def write(self, value: str) -> str:
        return self.words(value).value

    def shape(self) -> Shape:
        return {"type": "string", "enum": [word.value for word in self.words]}


class Date(Field):
    """A calendar day, ``YYYY-MM-DD``, from the year 1 to 9999."""

    def read(self, value: Any) -> date:
        try:
            if isinstance(value, str) and matches(DATE_WRITTEN, value):
                return date.fromisoformat(value)
        except ValueError:
            pass
        raise ValidationError("Write a day of the calendar as YYYY-MM-DD, such as 2026-11-25.")

    def write(self, value: date) -> str:
        return value.isoformat()

    def shape(self) -> Shape:
        return {"type": "string", "format": "date", "pattern": DATE_WRITTEN, "maxLength": 10}


class Instant(Field):
    """A moment with its offset from UTC (RFC 3339). Answers are in UTC with a ``Z``."""

    def read(self, value: Any) -> datetime:
        try:
            if isinstance(value, str) and matches(INSTANT_WRITTEN, value):
                return datetime.fromisoformat(value).astimezone(UTC)
        except (ValueError, OverflowError):
            pass
        raise ValidationError("Write a moment with its offset, such as 2026-11-25T09:30:00Z.")

    def write(self, value: datetime) -> str:
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")

    def shape(self) -> Shape:
        return {"type": "string", "format": "date-time", "pattern": INSTANT_WRITTEN, "maxLength": 32}


class Uuid(Field):
    """An identifier of ours, with its hyphens."""

    def read(self, value: Any) -> UUID:
        if not isinstance(value, str) or not matches(UUID_WRITTEN, value):
            raise ValidationError("Write a UUID, such as 0190f3a0-6b1e-7c55-9a44-3f2f6d1f0c11.")
        return UUID(value)

    def write(self, value: UUID) -> str:
        return str(value)

    def shape(self) -> Shape:
        return {"type": "string", "format": "uuid", "pattern": UUID_WRITTEN, "maxLength": 36}


class List(fields.List[Any]):
    """Like things in order; read as a tuple, so that what is made of it can stay frozen."""

    default_error_messages = {"required": MISSING, "null": NULL, "invalid": "Write a list, in square brackets."}  # noqa: RUF012

    def __init__(
        self, item: Any, *, max_items: int = LONGEST_LIST, min_items: int = 0, unique: bool = False, **kwargs: Any
    ) -> None:
        super().__init__(item, **kwargs)
        self.min_items, self.max_items, self.unique = min_items, max_items, unique

    def _deserialize(self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any) -> Any:
        if not isinstance(value, list):
            raise self.make_error("invalid")
        if not self.min_items <= len(value) <= self.max_items:
            raise ValidationError(f"This has {len(value)} items; {self.min_items} to {self.max_items} are taken.")
        items = tuple(super()._deserialize(value, attr, data, **kwargs))
        if self.unique and any(item in items[:place] for place, item in enumerate(items)):
            raise ValidationError("Name each item once.")
        return items

    def shape(self) -> Shape:
        return {"minItems": self.min_items, "maxItems": self.max_items} | (
            {"uniqueItems": True} if self.unique else {}
        )


class Nested(fields.Nested):
    """One thing inside another."""

    default_error_messages = {"required": MISSING, "null": NULL, "type": "Write an object, in curly brackets."}  # noqa: RUF012
