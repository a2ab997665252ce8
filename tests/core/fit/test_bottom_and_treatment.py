"""Pinning bottoms, pins and treatments that would meet."""

import pytest
from asking import all_found, answer_to, found
from builders import a_bottom, a_box_line, a_line, a_policy, a_system, a_tray_line, a_tray_lot, some_pins

from service.core.fit.check import LAST_WORD, check
from service.core.fit.findings import Outcome, Verdict
from service.core.materials import Bottom, PinMetal, Treatment
from service.core.standards import OwnFinding, Ruling

PE, PS, CORK, PEAT = Bottom.POLYETHYLENE_FOAM, Bottom.POLYSTYRENE_FOAM, Bottom.CORK, Bottom.PEAT
PDB, NAPHTHALENE = Treatment.PARADICHLOROBENZENE, Treatment.NAPHTHALENE


def treated_with(*treatments, **policy):
    return a_system(materials=a_policy(**{"treatments": treatments, "accepted_bottoms": None} | policy))


def lined_with(material, used=(), **bottom):
    return a_box_line(lining=a_bottom(material, **bottom), treatments_used=used)


def test_polystyrene_does_not_bear_dichlorvos():
    """Hammick 1989: dissolution of polystyrene."""
    finding = found(lined_with(PS), treated_with(Treatment.DICHLORVOS), "bottom_and_treatment")
    assert finding.outcome is Outcome.FAIL
    assert finding.subject == "polystyrene foam under dichlorvos"
    assert "Hammick" in finding.source


@pytest.mark.parametrize("solvent", [Treatment.ETHYL_ACETATE, Treatment.ACETONE])
def test_polystyrene_does_not_bear_solvents(solvent):
    assert found(lined_with(PS), treated_with(solvent), "bottom_and_treatment").outcome is Outcome.FAIL


@pytest.mark.parametrize("treatment", [PDB, NAPHTHALENE, Treatment.THYMOL])
def test_polystyrene_under_the_old_crystals_is_a_caution_at_least(treatment):
    """Schauff (ed.) 1997, USDA, p. 29: may damage plastic boxes."""
    finding = found(lined_with(PS), treated_with(treatment), "bottom_and_treatment")
    assert finding.outcome in (Outcome.CAUTION, Outcome.FAIL)
    assert "p. 29" in finding.source


def test_what_nobody_has_found_out_stays_unknown_and_holds_the_line():
    answer = answer_to(lined_with(PEAT), treated_with(PDB))
    assert answer.verdict is Verdict.HOLD
    finding = found(lined_with(PEAT), treated_with(PDB), "bottom_and_treatment")
    assert finding.outcome is Outcome.UNKNOWN


def test_what_the_sender_has_used_counts_as_much_as_what_the_receiver_uses():
    finding = found(lined_with(PS, used=(Treatment.DICHLORVOS,)), treated_with(), "bottom_and_treatment")
    assert finding.outcome is Outcome.FAIL


def test_naphthalene_in_the_wood_and_paradichlorobenzene_in_the_cabinet_must_not_meet():
    """Schauff (ed.) 1997, USDA, p. 49: never mix."""
    finding = found(lined_with(PE, used=(NAPHTHALENE,)), treated_with(PDB), "treatments_together")
    assert finding.outcome is Outcome.FAIL
    assert "p. 49" in finding.source
    assert answer_to(lined_with(PE, used=(NAPHTHALENE,)), treated_with(PDB)).verdict is Verdict.RE_HOUSE


@pytest.mark.parametrize(
    ("glued", "outcome"), [(True, Outcome.PASS), (False, Outcome.CAUTION), (None, Outcome.CAUTION)]
)
def test_freezing_lifts_a_lining_that_is_poorly_glued(glued, outcome):
    """Viscardi 2024, citing Herrero, Chandler & Viscardi 2018."""
    line = lined_with(PE, glued_firmly=glued)
    assert found(line, treated_with(Treatment.FREEZING), "bottom_and_treatment").outcome is outcome


def test_the_receivers_own_finding_comes_before_the_handbook():
    own = OwnFinding(PEAT, PDB, Ruling.OK, "ten years in bay 3, nothing seen")
    finding = found(lined_with(PEAT), treated_with(PDB, own_findings=(own,)), "bottom_and_treatment")
    assert finding.outcome is Outcome.PASS
    assert finding.source == "The receiver's own finding: ten years in bay 3, nothing seen"


def test_treatments_that_are_not_stated_are_asked_of_both_sides():
    line = lined_with(PE, used=None)
    answer = answer_to(line, a_system(materials=a_policy(treatments=None)))
    assert answer.verdict is Verdict.HOLD
    assert set(answer.missing) == {"system.materials.treatments", "lines[0].treatments_used"}


def test_no_treatment_on_either_side_is_an_answer():
    assert found(lined_with(PE), treated_with(), "bottom_and_treatment").outcome is Outcome.PASS


def test_an_unstated_bottom_is_unknown_under_any_treatment():
    answer = answer_to(a_tray_line(lining=None), treated_with(PDB))
    assert answer.verdict is Verdict.HOLD
    assert "lines[0].lining.material" in answer.missing


def test_a_bottom_that_the_receiver_does_not_accept_fails():
    system = treated_with(accepted_bottoms=(PE,))
    finding = found(lined_with(CORK), system, "accepted_bottoms")
    assert finding.outcome is Outcome.FAIL
    assert "not cork" in finding.reason


def test_without_a_policy_there_is_nothing_to_say_of_it():
    assert all_found(lined_with(CORK), treated_with(), "accepted_bottoms") == []


def test_a_refused_lining_stays_outside_when_the_trays_move():
    trays = (a_tray_lot(bottom=a_bottom(PE)),)
    answer = answer_to(a_line(lining=a_bottom(PS), trays=trays), treated_with(accepted_bottoms=(PE,)))
    assert answer.verdict is Verdict.BY_THE_TRAY


def test_a_bad_bottom_in_one_size_of_tray_keeps_the_whole_drawer_out():
    trays = (a_tray_lot(), a_tray_lot(bottom=a_bottom(PS)))
    assert answer_to(a_line(trays=trays), treated_with(Treatment.DICHLORVOS)).verdict is Verdict.RE_HOUSE


@pytest.mark.parametrize("metal", [PinMetal.BRASS, PinMetal.GERMAN_SILVER])
def test_copper_in_the_pins_warns_of_verdigris(metal):
    """Schauff (ed.) 1997, USDA, p. 31; Hancock & Ryder, Journal of Natural Science Collections 7."""
    warnings = all_found(a_line(pins=some_pins(metal=metal)), a_system(), "pin_metal")
    assert any("erdigris" in f.reason and f.outcome is Outcome.CAUTION for f in warnings)
    assert not any(f.deciding for f in warnings)


def test_cork_corrodes_pins_that_are_not_stainless():
    """Schauff (ed.) 1997, USDA, p. 49: tannin."""

    def warnings(metal):
        line = a_box_line(lining=a_bottom(CORK), pins=some_pins(metal=metal))
        return [f for f in all_found(line, a_system(), "pin_metal") if "annin" in f.reason]

    assert warnings(PinMetal.BLACK_STEEL)
    assert not warnings(PinMetal.STAINLESS_STEEL)


def test_pins_of_a_metal_that_nobody_states_are_unknown_and_decide_nothing():
    answer = answer_to(a_line(pins=some_pins(metal=None)), a_system())
    finding = next(f for f in answer.findings if f.rule == "pin_metal")
    assert finding.outcome is Outcome.UNKNOWN
    assert answer.verdict is Verdict.AS_IT_IS


def test_every_treatment_comes_with_what_it_does_to_people_once_and_local_rules_have_the_last_word():
    answer = check((lined_with(PE, used=(PDB,)), lined_with(PE, used=(PDB,))), treated_with(PDB))
    assert sum("Paradichlorobenzene:" in caution for caution in answer.cautions) == 1
    assert answer.cautions[-1] == LAST_WORD
    assert "licensed" in LAST_WORD


def test_cold_dust_and_weight_are_warned_of():
    cautions = " ".join(check((a_line(),), treated_with(Treatment.FREEZING)).cautions)
    for word in ("room temperature", "arsenic", "two people"):
        assert word in cautions
