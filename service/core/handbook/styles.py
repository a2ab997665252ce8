"""The trade's drawer styles, each dimension with its own source and grade."""

from collections.abc import Mapping
from functools import cache

from service.core.handbook.entries import DrawerStyle, Figure, HandbookFault
from service.core.handbook.loader import Row, found, refuse_strangers, required, table
from service.core.handbook.written import read_figure
from service.core.measure.dimension import Size

_FACES = ("outer", "inner", "unspecified")
_AXES = ("width", "depth", "height")


@cache
def style_figures() -> Mapping[str, Figure]:
    """Every dimension of every style, by keys such as ``cornell.outer.width``."""
    return {
        (key := f"{code}.{face}.{axis}"): read_figure(row[face][axis], key)
        for code, row in table("drawer_styles").items()
        for face in _FACES
        for axis in _AXES
        if axis in row.get(face, {})
    }


@cache
def _styles() -> Mapping[str, DrawerStyle]:
    return {code: _style(code, row) for code, row in table("drawer_styles").items()}


def _style(code: str, row: Row) -> DrawerStyle:
    refuse_strangers(row, frozenset({"name", "note", *_FACES}), code)
    for face in _FACES:
        refuse_strangers(row.get(face, {}), frozenset(_AXES), f"{code}.{face}")
    outer, inner, unspecified = (_size(code, face) for face in _FACES)
    if outer == inner == unspecified == Size():
        raise HandbookFault(f"{code} has no dimension at all.")
    return DrawerStyle(code, required(row, "name", code), outer, inner, required(row, "note", code), unspecified)


def _size(code: str, face: str) -> Size:
    known = {axis: style_figures().get(f"{code}.{face}.{axis}") for axis in _AXES}
    return Size(**{axis: figure.as_dimension() for axis, figure in known.items() if figure is not None})


def drawer_styles() -> tuple[DrawerStyle, ...]:
    """Every style, in the order of its table."""
    return tuple(_styles().values())


def drawer_style(code: str) -> DrawerStyle:
    """One style.

    :raises NotInHandbook: with the codes that there are.
    """
    return found(_styles(), code, "drawer style")
