"""Anything that somebody may have written down, for laws that hold for all of it."""

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from service.core import standards
from service.core.consignment import Closure, Container, Line, PestSigns, Pins, TrayLot
from service.core.identifiers import Identifier
from service.core.lots import Disposition, Lot
from service.core.materials import Bottom, PinMetal, PinningBottom, Treatment
from service.core.measure.dimension import Dimension, Size, ToleranceClass
from service.core.measure.lengths import parse_length
from service.core.measure.movement import Sawing
from service.core.review import larger_inside
from service.core.transfers import lines

_NASTY = st.sampled_from(["=1+1", "+49 1", "-", "@a", "'=x", "''+", '"', 'a "b", c', "a;b", "a\nb", "x\r\ny", "=\tz"])
TEXT = (st.text(st.characters(codec="utf-8", exclude_characters="\0"), min_size=1, max_size=12) | _NASTY).filter(
    lambda text: text == text.strip()
)
ITEM = TEXT.filter(lambda text: not set(text) & set(";|"))
CODE = st.from_regex(r"[a-z][a-z0-9-]{0,8}", fullmatch=True)
IDENTIFIER = st.builds(
    Identifier, st.from_regex(r"[a-z][a-z0-9._-]{0,8}", fullmatch=True).filter(lambda scheme: scheme != "ror"),
    ITEM.filter(str.isprintable),
)  # fmt: skip
COUNT = st.integers(1, 100_000)


def maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    return st.none() | strategy


def _written(text: str) -> Dimension:
    return Dimension(parse_length(text), as_written=text)


LENGTH = maybe(
    st.integers(0, 10**11).map(Dimension)
    | st.sampled_from(["16 1/2 in", "41,9 cm", "419.1 mm", '18 7/8"', "1' 4 1/2\""]).map(_written)
)
SIZE = st.builds(Size, LENGTH, LENGTH, LENGTH)
BOTTOM = maybe(
    st.builds(PinningBottom, maybe(st.sampled_from(Bottom)), LENGTH, maybe(st.booleans())).filter(
        lambda bottom: bottom != PinningBottom()
    )
)


def of(*words: Any) -> st.SearchStrategy:
    return maybe(st.sampled_from(*words))


TRAY_LOT = st.builds(TrayLot, COUNT, SIZE, LENGTH, BOTTOM, maybe(st.integers(0, 9)))
SET_POINT = st.builds(
    standards.SetPoint,
    st.integers(-3000, 5000).map(lambda hundredths: hundredths / 100),
    st.integers(0, 10_000).map(lambda hundredths: hundredths / 100),
)


@st.composite
def outer_sizes(draw: st.DrawFn) -> Size:
    """As a sheet can say them: one tolerance class for all of a line's outer lengths, or none."""
    size = draw(SIZE)
    stated = draw(maybe(st.sampled_from(ToleranceClass)))
    lengths = (size.width, size.depth, size.height)
    return Size(*(None if length is None else _of_class(length, stated) for length in lengths))


def _of_class(length: Dimension, stated: ToleranceClass | None) -> Dimension:
    return Dimension(length.value_nm, as_written=length.as_written, tolerance_class=stated)


@st.composite
def consignment_lines(draw: st.DrawFn) -> Line:
    container = draw(st.sampled_from(Container))
    trays = st.just(()) if container is Container.UNIT_TRAY else st.lists(TRAY_LOT, max_size=3).map(tuple)
    return without_slips(
        Line(
            container,
            draw(COUNT),
            draw(st.just("") | TEXT),
            draw(outer_sizes()),
            draw(SIZE),
            draw(LENGTH),
            draw(BOTTOM),
            draw(maybe(trays)),
            draw(st.builds(Pins, LENGTH, LENGTH, of(PinMetal))),
            draw(maybe(TEXT)),
            draw(maybe(st.lists(st.sampled_from(Treatment), unique=True, max_size=3).map(tuple))),
            draw(of(Closure)),
            draw(of(PestSigns)),
            draw(maybe(st.integers(10**6, 10**9))),
            draw(maybe(TEXT)),
            draw(maybe(TEXT)),
            draw(maybe(SET_POINT)),
            sawing=draw(of(Sawing)),
            identifiers=draw(maybe(st.lists(IDENTIFIER, max_size=3).map(tuple))),
        )
    )


def without_slips(line: Line) -> Line:
    """The line without what the service would send back: larger inside than outside, pins deeper than long."""
    length, depth = line.pins.length, line.pins.depth
    if length is not None and depth is not None and depth.value_nm > length.value_nm:
        line = replace(line, pins=replace(line.pins, depth=None))
    return replace(line, inner=Size()) if any(larger_inside("", line.outer, line.inner)) else line


CABINET = st.builds(
    standards.Cabinet,
    CODE, TEXT, COUNT, st.integers(1, 20), SIZE, LENGTH, maybe(st.integers(1, 500)), of(standards.Support), LENGTH,
    maybe(st.booleans()), of(standards.Doorway), LENGTH, LENGTH, maybe(CODE), maybe(COUNT), maybe(TEXT),
)  # fmt: skip
DRAWER = st.builds(
    standards.DrawerStandard,
    CODE, TEXT, SIZE, SIZE, BOTTOM, maybe(TEXT),
    maybe(st.lists(st.sampled_from(standards.Axis), unique=True).map(tuple)), maybe(CODE), of(Sawing),
)  # fmt: skip
TRAY = st.builds(standards.TrayStandard, CODE, TEXT, SIZE, SIZE, LENGTH, BOTTOM)
SERIES = st.builds(
    standards.TraySeries,
    CODE, TEXT, st.lists(TRAY, min_size=1, max_size=3).map(tuple),
    maybe(st.integers(0, 10**8)), st.booleans(),
)  # fmt: skip
ITEMS = st.lists(ITEM, max_size=3).map(tuple)
TRANSFER_LINE = st.builds(
    lines.Line,
    CODE, COUNT, maybe(TEXT), st.sampled_from(lines.Counted), ITEMS, of(lines.Preparation), of(lines.TypeStatus),
    of(Container), maybe(COUNT), of(lines.Condition), st.just("") | TEXT, ITEMS, ITEMS, maybe(CODE), maybe(COUNT),
)  # fmt: skip
LOT = st.builds(
    Lot, TRANSFER_LINE, st.just("") | TEXT, maybe(TEXT), maybe(TEXT), maybe(TEXT), maybe(TEXT), of(Disposition)
)
