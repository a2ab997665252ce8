"""The chance that a drawer binds, and tolerances that stack up in a gap."""

from math import atan, pi, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.measure.lengths import NM_PER_MM
from service.core.measure.population import (
    Exactly,
    Measured,
    Population,
    Within,
    chance_of_binding,
    expected_to_bind,
)
from service.core.measure.sample import Sample
from service.core.measure.stack import Stack

#: So many readings that the sample is the population, for textbook examples with known deviations.
KNOWN = 10**7


def known(mean, deviation):
    return Measured(Sample(KNOWN, mean, deviation))


def mm(value):
    return value * NM_PER_MM


spreads = st.floats(1e3, 5e6)
populations = st.one_of(
    st.builds(lambda mean: Exactly(mean), st.floats(mm(478), mm(482))),
    st.builds(
        lambda n, mean, s: Measured(Sample(n, mean, s)), st.integers(2, 60), st.floats(mm(478), mm(482)), spreads
    ),
    st.builds(Within, st.floats(mm(478), mm(482)), spreads),
)


def widened(population: Population, factor: float) -> Population:
    match population:
        case Measured(sample):
            return Measured(Sample(sample.count, sample.mean_nm, factor * sample.deviation_nm))
        case Within(mean_nm, tolerance_nm):
            return Within(mean_nm, factor * tolerance_nm)
    return population


def test_a_textbook_shaft_in_a_textbook_bearing():
    # Bearings 1.005 ± 0.003 cm, shafts 0.995 ± 0.004 cm (standard deviations): the clearance is 0.010 ± 0.005, so
    # two deviations lie between, and the normal table has 0.0228 beyond two.
    assert chance_of_binding(known(0.995, 0.004), known(1.005, 0.003)) == pytest.approx(0.0228, abs=5e-5)


def test_another_textbook_pair():
    # Bearing 2.010 ± 0.002 cm, shaft 2.004 ± 0.001 cm: 0.006 / sqrt(5e-6) = 2.683 deviations; the table has 0.9963.
    assert 1 - chance_of_binding(known(2.004, 0.001), known(2.010, 0.002)) == pytest.approx(0.9963, abs=1e-4)


def test_the_next_specimen_of_montgomery_and_runger():
    # Example 8-8: 22 loads, mean 13.71, deviation 3.55; the 23rd lies within 6.16 to 21.26 with 95 % probability.
    alloy = Measured(Sample(22, 13.71, 3.55))
    assert alloy.share_above(21.26) == pytest.approx(0.025, abs=2e-4)
    assert alloy.share_below(6.16) == pytest.approx(0.025, abs=2e-4)


def test_a_small_sample_is_less_sure_than_its_two_sigmas():
    three, many = Measured(Sample(3, mm(480), mm(0.5))), known(mm(480), mm(0.5))
    opening = Exactly(mm(481))
    assert chance_of_binding(many, opening) == pytest.approx(1 - NormalDist().cdf(2), abs=1e-6)
    assert chance_of_binding(three, opening) > 4 * chance_of_binding(many, opening)


@pytest.mark.parametrize("opening_tolerance", [0.1, 0.5, 2.0])
def test_two_pairs_of_limits_leave_a_corner_of_a_rectangle(opening_tolerance):
    # Pure geometry: both lengths evenly spread; the part of the rectangle in which the thing is the larger.
    thing, opening = Within(mm(480), mm(0.5)), Within(mm(480.6), mm(opening_tolerance))
    grid = (np.arange(2000) + 0.5) / 1000 - 1
    things, openings = mm(480) + mm(0.5) * grid, mm(480.6) + mm(opening_tolerance) * grid
    counted = np.mean(np.searchsorted(openings, things) / 2000)
    assert chance_of_binding(thing, opening) == pytest.approx(counted, abs=1e-3)


@given(populations, populations)
def test_the_chance_is_what_drawing_pairs_at_random_gives(thing, opening):
    rng = np.random.default_rng(20260101)

    def draw(population):
        match population:
            case Measured(sample):
                return population.mean_nm + population.spread_nm * rng.standard_t(sample.count - 1, 20_000)
            case Within(mean_nm, tolerance_nm):
                return rng.uniform(mean_nm - tolerance_nm, mean_nm + tolerance_nm, 20_000)
        return np.full(20_000, population.mean_nm)

    drawn = float(np.mean(draw(thing) > draw(opening)))
    # Five standard errors of twenty thousand pairs.
    assert chance_of_binding(thing, opening) == pytest.approx(drawn, abs=5 * sqrt(0.25 / 20_000))


@given(st.floats(mm(478), mm(482)), st.floats(mm(478), mm(482)), spreads, spreads)
def test_two_samples_of_two_pieces_follow_the_law_of_cauchy(thing_nm, opening_nm, thing_spread, opening_spread):
    # Student's t with one degree of freedom is Cauchy's distribution, and two of those add up to a third.
    thing, opening = Measured(Sample(2, thing_nm, thing_spread)), Measured(Sample(2, opening_nm, opening_spread))
    gap_in_spreads = (opening_nm - thing_nm) / (thing.spread_nm + opening.spread_nm)
    assert chance_of_binding(thing, opening) == pytest.approx(0.5 - atan(gap_in_spreads) / pi, rel=1e-6, abs=1e-9)


@given(populations, populations)
def test_a_thing_binds_or_goes_in_and_nothing_else(thing, opening):
    both = chance_of_binding(thing, opening) + chance_of_binding(opening, thing)
    equal_lengths = isinstance(thing, Exactly) and thing == opening
    assert both == pytest.approx(0 if equal_lengths else 1, abs=1e-6)


@given(populations, populations, st.floats(1, 5), st.booleans())
def test_more_tolerance_never_raises_the_chance_of_fitting(thing, opening, factor, on_the_thing):
    # Where the mean itself is too large, more scatter does let a lucky piece in; the law is for what fits on average.
    smaller, larger = sorted((thing, opening), key=lambda population: population.mean_nm)
    before = chance_of_binding(smaller, larger)
    wide = (widened(smaller, factor), larger) if on_the_thing else (smaller, widened(larger, factor))
    assert chance_of_binding(*wide) >= before - 1e-7


@given(populations, populations, st.integers(0, 300))
def test_the_expected_number_is_between_none_and_all(thing, opening, count):
    assert 0 <= expected_to_bind(count, thing, opening) <= count


def test_two_hundred_drawers_of_which_ten_were_measured():
    readings = tuple(
        round(mm(value)) for value in (482.1, 482.4, 482.3, 482.9, 482.6, 482.2, 482.5, 483.1, 482.7, 482.8)
    )
    drawers, opening = Measured(Sample.of(readings)), Exactly(mm(483.0))
    foretold = chance_of_binding(drawers, opening)
    assert expected_to_bind(200, drawers, opening) == pytest.approx(200 * foretold)
    # Of the ten measured, exactly the one of 483.1 mm binds; the other 190 are foretold.
    assert expected_to_bind(200, drawers, opening, readings) == pytest.approx(1 + 190 * foretold)


def test_when_every_drawer_was_measured_nothing_is_foretold():
    readings = (round(mm(482)), round(mm(484)))
    assert expected_to_bind(2, Measured(Sample.of(readings)), Exactly(mm(483)), readings) == 1


def test_a_thing_as_large_as_its_opening_goes_in():
    assert chance_of_binding(Exactly(mm(480)), Exactly(mm(480))) == 0


def test_the_published_stack_of_three_blocks_in_a_housing():
    # Ficient Design, Tolerance stack-up analysis: 2.000 ± .005, 1.500 ± .003 and 0.500 ± .002 in 4.020 ± .005 in.
    stack = Stack(4.020 - 2.000 - 1.500 - 0.500, (0.005, 0.003, 0.002, 0.005))
    assert stack.worst_case_nm == pytest.approx(0.015)
    assert stack.least_gap_nm == pytest.approx(0.005)
    assert stack.root_sum_square_nm == pytest.approx(0.00794, abs=5e-6)
    assert stack.likely_least_gap_nm == pytest.approx(0.012, abs=5e-4)


@pytest.mark.parametrize(
    ("tolerances", "worst", "root_sum_square"),
    [((0.2, 0.1, 0.15), 0.45, 0.27), ((0.1,) * 10, 1.0, 0.316)],
)
def test_other_published_stacks(tolerances, worst, root_sum_square):
    # Two further examples from public pages on the method; the arithmetic is verified.
    stack = Stack(0, tolerances)
    assert stack.worst_case_nm == pytest.approx(worst)
    assert stack.root_sum_square_nm == pytest.approx(root_sum_square, abs=1e-3)


@given(st.lists(st.floats(0, 1e7), max_size=6).map(tuple), st.floats(-1e7, 1e7))
def test_the_worst_case_is_never_better_than_the_root_of_the_squares(tolerances, gap):
    stack = Stack(gap, tolerances)
    assert stack.least_gap_nm <= stack.likely_least_gap_nm + 1e-6 * max(1, stack.worst_case_nm)
    assert stack.likely_least_gap_nm <= gap
