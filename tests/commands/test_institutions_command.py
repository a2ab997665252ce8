"""Entering and listing institutions at the terminal."""

import pytest
from terminal import Ended, traybridge


def institutions(database: str, *arguments: str) -> Ended:
    return traybridge("institutions", *arguments, DATABASE_URL=database)


def test_institutions_are_listed_in_the_order_of_their_codes(database: str) -> None:
    assert institutions(database, "list").said == "No institution has been entered yet.\n"
    for code in ("kesselbrook", "ambleford"):
        assert institutions(database, "add", code, f"Museum of {code}", "--country", "GB").code == 0
    listed = institutions(database, "list").said
    assert listed.index("ambleford") < listed.index("kesselbrook")
    assert "Museum of kesselbrook" in listed
    assert "GB" in listed


def test_a_code_that_is_taken_is_refused_in_a_sentence(database: str) -> None:
    assert institutions(database, "add", "ambleford", "Ambleford Museum").code == 0
    assert (
        institutions(database, "add", "ambleford", "Another").sentence == "Another institution already has this code."
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("two words", "Museum"), "A code is 1 to 64 letters, digits, dots, hyphens and underscores"),
        (("ambleford", "  "), "A name is 1 to 200 characters, not all of them blank"),
        (("ambleford", "Museum", "--country", "Britain"), "A country is written as its two capital letters"),
    ],
)
def test_what_cannot_be_entered_says_what_would_do(database: str, arguments: tuple[str, ...], said: str) -> None:
    assert institutions(database, "add", *arguments).sentence.startswith(said)
