"""Lengths, as people write them and as whole nanometres.

The factor is the definition: one inch is 25.4 mm (international yard and pound agreement, 1959). The worked
examples are that definition times the sizes that drawers are printed in.
"""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measure.lengths import (
    LONGEST_NM,
    NM_PER_INCH,
    NM_PER_MM,
    NotALength,
    length_from_mm,
    parse_length,
    to_mm,
    written_inches,
    written_mm,
)

NM_PER_SIXTY_FOURTH = 396_875
SIXTY_FOURTHS = st.integers(0, LONGEST_NM // NM_PER_SIXTY_FOURTH)
NANOMETRES = st.integers(0, LONGEST_NM)

EXACT = [
    ("3", "76.2"),
    ("16 1/2", "419.1"),
    ("17", "431.8"),
    ("18", "457.2"),
    ("19", "482.6"),
    ("2 1/2", "63.5"),
    ("1/4", "6.35"),
    ("5/16", "7.9375"),
    ("2 3/8", "60.325"),
]


@pytest.mark.parametrize(("inches", "mm"), EXACT)
def test_an_inch_is_25_point_4_mm_exactly(inches: str, mm: str) -> None:
    assert parse_length(f"{inches} in") == Decimal(mm) * NM_PER_MM


@pytest.mark.parametrize(("inches", "mm"), EXACT)
def test_what_was_read_in_inches_is_written_in_inches_again(inches: str, mm: str) -> None:
    assert written_inches(parse_length(f"{mm} mm")) == f"{inches} in"


def test_a_sixty_fourth_of_an_inch_is_a_whole_number_of_nanometres() -> None:
    assert NM_PER_INCH == 64 * NM_PER_SIXTY_FOURTH
    assert parse_length("1/64 in") == NM_PER_SIXTY_FOURTH


def test_the_inside_of_a_riley_drawer_follows_from_its_double_walls() -> None:
    """New York State Museum Bulletin, p. 22: 18 in outside; a 3/8 in side, 1/4 in gap and 1/8 in lining each side."""
    wall = parse_length("3/8 in") + parse_length("1/4 in") + parse_length("1/8 in")
    assert parse_length("18 in") - 2 * wall == parse_length("16 1/2 in") == parse_length("419.1 mm")


@pytest.mark.parametrize(("outer", "inner"), [("23 in", "22 in"), ("17 in", "16 in")])
def test_the_walls_of_a_carnegie_drawer_are_half_an_inch_on_either_axis(outer: str, inner: str) -> None:
    """Holland 1898, The Butterfly Book: 23 × 17 in outside, 22 × 16 in inside."""
    assert (parse_length(outer) - parse_length(inner)) // 2 == parse_length("12.7 mm")


def test_cork_takes_its_thickness_off_the_height_of_a_carnegie_drawer() -> None:
    """Holland 1898, The Butterfly Book: 2 in high inside, 5/16 in cork."""
    assert parse_length("2 in") - parse_length("5/16 in") == parse_length("42.8625 mm")


@pytest.mark.parametrize(
    "written",
    [
        "16 1/2 in",
        "16-1/2 in",
        "16½ in",
        "16 1⁄2″",
        '16 1/2"',
        "16 1/2''",
        "16.5 in",
        "16,5 inches",
        "1 ft 4 1/2 in",
        "1' 4 1/2\"",
        "1′4½″",
        "41.91 cm",
        "41,91 cm",
        "419.1 mm",
        "  419.1mm ",
        "419.1\u00a0MM",
        "0.4191 m",
    ],
)
def test_one_length_may_be_written_in_many_ways(written: str) -> None:
    assert parse_length(written) == 419_100_000


@pytest.mark.parametrize(
    "written",
    [
        "",
        "mm",
        "16 1/2",
        "1' 4",
        "18 x 16 in",
        "-3 in",
        "1/0 in",
        "about 3 in",
        "16 1/2 in deep",
        "4 in 1 ft",
        "1 in 1 in",
        "5 cm 3 mm",
        "1 m 2 in",
        "3 in 2 mm",
        "1e3 mm",
        "nan mm",
        "٣ mm",
    ],
)
def test_what_nobody_can_read_for_certain_is_refused(written: str) -> None:
    with pytest.raises(NotALength, match=r"16 1/2 in"):
        parse_length(written)


def test_a_comma_before_three_figures_is_refused_with_both_readings() -> None:
    with pytest.raises(NotALength, match=r"“1,234 mm” can be read two ways; write 1234 or 1\.234"):
        parse_length("1,234 mm")


@pytest.mark.parametrize(("written", "nm"), [("0,125 mm", 125_000), ("1234,567 mm", 1_234_567_000)])
def test_a_comma_that_can_only_be_a_decimal_one_is_read(written: str, nm: int) -> None:
    assert parse_length(written) == nm


def test_a_length_longer_than_any_store_room_is_refused() -> None:
    assert parse_length("100 m") == LONGEST_NM
    with pytest.raises(NotALength, match="check the figure and its unit"):
        parse_length("100.1 m")


@pytest.mark.parametrize("mm", [float("nan"), float("inf"), -0.1, 1e300, Decimal("1e999999"), Decimal("-Infinity")])
def test_a_number_that_is_no_length_is_refused(mm: float | Decimal) -> None:
    with pytest.raises(NotALength):
        length_from_mm(mm)


@pytest.mark.parametrize("written", ["9" * 5000 + " mm", "1/" + "9" * 5000 + " in", "0." + "3" * 5000 + " mm x"])
def test_a_number_of_thousands_of_figures_is_answered_shortly(written: str) -> None:
    with pytest.raises(NotALength) as refused:
        parse_length(written)
    assert len(str(refused.value)) < 300


@given(SIXTY_FOURTHS)
def test_every_mark_of_a_rule_in_sixty_fourths_survives_being_written(parts: int) -> None:
    nm = parts * NM_PER_SIXTY_FOURTH
    assert parse_length(written_inches(nm, 64)) == nm


@given(st.integers(0, LONGEST_NM // 10_000))
def test_every_hundredth_of_a_millimetre_survives_being_written(hundredths: int) -> None:
    nm = hundredths * 10_000
    assert parse_length(written_mm(nm)) == nm


@given(NANOMETRES)
def test_the_number_of_millimetres_in_an_answer_is_the_same_length_when_sent_back(nm: int) -> None:
    assert length_from_mm(to_mm(nm)) == nm


@given(NANOMETRES)
def test_mm_cm_and_m_agree(nm: int) -> None:
    mm = Decimal(nm) / NM_PER_MM
    assert parse_length(f"{mm:f} mm") == parse_length(f"{mm / 10:f} cm") == parse_length(f"{mm / 1000:f} m") == nm


@given(st.integers(0, LONGEST_NM // NM_PER_INCH * 1000))
def test_inches_feet_and_millimetres_agree(thousandths: int) -> None:
    inches = Decimal(thousandths) / 1000
    feet, rest = divmod(inches, 12)
    assert parse_length(f"{inches:f} in") == parse_length(f"{inches * Decimal('25.4'):f} mm")
    assert parse_length(f"{inches:f} in") == parse_length(f"{feet:f} ft {rest:f} in")


@given(st.integers(1, 9999), st.integers(1, 9999))
def test_a_fraction_that_no_rule_carries_is_off_by_half_a_nanometre_at_most(above: int, below: int) -> None:
    exact = Fraction(above, below) * NM_PER_INCH
    if exact <= LONGEST_NM:
        assert abs(parse_length(f"{above}/{below} in") - exact) <= Fraction(1, 2)


@given(st.decimals(0, 99_999, allow_nan=False, allow_infinity=False), st.sampled_from(["", " ", ".", "  "]))
def test_a_bare_number_is_never_a_length(number: Decimal, after: str) -> None:
    with pytest.raises(NotALength):
        parse_length(f"{number:f}{after}")


@given(st.text() | st.from_regex(r"[\d .,/x-]{1,12}(mm|cm|m|in|ft|\"|')?", fullmatch=True))
def test_whatever_is_written_is_either_a_length_or_answered_with_a_sentence(written: str) -> None:
    answer = answer_to(written)
    if isinstance(answer, int):
        assert 0 <= answer <= LONGEST_NM
    else:
        assert answer.endswith(".")
        assert "write" in answer or "check" in answer


def answer_to(written: str) -> int | str:
    try:
        return parse_length(written)
    except NotALength as refused:
        return str(refused)


@pytest.mark.parametrize(
    ("written", "hint"),
    [("41,9", "41.9"), ("419.1", "419.1"), ("419", "419"), ("1,234", "1234 or 1.234"), ("1234,5", "1234.5")],
)
def test_a_number_without_its_unit_is_told_how_it_is_written(written: str, hint: str) -> None:
    with pytest.raises(NotALength, match=rf"no unit.*with a point \({re.escape(hint)}\), or add “mm”"):
        parse_length(written)
