"""JSON Schema as its own specification reads it, to hold our fields against."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker, ValidationError
from jsonschema.validators import extend


def _pattern(_: object, pattern: str, instance: object, __: object) -> Iterator[ValidationError]:
    """ECMA 262's ``$`` stands at the very end; Python's also before a last line feed."""
    if isinstance(instance, str) and not re.search(re.sub(r"\$$", r"\\Z", pattern), instance):
        yield ValidationError(f"{instance!r} does not have the pattern")


_Validator = extend(Draft202012Validator, {"pattern": _pattern})


def admits(schema: Mapping[str, Any], components: Mapping[str, Any], value: object) -> bool:
    """Whether the schema, read by a library that is not ours, admits this JSON."""
    whole = {**schema, "components": {"schemas": components}}
    return bool(_Validator(whole, format_checker=FormatChecker()).is_valid(value))
