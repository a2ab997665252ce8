"""Identifiers that others gave: a scheme, and a value within it.

Every institution has numbers of its own for what it keeps, so the schemes are open: any short name will do, and its
values are taken as they are. A scheme that is known here is held to its form, so that one thing is not kept under
two spellings.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

ROR = "ror"
LONGEST_VALUE = 500
SCHEME_FORM = re.compile(r"[a-z][a-z0-9._-]{0,49}", re.ASCII)

#: The digits of ROR ids: Crockford's base 32, which leaves out i, l, o and u.
_BASE_32 = "0123456789abcdefghjkmnpqrstvwxyz"
_ROR_FORM = re.compile(r"0[a-hj-km-np-tv-z0-9]{6}[0-9]{2}", re.ASCII)
_ROR_PREFIX = re.compile(r"(?:https?://)?(?:www\.)?ror\.org/", re.ASCII | re.IGNORECASE)


class Kind(StrEnum):
    """What can be named."""

    INSTITUTION = "institution"
    STORAGE_SYSTEM = "storage_system"
    CONSIGNMENT = "consignment"
    CONSIGNMENT_LINE = "consignment_line"
    TRANSFER = "transfer"
    LOT = "lot"
    """Named by the record that it was sent with, and by nothing else."""


class NotAnIdentifier(ValueError):
    """What was given is no identifier of its scheme; the message says what would be."""


@dataclass(frozen=True, slots=True)
class Identifier:
    """``value`` is what the scheme calls the thing, in the one spelling that ``identifier`` gives it."""

    scheme: str
    value: str


def identifier(scheme: str, value: str) -> Identifier:
    """An identifier in its one spelling: the scheme in small letters, the value without spaces around it.

    :raises NotAnIdentifier: when the scheme's name has no such form, or its value is none of a known scheme.
    """
    name = scheme.strip().lower()
    if not SCHEME_FORM.fullmatch(name):
        raise NotAnIdentifier(
            f"“{scheme[:60]}” is no name of a scheme; write 1 to 50 letters, figures, points, hyphens or underscores,"
            " beginning with a letter, such as ror."
        )
    text = value.strip()
    if not text or len(text) > LONGEST_VALUE or not text.isprintable():
        raise NotAnIdentifier(f"An identifier has 1 to {LONGEST_VALUE} printable characters.")
    return Identifier(name, KNOWN_SCHEMES.get(name, _as_it_is)(text))


def ror_check_digits(body: str) -> str:
    """The two check digits behind the seven characters of a ROR id (ISO/IEC 7064, MOD 97-10, over the number that
    the characters write in Crockford's base 32).

    :raises NotAnIdentifier: for characters that are no digits of that base.
    """
    number = 0
    for character in body.lower():
        if character not in _BASE_32:
            raise NotAnIdentifier(f"“{character}” stands in no ROR id: they leave out i, l, o and u.")
        number = number * len(_BASE_32) + _BASE_32.index(character)
    return f"{98 - number * 100 % 97:02d}"


def _as_it_is(value: str) -> str:
    return value


def _ror(value: str) -> str:
    """A ROR id as the registry writes it, a web address; its last nine characters alone are understood too."""
    characters = _ROR_PREFIX.sub("", value, count=1).rstrip("/").lower()
    if not _ROR_FORM.fullmatch(characters):
        raise NotAnIdentifier(f"“{value[:60]}” is no ROR id; they look like https://ror.org/015hz7p22.")
    expected = ror_check_digits(characters[:7])
    if characters[7:] != expected:
        raise NotAnIdentifier(f"“{value[:60]}” is mistyped: a ROR id that begins so ends in {expected}.")
    return f"https://ror.org/{characters}"


KNOWN_SCHEMES: Mapping[str, Callable[[str], str]] = MappingProxyType({ROR: _ror})
"""The schemes whose values are checked, each with what gives a value its one spelling."""
