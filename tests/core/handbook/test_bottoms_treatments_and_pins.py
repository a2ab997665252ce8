"""What treatments do to bottoms and pins, each statement against the publication that it rests on."""

import pytest

from service.core.consignment import Closure
from service.core.handbook import (
    HandbookFault,
    MaterialRuling,
    PestResistance,
    pair_rulings,
    people_caution,
    pest_level,
    pin_rulings,
    ruling,
    source,
    specimen_caution,
    work_caution,
)
from service.core.handbook.words import every
from service.core.materials import Bottom, PinMetal, Treatment
from service.core.measure.dimension import Grade
from service.core.standards import Ruling

#: The cells of which nothing was found, by treatment. Written out here once more, so that a slip in the table shows.
NOTHING_FOUND = {
    "paradichlorobenzene": "peat balsa board",
    "naphthalene": "peat",
    "thymol": "polyethylene_foam cork peat balsa board",
    "camphor": "polyethylene_foam polystyrene_foam cork peat balsa board",
    "dichlorvos": "polyethylene_foam cork peat",
    "ethyl_acetate": "cork peat balsa board",
    "acetone": "cork peat balsa board",
    "chlorinated_liquid": "polyethylene_foam cork peat balsa board",
    "phenol": "polyethylene_foam cork peat balsa board",
    "freezing": "",
    "nitrogen_anoxia": "",
    "carbon_dioxide": "",
    "arsenic": "polyethylene_foam polystyrene_foam cork peat balsa board",
    "mercuric_chloride": "polyethylene_foam polystyrene_foam cork peat balsa board",
    "ddt": "polyethylene_foam polystyrene_foam cork peat balsa board",
}
CELLS = [(bottom, treatment) for treatment in Treatment for bottom in Bottom]


@pytest.mark.parametrize(("bottom", "treatment"), CELLS)
def test_a_cell_is_unknown_where_nothing_was_found_and_only_there(bottom: Bottom, treatment: Treatment) -> None:
    nothing_found = bottom.value in NOTHING_FOUND[treatment.value].split()
    assert (ruling(bottom, treatment).ruling is Ruling.UNKNOWN) == nothing_found


@pytest.mark.parametrize(("bottom", "treatment"), CELLS)
def test_no_ruling_on_a_bottom_rests_on_memory(bottom: Bottom, treatment: Treatment) -> None:
    cell = ruling(bottom, treatment)
    assert cell.grade is not Grade.FROM_MEMORY
    assert bool(cell.cited) or cell.grade is Grade.COMMON_PRACTICE


def says(known: MaterialRuling, expected: Ruling, key: str) -> bool:
    return known.ruling is expected and key in known.cited and source(key).reference in known.source


def test_dichlorvos_dissolves_polystyrene() -> None:
    """Hammick 1989, Textile Conservation Newsletter: dissolution of polystyrene."""
    known = ruling(Bottom.POLYSTYRENE_FOAM, Treatment.DICHLORVOS)
    assert says(known, Ruling.INCOMPATIBLE, "hammick-1989")
    assert known.grade is Grade.PUBLISHED


@pytest.mark.parametrize("solvent", [Treatment.ETHYL_ACETATE, Treatment.ACETONE, Treatment.CHLORINATED_LIQUID])
def test_polystyrene_dissolves_in_the_common_solvents(solvent: Treatment) -> None:
    """Chemical resistance list for expanded polystyrene; an encyclopedia's entry on its solubility."""
    assert says(ruling(Bottom.POLYSTYRENE_FOAM, solvent), Ruling.INCOMPATIBLE, "polystyrene-resistance")


@pytest.mark.parametrize("treatment", [Treatment.PARADICHLOROBENZENE, Treatment.NAPHTHALENE, Treatment.THYMOL])
def test_the_old_crystals_are_at_least_a_caution_on_polystyrene(treatment: Treatment) -> None:
    """Schauff (ed.) 1997, USDA, p. 29: may damage plastic boxes."""
    known = ruling(Bottom.POLYSTYRENE_FOAM, treatment)
    assert known.ruling in {Ruling.CAUTION, Ruling.INCOMPATIBLE}
    assert "schauff-1997" in known.cited
    assert ", p. 29" in known.source


def test_that_paradichlorobenzene_dissolves_the_foam_is_practice_and_not_called_published() -> None:
    known = ruling(Bottom.POLYSTYRENE_FOAM, Treatment.PARADICHLOROBENZENE)
    assert (known.ruling, known.grade) == (Ruling.INCOMPATIBLE, Grade.COMMON_PRACTICE)


def test_phenol_is_a_caution_on_polystyrene() -> None:
    """Schauff (ed.) 1997, USDA, p. 29."""
    assert says(ruling(Bottom.POLYSTYRENE_FOAM, Treatment.PHENOL), Ruling.CAUTION, "schauff-1997")


def test_freezing_lifts_polyethylene_foam_that_is_poorly_glued() -> None:
    """Viscardi 2024, nhcoll-l, after Herrero, Chandler & Viscardi 2018: at −30 °C in bags sealed one by one."""
    known = ruling(Bottom.POLYETHYLENE_FOAM, Treatment.FREEZING)
    assert says(known, Ruling.CAUTION, "viscardi-2024")
    assert known.spared_by_firm_glue
    assert "glued" in known.condition
    assert [cell for cell in CELLS if ruling(*cell).spared_by_firm_glue] == [
        (Bottom.POLYETHYLENE_FOAM, Treatment.FREEZING)
    ]


def test_wood_keeps_naphthalene_for_decades() -> None:
    """Triplehorn Insect Collection, Ohio State University."""
    assert says(ruling(Bottom.BALSA, Treatment.NAPHTHALENE), Ruling.CAUTION, "triplehorn-beetles")


def test_paradichlorobenzene_and_naphthalene_must_never_meet() -> None:
    """Schauff (ed.) 1997, USDA, p. 49: never mix; they react and form a liquid."""
    (pair,) = pair_rulings([Treatment.FREEZING, Treatment.NAPHTHALENE, Treatment.PARADICHLOROBENZENE])
    assert (pair.ruling, pair.cited, pair.grade) == (Ruling.INCOMPATIBLE, ("schauff-1997",), Grade.PUBLISHED)
    assert set(pair.treatments) == {Treatment.PARADICHLOROBENZENE, Treatment.NAPHTHALENE}


def test_either_of_the_two_alone_is_no_pair() -> None:
    assert pair_rulings([Treatment.NAPHTHALENE, Treatment.FREEZING]) == ()
    assert pair_rulings([]) == ()


@pytest.mark.parametrize("metal", [metal for metal in PinMetal if metal is not PinMetal.STAINLESS_STEEL])
def test_tannin_in_cork_corrodes_every_pin_but_stainless_ones(metal: PinMetal) -> None:
    """Schauff (ed.) 1997, USDA, p. 49."""
    in_cork = pin_rulings(metal, Bottom.CORK)[-1]
    assert (in_cork.bottom, in_cork.ruling, in_cork.cited) == (Bottom.CORK, Ruling.CAUTION, ("schauff-1997",))
    assert "Tannin" in in_cork.condition
    assert len(pin_rulings(metal, Bottom.POLYETHYLENE_FOAM)) == 1


def test_stainless_pins_are_recommended_in_cork_too() -> None:
    """Schauff (ed.) 1997, USDA, p. 31: stainless pins for permanent collections."""
    (alone,) = pin_rulings(PinMetal.STAINLESS_STEEL, Bottom.CORK)
    assert (alone.ruling, alone.cited) == (Ruling.OK, ("schauff-1997",))


@pytest.mark.parametrize("metal", [PinMetal.BRASS, PinMetal.GERMAN_SILVER])
@pytest.mark.parametrize("bottom", Bottom)
def test_copper_in_a_pin_means_verdigris_in_any_bottom(metal: PinMetal, bottom: Bottom) -> None:
    """Schauff (ed.) 1997, USDA, p. 31; Hancock & Ryder, Journal of Natural Science Collections 7: 44-48."""
    alone = pin_rulings(metal, bottom)[0]
    assert alone.ruling is Ruling.CAUTION
    assert alone.condition.startswith("Verdigris")
    assert alone.cited == ("schauff-1997", "hancock-ryder")


def test_black_pins_rust() -> None:
    """Schauff (ed.) 1997, USDA, p. 31."""
    (alone,) = pin_rulings(PinMetal.BLACK_STEEL)
    assert (alone.ruling, alone.cited) == (Ruling.CAUTION, ("schauff-1997",))


@pytest.mark.parametrize("metal", [PinMetal.SILVER, PinMetal.NICKEL])
def test_silver_and_nickel_corrode_as_well(metal: PinMetal) -> None:
    """Hancock & Ryder, Journal of Natural Science Collections 7: 44-48."""
    (alone,) = pin_rulings(metal)
    assert (alone.ruling, alone.cited) == (Ruling.CAUTION, ("hancock-ryder",))


@pytest.mark.parametrize("metal", [PinMetal.BLACK_STEEL, PinMetal.BRASS, PinMetal.SILVER])
def test_dichlorvos_corrodes_the_metals_it_was_tested_on(metal: PinMetal) -> None:
    """Hammick 1989, Textile Conservation Newsletter: iron, steel, brass, silver among others."""
    treated = pin_rulings(metal, None, [Treatment.DICHLORVOS])[-1]
    assert (treated.ruling, treated.cited) == (Ruling.INCOMPATIBLE, ("hammick-1989",))


@pytest.mark.parametrize("metal", [PinMetal.NICKEL, PinMetal.GERMAN_SILVER])
def test_a_metal_that_was_not_tested_under_dichlorvos_is_unknown(metal: PinMetal) -> None:
    assert pin_rulings(metal, None, [Treatment.DICHLORVOS])[-1].ruling is Ruling.UNKNOWN


@pytest.mark.parametrize("closure", Closure)
def test_no_closure_is_pest_proof(closure: Closure) -> None:
    """Schauff (ed.) 1997, USDA, p. 49: pests enter even the best boxes or drawers."""
    assert pest_level(closure).level in {PestResistance.RESISTANT, PestResistance.PARTIAL, PestResistance.NONE}
    assert "proof" not in pest_level(closure).reason


@pytest.mark.parametrize(
    ("closure", "level", "key"),
    [
        (Closure.FLANGED_LID, PestResistance.RESISTANT, "encyclopedia-of-insects"),
        (Closure.PLAIN_LID, PestResistance.PARTIAL, "encyclopedia-of-insects"),
        (Closure.CARD_BOX, PestResistance.NONE, "ross-survey-circular"),
    ],
)
def test_a_closure_is_as_good_as_the_handbooks_say(closure: Closure, level: PestResistance, key: str) -> None:
    """Encyclopedia of Insects: the flange; home-made boxes. Ross, Illinois Natural History Survey: cigar boxes."""
    assert pest_level(closure).level is level
    assert key in pest_level(closure).cited


def test_an_open_tray_keeps_no_pest_out() -> None:
    """Common practice, no source."""
    assert (pest_level(Closure.OPEN).level, pest_level(Closure.OPEN).grade) == (
        PestResistance.NONE,
        Grade.COMMON_PRACTICE,
    )


@pytest.mark.parametrize("treatment", Treatment)
def test_every_treatment_comes_with_a_caution_that_ends_with_local_rules(treatment: Treatment) -> None:
    caution = people_caution(treatment)
    assert "Local rules" in caution.text
    assert caution.text.endswith("licensed to do it.")
    assert not {"legal", "permitted", "allowed", "safe"} & set(caution.text.lower().replace(".", " ").split())


def test_dichlorvos_hinders_dna_extraction_and_nothing_is_said_where_nothing_was_found() -> None:
    """Espeland et al. 2010, Frontiers in Zoology 7: 2."""
    found = specimen_caution(Treatment.DICHLORVOS)
    assert found is not None
    assert "DNA" in found.text
    assert "espeland-2010" in found.cited
    assert specimen_caution(Treatment.THYMOL) is None


def test_frozen_containers_stay_shut_until_they_are_warm() -> None:
    """Guppy 1999, leps-l list."""
    caution = work_caution("open_when_warm")
    assert "room temperature" in str(caution)
    assert caution.cited == ("guppy-1999",)


def test_a_table_with_a_cell_missing_or_too_many_is_refused() -> None:
    cells = {bottom.value: "?" for bottom in Bottom}
    assert every(Bottom, cells, "cells.thymol").keys() == set(Bottom)
    with pytest.raises(HandbookFault, match=r"^cells\.thymol has glass, which is no bottom\.$"):
        every(Bottom, {**cells, "glass": "?"}, "cells.thymol")
    del cells["peat"]
    with pytest.raises(HandbookFault, match=r"^cells\.thymol has nothing for peat\.$"):
        every(Bottom, cells, "cells.thymol")
