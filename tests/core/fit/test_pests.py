"""No container is proof against pests, and quarantine follows every time."""

import pytest
from asking import answer_to, found
from builders import a_line, a_policy, a_system

from service.core.consignment import Closure, PestSigns
from service.core.fit.findings import Outcome, Verdict


@pytest.mark.parametrize(
    ("closure", "level"),
    [
        (Closure.FLANGED_LID, "resistant"),  # Encyclopedia of Insects: an inner flange above the outer wall
        (Closure.PLAIN_LID, "partial"),
        (Closure.CARD_BOX, "none"),  # Ross, How to Collect and Preserve Insects: no protection
        (Closure.OPEN, "none"),
    ],
)
def test_a_container_resists_pests_by_how_it_shuts(closure, level):
    finding = found(a_line(closure=closure), a_system(), "pest_level")
    assert finding.subject == level
    assert not finding.deciding


@pytest.mark.parametrize("closure", [*Closure, None])
@pytest.mark.parametrize("signs", [*PestSigns, None])
def test_nothing_is_ever_called_pest_proof_and_quarantine_always_follows(closure, signs):
    answer = answer_to(a_line(closure=closure, pest_signs=signs), a_system())
    assert not any("proof" in finding.reason for finding in answer.findings if finding.rule.startswith("pest"))
    (quarantine,) = [finding for finding in answer.findings if finding.rule == "quarantine"]
    assert quarantine.remedy == "Two weeks in the freezer room."
    assert answer.verdict is Verdict.AS_IT_IS


def test_without_a_quarantine_of_its_own_the_receiver_is_told_the_usual():
    """Schauff (ed.) 1997, USDA, p. 49."""
    finding = found(a_line(), a_system(materials=a_policy(quarantine=None)), "quarantine")
    assert "p. 49" in finding.source
    assert finding.remedy


def test_live_pests_are_kept_away_from_the_collection():
    finding = found(a_line(pest_signs=PestSigns.LIVE), a_system(), "pest_signs")
    assert finding.outcome is Outcome.CAUTION
    assert finding.remedy is not None
    assert "unopened" in finding.remedy


def test_signs_that_nobody_looked_for_are_unknown():
    finding = found(a_line(pest_signs=None), a_system(), "pest_signs")
    assert finding.outcome is Outcome.UNKNOWN
    assert finding.missing == ("lines[0].pest_signs",)
