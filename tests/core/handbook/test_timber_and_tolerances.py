"""The handbook's woods, boards and tolerance classes, each against the publication that it was taken from."""

import pytest

from service.core.handbook import HandbookFault, NotInHandbook
from service.core.handbook.further_sources import further_backing, further_sources
from service.core.handbook.loader import table
from service.core.handbook.timber import (
    drawer_wall,
    inert_materials,
    materials_called,
    panels,
    sender_room,
    sources_of,
    wood,
    woods,
)
from service.core.handbook.tolerance_classes import (
    behind_tolerance_class,
    general_tolerance_nm,
    judged_by,
    tolerance_class_name,
)
from service.core.measure.dimension import Grade
from service.core.measure.lengths import NM_PER_MM


def rows(node):
    """Every row that says where it comes from, however deep."""
    if isinstance(node, dict):
        if "grade" in node:
            yield node
        for below in node.values():
            yield from rows(below)


@pytest.mark.parametrize(
    ("code", "radial", "tangential"),
    [
        ("basswood", 0.00230, 0.00330),
        ("beech", 0.00190, 0.00431),
        ("cherry_black", 0.00126, 0.00248),
        ("maple_sugar", 0.00165, 0.00353),
        ("oak_white", 0.00180, 0.00365),
        ("walnut_black", 0.00190, 0.00274),
    ],
)
def test_coefficients_are_those_of_table_13_5(code, radial, tangential):
    # Wood Handbook, FPL-GTR-190, table 13-5, page text of the hardwoods.
    figures = wood(code).coefficients
    assert (figures.radial, figures.tangential, figures.grade) == (radial, tangential, Grade.PUBLISHED)


@pytest.mark.parametrize("code", [code for code, one in woods().items() if one.shrinkage and not one.disputed])
def test_coefficients_follow_from_the_shrinkage_of_tables_4_3_and_4_4(code):
    # Geometry, for a coefficient taken at 10 % moisture: C = 1 / (100 F / S - (F - 10)). Two tables of the handbook,
    # set up apart from each other, agree to the last printed digit; a slip in either would show.
    one = wood(code)
    for coefficient, shrinkage in (
        (one.coefficients.radial, one.shrinkage.radial),
        (one.coefficients.tangential, one.shrinkage.tangential),
    ):
        saturation = one.fibre_saturation
        assert 1 / (100 * saturation / shrinkage - (saturation - 10)) == pytest.approx(coefficient, abs=6e-6)


def test_the_woods_whose_tables_disagree_are_marked():
    for one in woods().values():
        if one.shrinkage is not None:
            by_shrinkage = 1 / (100 * one.fibre_saturation / one.shrinkage.radial - (one.fibre_saturation - 10))
            by_tangential = 1 / (100 * one.fibre_saturation / one.shrinkage.tangential - (one.fibre_saturation - 10))
            apart = max(abs(by_shrinkage - one.coefficients.radial), abs(by_tangential - one.coefficients.tangential))
            assert one.disputed == (apart > 1e-5), one.name


def test_every_wood_moves_more_tangentially_than_radially_and_least_along_its_grain():
    for one in woods().values():
        assert one.coefficients.tangential > one.coefficients.radial > 10 * one.along.greatest


def test_each_source_is_cited_and_each_citation_has_its_source():
    cited = {
        citation.partition(", ")[0]
        for name in ("timber", "tolerance_classes")
        for row in rows(table(name))
        for citation in row.get("sources", ())
    }
    assert cited == further_sources().keys()


def test_expansions_lie_where_the_published_lists_put_them():
    # Middle values of two lists: aluminium 23.1, carbon steel 12, stainless 17.3, brass 19 millionths per kelvin.
    for code, published in (("aluminium", 23.1), ("steel", 12.0), ("stainless_steel", 17.3), ("brass", 19.0)):
        span = inert_materials()[code].per_kelvin.span
        assert 1e6 * span.least - 1e-9 <= published <= 1e6 * span.greatest + 1e-9


@pytest.mark.parametrize(
    ("label", "codes"),
    [
        ("basswood", {"basswood"}),
        ("Spruce plywood", {"plywood"}),
        ("plywood, birch", {"plywood"}),
        ("Red Oak", {"oak_red"}),
        ("oak", {"oak_red", "oak_white"}),
        ("Douglas-fir", {"douglas_fir_coast", "douglas_fir_interior_north", "douglas_fir_interior_west"}),
        ("poplar", {"yellow_poplar", "aspen"}),
        ("pine frame, hardboard bottom", {"hardboard"}),
        ("stainless steel", {"stainless_steel"}),
        ("linden and western red cedar", {"basswood", "cedar_western_red"}),
        ("obeche", set()),
        ("spruced up with paint", set()),
        ("", set()),
    ],
)
def test_labels_mean_the_materials_that_carry_the_name(label, codes):
    assert {material.code for material in materials_called(label)} == codes


def test_every_material_can_be_called_by_its_own_names():
    for kind, materials in (("woods", woods()), ("panels", panels()), ("inert", inert_materials())):
        for code, row in table("timber")[kind].items():
            for name in row["called"]:
                assert materials[code] in materials_called(name)


def test_sources_are_named_once_each():
    named = sources_of((wood("basswood"), wood("beech")))
    assert named.count("FPL-GTR-190") == 1
    assert "table 13-5" in named


@pytest.mark.parametrize(
    ("tolerance_class", "length_mm", "printed_mm"),
    [
        ("f", 0.5, 0.05),
        ("f", 482.6, 0.3),
        ("f", 2000, 0.5),
        ("m", 3, 0.1),
        ("m", 6, 0.1),
        ("m", 6.1, 0.2),
        ("m", 76.2, 0.3),
        ("m", 120, 0.3),
        ("m", 400, 0.5),
        ("m", 400.1, 0.8),
        ("m", 4000, 2.0),
        ("c", 3, 0.2),
        ("c", 3.1, 0.3),
        ("c", 482.6, 2.0),
        ("v", 3.1, 0.5),
        ("v", 482.6, 4.0),
    ],
)
def test_general_tolerances_are_those_of_iso_2768_1(tolerance_class, length_mm, printed_mm):
    assert general_tolerance_nm(tolerance_class, round(length_mm * NM_PER_MM)) == round(printed_mm * NM_PER_MM)


@pytest.mark.parametrize(("tolerance_class", "length_mm"), [("f", 2001), ("v", 3), ("m", 0.4), ("c", 4001)])
def test_where_the_standard_gives_no_tolerance_there_is_none(tolerance_class, length_mm):
    assert general_tolerance_nm(tolerance_class, round(length_mm * NM_PER_MM)) is None


def test_a_class_that_the_standard_has_not_is_refused():
    with pytest.raises(NotInHandbook, match="c, f, m, v"):
        general_tolerance_nm("k", 100 * NM_PER_MM)


def test_a_class_has_its_name_and_its_source():
    assert tolerance_class_name("m") == "medium"
    assert behind_tolerance_class("m").source.startswith("ISO 2768-1")


def test_what_is_common_practice_says_so():
    for figure in (
        drawer_wall(),
        sender_room(),
        *(judged_by(name) for name in ("share", "confidence", "worth_saying")),
    ):
        assert figure.grade is Grade.COMMON_PRACTICE


@pytest.mark.parametrize(
    "row",
    [
        {"grade": "published"},
        {"grade": "from_memory"},
        {"grade": "from_memory", "recalled_from": "x", "sources": ["iso-2768-1"]},
        {"grade": "common_practice", "recalled_from": "x"},
    ],
)
def test_a_row_that_does_not_say_where_it_comes_from_is_refused(row):
    with pytest.raises(HandbookFault, match="a_row"):
        further_backing(row, "a_row")
