"""A check code: what is typed is what was printed, a slip is told, and nothing else passes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.errors import Invalid
from service.core.papers.check_code import FIGURES, as_printed, check_code

codes = st.binary(max_size=50).map(check_code)


@given(codes)
def test_a_code_is_read_as_it_was_printed_however_it_is_typed(code: str) -> None:
    sloppy = code.lower().replace("-", " ").replace("0", "o").replace("1", "l")
    assert as_printed(code) == as_printed(sloppy) == code
    assert len(code.replace("-", "")) == 17


@given(codes, st.data())
def test_every_single_wrong_character_is_found(code: str, data: st.DataObject) -> None:
    plain = code.replace("-", "")
    at = data.draw(st.integers(0, len(plain) - 1))
    other = data.draw(st.sampled_from([figure for figure in FIGURES if figure != plain[at]]))
    with pytest.raises(Invalid):
        as_printed(plain[:at] + other + plain[at + 1 :])


@given(codes, st.integers(0, 14))
def test_two_neighbours_in_the_wrong_order_are_found(code: str, at: int) -> None:
    plain = code.replace("-", "")
    swapped = plain[:at] + plain[at + 1] + plain[at] + plain[at + 2 :]
    if swapped != plain:
        with pytest.raises(Invalid):
            as_printed(swapped)


@pytest.mark.parametrize("typed", ["", "7K2M", "UUUU-UUUU-UUUU-UUUU-U", "7K2M-90QX-4T8W-AVBN-CC", "é" * 17])
def test_what_is_no_code_is_said_to_be_none(typed: str) -> None:
    with pytest.raises(Invalid):
        as_printed(typed)


def test_other_content_has_another_code() -> None:
    assert len({check_code(str(n).encode()) for n in range(2_000)}) == 2_000
