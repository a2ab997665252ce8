"""Identifiers that others gave, and the check digits of research organisations."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.identifiers import Identifier, NotAnIdentifier, identifier, ror_check_digits

# 015hz7p22 stands in the examples of Darwin Core's institutionID (TDWG, issue of 2026-05-26). The others are from
# memory: they show that the arithmetic is right, since nine out of ten mistakes would break at least one of them.
RORS = ["015hz7p22", "039zvsn29", "05bnh6r87", "00cvxb145", "01bj3aw27", "03yrm5c26", "042nb2s44", "052d1a351"]
DIGITS = "0123456789abcdefghjkmnpqrstvwxyz"


@pytest.mark.parametrize("ror", RORS)
def test_published_organisations_have_the_check_digits_that_the_standard_gives(ror):
    assert ror_check_digits(ror[:7]) == ror[7:]


@pytest.mark.parametrize(
    "written", ["https://ror.org/015hz7p22", "http://ror.org/015HZ7P22/", "ror.org/015hz7p22", " 015hz7p22 "]
)
def test_one_organisation_is_kept_under_one_spelling(written):
    assert identifier("ROR", written) == Identifier("ror", "https://ror.org/015hz7p22")


@pytest.mark.parametrize("wrong", ["015hz7p23", "15hz7p22", "015hz7p2", "o15hz7p22", "https://example.org/015hz7p22"])
def test_a_mistyped_organisation_is_refused(wrong):
    with pytest.raises(NotAnIdentifier, match="ROR id"):
        identifier("ror", wrong)


@given(st.text(DIGITS, min_size=6, max_size=6), st.integers(0, 5), st.sampled_from(DIGITS))
def test_one_wrong_character_never_keeps_the_check_digits(body, place, other):
    right = "0" + body
    wrong = right[: place + 1] + other + right[place + 2 :]
    assert (ror_check_digits(right) == ror_check_digits(wrong)) == (right == wrong)


def test_a_scheme_of_ones_own_keeps_its_values_as_they_are():
    assert identifier("our-database", " 4711/B ") == Identifier("our-database", "4711/B")


@pytest.mark.parametrize(("scheme", "value"), [("", "1"), ("two words", "1"), ("ours", " "), ("ours", "a\0b")])
def test_what_nobody_could_look_up_again_is_no_identifier(scheme, value):
    with pytest.raises(NotAnIdentifier):
        identifier(scheme, value)
