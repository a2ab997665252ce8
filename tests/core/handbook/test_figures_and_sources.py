"""The handbook as a whole: every figure says where it comes from, and no figure claims more than it has."""

from decimal import Decimal

import pytest

from service.core.consignment import Closure
from service.core.handbook import (
    Figure,
    HandbookFault,
    NotInHandbook,
    Standing,
    drawer_styles,
    figure,
    figures,
    pair_rulings,
    people_caution,
    pest_level,
    pin_rulings,
    ruling,
    source,
    sources,
    specimen_caution,
    work_caution,
)
from service.core.handbook.loader import backing, table
from service.core.handbook.written import read_figure
from service.core.materials import Bottom, PinMetal, Treatment
from service.core.measure.dimension import Grade
from service.core.measure.lengths import NotALength

EVERY_FIGURE = sorted(figures().values(), key=lambda entry: entry.key)


def rows_of(branch: object) -> list[dict[str, object]]:
    """Every graded row of a table, however deep it lies."""
    if isinstance(branch, list):
        return [row for item in branch for row in rows_of(item)]
    if not isinstance(branch, dict):
        return []
    return [branch] if "grade" in branch else [row for item in branch.values() for row in rows_of(item)]


EVERY_ROW = [
    row
    for name in (
        "figures",
        "drawer_styles",
        "bottoms_and_treatments",
        "pin_metals",
        "closures",
        "cautions",
        "chemicals",
        "regimes",
        "curation_levels",
    )
    for row in rows_of(table(name))
]


@pytest.mark.parametrize("entry", EVERY_FIGURE, ids=lambda entry: entry.key)
def test_every_figure_has_a_value_a_unit_and_a_source(entry: Figure) -> None:
    assert entry.value.is_finite()
    assert entry.unit
    assert entry.as_written
    assert entry.source


def test_every_published_source_is_cited_by_something_and_nothing_else_is_cited() -> None:
    cited = {str(citation).partition(", ")[0] for row in EVERY_ROW for citation in row.get("sources", ())}
    assert cited == sources().keys()


def test_what_is_from_memory_says_so_wherever_it_is_met() -> None:
    recalled = [entry for entry in EVERY_FIGURE if entry.grade is Grade.FROM_MEMORY]
    assert recalled
    assert all(entry.source.startswith("From memory, not confirmed: ") and not entry.cited for entry in recalled)
    assert sum("recalled_from" in row for row in EVERY_ROW) == len(recalled)


def test_nothing_else_speaks_of_memory() -> None:
    assert not [entry for entry in EVERY_FIGURE if entry.grade is not Grade.FROM_MEMORY and "memory" in entry.source]


def test_common_practice_is_never_dressed_up_as_published() -> None:
    practice = [entry for entry in EVERY_FIGURE if entry.grade is Grade.COMMON_PRACTICE]
    assert practice
    assert all(entry.source.startswith("Common practice") for entry in practice)


def test_a_published_figure_carries_the_whole_reference_and_the_page() -> None:
    padding = figure("transit.padding_least")
    assert padding.source == f"{source('schauff-1997').reference}, p. 50"
    assert (padding.cited, padding.grade) == (("schauff-1997",), Grade.PUBLISHED)


def test_a_private_page_is_published_and_still_not_an_institution() -> None:
    assert source("brou-cabinets").standing is Standing.PRIVATE
    assert source("schauff-1997").standing is Standing.INSTITUTION


@pytest.mark.parametrize(
    ("key", "nm", "where_it_is_printed"),
    [
        ("transit.bottom_least", 6_000_000, "Schauff (ed.) 1997, USDA, p. 50: at least 6 mm thick"),
        ("transit.padding_least", 50_000_000, "Schauff (ed.) 1997, USDA, p. 50: at least 5 cm on all sides"),
        ("transit.padding_least_older", 50_800_000, "Ross, Illinois Natural History Survey: at least 2 in"),
        ("pins.length_standard", 38_000_000, "Schauff (ed.) 1997, USDA, p. 31: 38 mm long"),
        ("pins.free_above_specimen", 7_000_000, "Schauff (ed.) 1997, USDA, p. 36: at least 7 mm"),
        ("bottom.cork_in_drawers", 7_937_500, "Holland 1898, The Butterfly Book: 5/16 in"),
        ("tray.height_high", 43_000_000, "California Academy of Sciences, slip for 4.3 cm corrected"),
        ("cabinet.pitch_for_3_in_drawers", 82_550_000, "Brou, plan for Cornell-size cabinets: 3 1/4 in"),
        ("lid.air_gap_least", 2_000_000, "common practice, no source: 2 to 5 mm"),
        ("lid.air_gap_comfortable", 5_000_000, "common practice, no source: 2 to 5 mm"),
        ("cabinet.side_clearance_least", 3_000_000, "common practice, no source: 3 to 6 mm in all"),
        ("cabinet.side_clearance_most", 6_000_000, "common practice, no source: 3 to 6 mm in all"),
    ],
)
def test_a_length_of_the_handbook_is_what_is_printed(key: str, nm: int, where_it_is_printed: str) -> None:
    grade = Grade.COMMON_PRACTICE if where_it_is_printed.startswith("common practice") else Grade.PUBLISHED
    assert (figure(key).nm, figure(key).grade) == (nm, grade)


@pytest.mark.parametrize(
    ("key", "derived", "from_what"),
    [
        ("labour.specimens_moved_per_hour", 5_111 / 65, "Triplehorn Insect Collection: 5,111 specimens, 65 hours"),
        ("specimens_per_drawer.london", 28e6 / 140e3, "press report: 28,000,000 specimens, 140,000 drawers"),
        (
            "specimens_per_drawer.munich",
            0.9 * 25e6 / 100e3,
            "Schmidt et al. 2012: 90 % of 25 million, 100,000 drawers",
        ),
        ("specimens_per_drawer.small_hymenoptera_least", 2e6 / 6e3, "Canadian National Collection: 2 M in 6,000"),
        ("specimens_per_drawer.small_hymenoptera_most", 3e6 / 6e3, "Canadian National Collection: 3 M in 6,000"),
    ],
)
def test_a_derived_rate_follows_from_the_published_counts(key: str, derived: float, from_what: str) -> None:
    entry = figure(key)
    assert entry.note is not None, from_what
    assert entry.note.startswith("Derived: ")
    assert float(entry.value) == pytest.approx(derived, rel=0.002), from_what


def test_the_planned_reserve_lies_inside_the_published_range() -> None:
    """NCSU Insect Museum 2011: 15 to 25 % of a finished drawer is kept for additions."""
    assert (figure("growth.reserve_least").value, figure("growth.reserve_most").value) == (15, 25)
    assert Decimal(15) <= figure("growth.reserve_planning").value <= Decimal(25)


def test_a_figure_that_is_no_length_has_no_nanometres() -> None:
    with pytest.raises(NotALength, match=r"growth.reserve_least is 15 %, which is not a length\."):
        _ = figure("growth.reserve_least").nm


@pytest.mark.parametrize(
    "ask",
    [
        lambda: figure("lid.air_gap"),
        lambda: source("schauff"),
        lambda: ruling("glass", Treatment.THYMOL),
        lambda: ruling(Bottom.CORK, "garlic"),
        lambda: pair_rulings(["garlic"]),
        lambda: pin_rulings("gold", Bottom.CORK),
        lambda: people_caution("garlic"),
        lambda: specimen_caution("garlic"),
        lambda: work_caution("juggling"),
        lambda: pest_level("velvet"),
    ],
)
def test_asking_for_what_the_handbook_has_not_is_answered_with_what_it_has(ask) -> None:
    with pytest.raises(NotInHandbook, match=r"^The handbook has no .*; it has .+\.$"):
        ask()


PUBLISHED = {"written": "6 mm", "sources": ["schauff-1997, p. 50"], "grade": "published"}
RECALLED = {"written": "52 mm", "grade": "from_memory", "recalled_from": "pin charts"}


@pytest.mark.parametrize(
    ("row", "complaint"),
    [
        ({**PUBLISHED, "sources": []}, "cites no source"),
        ({**PUBLISHED, "sources": ["nobody-1900"]}, "cites nobody-1900, which sources.toml has not"),
        ({**PUBLISHED, "grade": "certain"}, "grades are published, common_practice, from_memory"),
        ({"written": "6 mm"}, "has no grade"),
        ({"grade": "common_practice"}, "has no written"),
        ({**PUBLISHED, "sorces": []}, "has sorces, which nothing reads"),
        ({**PUBLISHED, "recalled_from": "a talk"}, "no other, says recalled_from"),
        ({**PUBLISHED, "written": "six mm"}, "is a number, a space and its unit"),
        ({"written": "52 mm", "grade": "from_memory"}, "says recalled_from"),
        ({**RECALLED, "sources": ["schauff-1997"]}, "cites a source, which only a published row may"),
    ],
)
def test_a_row_that_hides_where_it_comes_from_is_refused(row: dict[str, object], complaint: str) -> None:
    assert read_figure(PUBLISHED, "a.b").nm == 6_000_000
    assert read_figure(RECALLED, "a.b").grade is Grade.FROM_MEMORY
    with pytest.raises(HandbookFault, match=rf"a\.b .*{complaint}"):
        read_figure(row, "a.b")


def test_common_practice_may_name_what_supports_it() -> None:
    supported = backing({"grade": "common_practice", "sources": ["durden-2005"]}, "a.b")
    assert supported.source == f"Common practice; see {source('durden-2005').reference}"


def test_every_closure_bottom_metal_and_treatment_can_be_asked_for() -> None:
    assert all(pest_level(closure).reason for closure in Closure)
    assert all(people_caution(treatment).text for treatment in Treatment)
    assert all(ruling(bottom, treatment).condition for bottom in Bottom for treatment in Treatment)
    assert all(len(pin_rulings(metal, None, tuple(Treatment))) == 1 + len(Treatment) for metal in PinMetal)
    assert len({style.code for style in drawer_styles()}) == len(drawer_styles())
