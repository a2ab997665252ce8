"""The trade's drawer styles, each size against the page it was printed on."""

import pytest

from service.core.handbook import NotInHandbook, drawer_style, drawer_styles, figure
from service.core.measure.dimension import Dimension, Grade, KnownAs, Size
from service.core.measure.lengths import parse_length


def printed(size: Size) -> list[int | None]:
    """The three lengths, the two of the plan in either order, since sources do not say which is the front."""
    plan = [None if axis is None else axis.value_nm for axis in (size.width, size.depth)]
    return [
        *sorted(plan, key=lambda nm: -1 if nm is None else nm),
        None if size.height is None else size.height.value_nm,
    ]


def lengths(*written: str) -> list[int]:
    return [parse_length(text) for text in written]


def dimensions(size: Size) -> list[Dimension]:
    return [axis for axis in (size.width, size.depth, size.height) if axis is not None]


@pytest.mark.parametrize(
    ("code", "face", "size", "where_it_is_printed"),
    [
        (
            "cornell",
            "outer",
            ("16 1/2 in", "19 in", "3 in"),
            "Cornell University Insect Collection, The Cornell Drawer",
        ),
        ("cornell", "outer", ("419.1 mm", "482.6 mm", "76.2 mm"), "Mississippi State University Extension, in mm"),
        ("usnm", "outer", ("18 in", "18 in", "3 in"), "New York State Museum Bulletin, p. 22"),
        ("carnegie-holland", "outer", ("17 in", "23 in", "2 3/8 in"), "Holland 1898, The Butterfly Book"),
        ("carnegie-holland", "inner", ("16 in", "22 in", "2 in"), "Holland 1898, The Butterfly Book"),
        ("cornell-nature-study", "outer", ("16 in", "18 in", "3 in"), "Cornell Nature-Study Leaflets, pp. 131-132"),
        ("british-1884-first", "unspecified", ("419.1 mm", "469.9 mm", "63.5 mm"), "Browne 1884, p. 158"),
        ("british-1884-second", "unspecified", ("18 in", "20 in", "2 1/2 in"), "Browne 1884, p. 158"),
        ("foster-scientist", "outer", ("16 in", "22 in", "2 in"), "Foster, Carpentry and Woodwork, p. 217"),
        ("riley-box", "inner", ("12 in", "16 in", "2 1/2 in"), "Riley 1892, USNM Bulletin 39 F"),
    ],
)
def test_a_style_has_the_size_that_was_printed(
    code: str, face: str, size: tuple[str, str, str], where_it_is_printed: str
) -> None:
    found: Size = getattr(drawer_style(code), face)
    assert printed(found) == lengths(*size), where_it_is_printed
    assert {axis.grade for axis in dimensions(found)} == {Grade.PUBLISHED}


@pytest.mark.parametrize(
    ("code", "plan", "where_it_is_printed"),
    [
        ("munich", ("42 cm", "51 cm"), "Schmidt, Balke & Lafogler 2012, ZooKeys 209: 183-191"),
        ("french-large", ("40 cm", "50 cm"), "French lepidopterists' manual"),
        ("french-standard", ("26 cm", "39 cm"), "French lepidopterists' manual"),
        ("french-half", ("19 cm", "26 cm"), "French lepidopterists' manual"),
    ],
)
def test_a_style_without_a_printed_height_has_no_published_height(
    code: str, plan: tuple[str, str], where_it_is_printed: str
) -> None:
    outer = drawer_style(code).outer
    assert printed(outer)[:2] == lengths(*plan), where_it_is_printed
    assert outer.height is None or outer.height.is_from_memory


def test_the_extra_high_drawer_has_heights_and_nothing_else() -> None:
    """Milwaukee Public Museum, Lepidoptera Storage Procedure: 11 cm high with the lid, 9 cm in the bottom part."""
    style = drawer_style("milwaukee-extra-high")
    assert [axis.value_nm for axis in dimensions(style.outer)] == lengths("110 mm")
    assert [axis.value_nm for axis in dimensions(style.inner)] == lengths("90 mm")


def test_the_inside_of_a_riley_drawer_is_an_inch_and_a_half_narrower_than_its_outside() -> None:
    """New York State Museum Bulletin, p. 22: a 3/8 in side, 1/4 in gap and 1/8 in lining on both sides."""
    usnm = drawer_style("usnm")
    assert usnm.outer.width is not None
    assert usnm.inner.width is not None
    assert usnm.outer.width.value_nm - usnm.inner.width.value_nm == 2 * sum(lengths("3/8 in", "1/4 in", "1/8 in"))
    assert usnm.inner.width.value_nm == parse_length("419.1 mm")


def test_inner_and_outer_differ_by_no_one_constant() -> None:
    """25.4 mm in the Carnegie drawer (Holland 1898), 38.1 mm in the Riley drawer (New York State Museum Bulletin)."""
    walls = {
        code: figure(f"{code}.outer.width").nm - figure(f"{code}.inner.width").nm
        for code in ("carnegie-holland", "usnm")
    }
    assert walls == {"carnegie-holland": 25_400_000, "usnm": 38_100_000}


def test_the_remembered_cornell_size_stands_beside_the_published_one() -> None:
    """Published: 19 × 16 1/2 in (Cornell University). From memory: 18 7/8 × 16 5/8 in, 1/8 in off, opposite signs."""
    published, remembered = drawer_style("cornell").outer, drawer_style("cornell-alternative").outer
    apart = [
        b - a for a, b in zip(printed(published), printed(remembered), strict=True) if a is not None and b is not None
    ]
    assert apart == [parse_length("1/8 in"), -parse_length("1/8 in"), 0]
    assert all(axis.is_from_memory for axis in dimensions(remembered))


@pytest.mark.parametrize("code", ["cas", "cornell-alternative", "german-50", "german-40"])
def test_a_style_known_from_memory_says_so_in_every_dimension(code: str) -> None:
    style = drawer_style(code)
    assert all(axis.is_from_memory for axis in dimensions(style.outer))
    assert dimensions(style.inner) == []


@pytest.mark.parametrize("code", ["cornell", "cas"])
def test_an_inner_size_that_nobody_published_is_unknown(code: str) -> None:
    assert drawer_style(code).inner == Size()


@pytest.mark.parametrize("code", ["british-1884-first", "british-1884-second"])
def test_a_size_printed_without_saying_inner_or_outer_is_taken_for_neither(code: str) -> None:
    style = drawer_style(code)
    assert style.outer == style.inner == Size()
    assert "whether the size is inner or outer" in style.notes


def test_a_remembered_range_keeps_both_its_ends() -> None:
    """From memory (Riley 1892): 2 to 2 5/16 in inside height."""
    height = drawer_style("usnm").inner.height
    assert height is not None
    assert [height.smallest_nm, height.largest_nm] == lengths("2 in", "2 5/16 in")
    assert (height.as_written, height.grade) == ("2 to 2 5/16 in", Grade.FROM_MEMORY)


def test_a_dimension_remembers_which_figure_of_the_handbook_it_is() -> None:
    width = drawer_style("cornell").outer.width
    assert width is not None
    assert (width.figure, width.as_written, width.known_as) == ("cornell.outer.width", "19 in", KnownAs.HANDBOOK)
    assert width.source == figure("cornell.outer.width").source
    assert width.source is not None
    assert "The Cornell Drawer" in width.source


def test_every_dimension_of_every_style_is_a_figure_of_the_handbook() -> None:
    known = [
        axis
        for style in drawer_styles()
        for face in (style.outer, style.inner, style.unspecified)
        for axis in dimensions(face)
    ]
    assert known
    assert all(axis.figure and figure(axis.figure).nm == axis.value_nm for axis in known)


def test_a_style_says_when_its_source_does_not_tell_front_from_side() -> None:
    square_or_heights_only = {"usnm", "milwaukee-extra-high"}
    silent = {style.code for style in drawer_styles() if "Orientation not stated" not in style.notes}
    assert silent == square_or_heights_only


def test_an_unknown_style_is_answered_with_the_styles_there_are() -> None:
    with pytest.raises(NotInHandbook, match=r"no drawer style “hill-unit”; it has .*cornell.*usnm"):
        drawer_style("hill-unit")
