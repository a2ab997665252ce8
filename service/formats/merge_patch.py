"""JSON merge patch (RFC 7396, media type ``application/merge-patch+json``): a change written as what it changes."""

from typing import TypeAlias

Json: TypeAlias = "dict[str, Json] | list[Json] | str | int | float | bool | None"

MEDIA_TYPE = "application/merge-patch+json"
#: No body of this service goes deeper than a dozen levels; what does is meant to exhaust whoever reads it.
MOST_LEVELS = 64


class TooDeep(ValueError):
    """The patch has more levels than any body here; the message says how many are read."""


def merged(target: Json, patch: Json) -> Json:
    """``target`` as ``patch`` wants it; neither is changed.

    Members of an object are merged, ``null`` takes one away, anything else replaces what was there, and a list is
    replaced whole (RFC 7396, section 2).

    :raises TooDeep: for a patch of more than ``MOST_LEVELS`` levels.
    """
    return _merged(target, patch, MOST_LEVELS)


def _merged(target: Json, patch: Json, levels: int) -> Json:
    if not isinstance(patch, dict):
        return patch
    if levels == 0:
        raise TooDeep(f"The patch has more than {MOST_LEVELS} levels; no body here goes so deep.")
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = _merged(result.get(name), value, levels - 1)
    return result
