"""Breaking a text into lines that fit, with nothing lost and nothing out of its order."""

from hypothesis import given
from hypothesis import strategies as st

from service.paper.pdf.wrapping import wrapped


@given(st.text(st.characters(codec="utf-8"), max_size=200), st.integers(1, 30))
def test_no_line_is_too_wide_and_the_words_keep_their_order(text: str, width: int) -> None:
    lines = wrapped(text, width, len)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert [line for line in lines if len(line) > width and not _is_one_letter_with_its_marks(line)] == []


def _is_one_letter_with_its_marks(line: str) -> bool:
    """A letter and its marks are not parted, however narrow the column is."""
    from unicodedata import category

    return any(category(character).startswith("M") for character in line)


def test_lines_break_at_spaces_where_they_can() -> None:
    assert wrapped("Carabus monilis Fabricius", 15, len) == ["Carabus monilis", "Fabricius"]
    assert wrapped("Carabusmonilis", 5, len) == ["Carab", "usmon", "ilis"]
    assert wrapped("", 5, len) == [""]


def test_a_mark_stays_with_its_letter() -> None:
    assert wrapped("ก็ก็ก็", 2, len) == ["ก็", "ก็", "ก็"]
