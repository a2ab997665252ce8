"""Columns that several sheets have."""

from service.formats.cells import read_flag, read_length, read_word
from service.formats.sheet_rows import Column

SIZE = "millimetres, or a measure with its unit (16 1/2 in, 41.9 cm)"
_AXES = {"width": "side to side", "depth": "front to back", "height": "how high"}


def size_columns(prefix: str, path: tuple[str, ...], called: str) -> tuple[Column, ...]:
    """Width, depth and height of a thing."""
    return tuple(
        Column(f"{prefix}_{axis}_mm", (*path, axis), read_length, f"{called}, {way}: {SIZE}")
        for axis, way in _AXES.items()
    )


def bottom_columns(prefix: str, path: tuple[str, ...]) -> tuple[Column, ...]:
    """The material that pins go into."""
    return (
        Column(prefix, (*path, "material"), read_word, "pinning bottom: polyethylene_foam, cork, ..."),
        Column(f"{prefix}_thickness_mm", (*path, "thickness"), read_length, "its thickness"),
        Column(f"{prefix}_glued_firmly", (*path, "glued_firmly"), read_flag, "yes or no"),
    )
