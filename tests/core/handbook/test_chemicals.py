"""Exposure limits: each with who set it and as of when, and parts per million that agree with milligrams."""

import pytest

from service.core.handbook import people_caution
from service.core.handbook.chemicals import LimitKind, chemicals, milligrams_per_m3
from service.core.materials import Treatment
from service.core.measure.dimension import Grade

EVERY = list(chemicals().values())
PAIRS = [
    (chemical, limit)
    for chemical in EVERY
    for limit in chemical.limits
    if chemical.molar_mass_g and limit.ppm and limit.mg_per_m3
]


def limit(treatment: Treatment, set_by: str, kind: LimitKind) -> tuple[float | None, float | None]:
    found = [one for one in chemicals()[treatment].limits if (one.set_by, one.kind) == (set_by, kind)]
    assert len(found) == 1
    return found[0].ppm, found[0].mg_per_m3


@pytest.mark.parametrize("chemical", EVERY, ids=lambda chemical: chemical.treatment)
def test_every_limit_has_a_setter_a_day_and_a_published_source(chemical: object) -> None:
    found = chemicals()[chemical.treatment]  # type: ignore[attr-defined]
    assert found.grade is Grade.PUBLISHED
    assert found.as_of == "1994-05"
    assert "Immediately Dangerous to Life or Health" in found.source
    assert all(one.set_by in {"OSHA", "NIOSH", "ACGIH"} for one in found.limits)


def test_limits_are_those_of_the_niosh_documentation_of_may_1994() -> None:
    """NIOSH, Documentation for Immediately Dangerous to Life or Health Concentrations, May 1994."""
    assert limit(Treatment.NAPHTHALENE, "OSHA", LimitKind.TIME_WEIGHTED) == (10, 50)
    assert limit(Treatment.NAPHTHALENE, "NIOSH", LimitKind.SHORT_TERM) == (15, 75)
    assert limit(Treatment.PARADICHLOROBENZENE, "OSHA", LimitKind.TIME_WEIGHTED) == (75, 450)
    assert limit(Treatment.DICHLORVOS, "NIOSH", LimitKind.TIME_WEIGHTED) == (None, 1)
    assert limit(Treatment.ARSENIC, "NIOSH", LimitKind.CEILING) == (None, 0.002)
    assert limit(Treatment.MERCURIC_CHLORIDE, "OSHA", LimitKind.CEILING) == (None, 0.1)
    assert limit(Treatment.DDT, "NIOSH", LimitKind.TIME_WEIGHTED) == (None, 0.5)


@pytest.mark.parametrize(("chemical", "one"), PAIRS)
def test_parts_per_million_agree_with_the_printed_milligrams(chemical: object, one: object) -> None:
    """mg/m³ = ppm x molar mass / 24.45; what is printed is rounded, OSHA's 50 for naphthalene by 5 per cent."""
    mass, ppm, printed = chemical.molar_mass_g, one.ppm, one.mg_per_m3  # type: ignore[attr-defined]
    assert milligrams_per_m3(ppm, mass) == pytest.approx(printed, rel=0.05)


def test_the_acgih_figures_are_reproduced_as_printed() -> None:
    """ACGIH threshold limit values 1993-1994: 52 and 79 mg/m³ of naphthalene, 60 of p-dichlorobenzene, 0.90 of
    dichlorvos."""
    figures = [(10, 128.17), (15, 128.17), (10, 147.00), (0.1, 220.98)]
    written = [f"{milligrams_per_m3(ppm, mass):.2g}" for ppm, mass in figures]
    assert written == ["52", "79", "60", "0.9"]


def test_every_chemical_with_limits_comes_with_a_caution_that_ends_with_local_rules() -> None:
    assert all("Local rules" in people_caution(treatment).text for treatment in chemicals())
