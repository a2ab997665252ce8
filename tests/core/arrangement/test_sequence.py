"""Where a name stands in an institution's systematic sequence."""

import pytest

from service.core.arrangement.inventory import SystematicSequence, Taxon

BEETLES = SystematicSequence(
    (
        Taxon("Carabus hortensis", "Carabidae", "Carabus"),
        Taxon("Carabus violaceus", "Carabidae", "Carabus"),
        Taxon("Abax parallelus", "Carabidae", "Abax"),
        Taxon("Lucanus cervus", "Lucanidae", "Lucanus"),
    )
)


@pytest.mark.parametrize(
    ("before", "name", "after"),
    [
        ("Carabus violaceus", "Carabus sp.", "Abax parallelus"),
        ("Abax parallelus", "Carabidae indet.", "Lucanus cervus"),
        ("Abax sp.", "Carabidae", "Lucanus cervus"),
        ("Lucanus sp.", "LUCANIDAE  gen. sp.", None),
    ],
)
def test_what_nobody_has_named_further_stands_behind_its_genus_or_its_family(
    before: str, name: str, after: str | None
) -> None:
    """Common practice, no source."""
    place, behind = BEETLES.rank(name), BEETLES.rank(before)
    assert place is not None
    assert behind is not None
    assert behind < place
    if after is not None:
        following = BEETLES.rank(after)
        assert following is not None
        assert place < following


def test_a_name_of_a_family_that_the_sequence_has_not_has_no_place() -> None:
    assert BEETLES.rank("Cetoniidae indet.") is None
