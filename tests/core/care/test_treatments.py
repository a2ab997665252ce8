"""When a log shows that a treatment has been held: published regimes, gaps, warm spells, and the law of warmth."""

from datetime import timedelta

import pytest
from care_builders import START, air_log, airless, cores, log
from hypothesis import given
from hypothesis import strategies as st

from service.core.care.regimes import Method, QuarantineRules, Regime, faults_in, published_regimes
from service.core.care.temperature_log import Held, Reading, held, held_by_air, hold_spans, merged

RULES = QuarantineRules()
REGIMES = {regime.code: regime for regime in published_regimes()}
ONE_CYCLE = [regime for regime in RULES.of(Method.FREEZING) if regime.cycles == 1]


def first_held(
    readings: tuple[Reading, ...], rules: QuarantineRules = RULES, method: Method = Method.FREEZING
) -> Held | None:
    found = [one for regime in rules.of(method) if (one := held(merged(readings, method), regime, rules))]
    return min(found, key=lambda one: one.at, default=None)


@pytest.mark.parametrize(
    ("parts", "regime"),
    [
        (((96, -20.0),), None),
        (((239, -20.0),), None),
        (((240, -20.0),), "freezing-20"),
        (((48, -20.0), (8, 20.0), (48, -20.0)), "freezing-20-twice"),
        (((48, -20.0), (6, 20.0), (48, -20.0)), None),
        (((48, -20.0), (8, 19.0), (48, -20.0)), None),
        (((72, -25.0),), "freezing-25"),
        (((72, -24.9),), None),
        (((335, -18.0),), None),
        (((336, -18.0),), "freezing-18"),
        (((1000, -17.9),), None),
        (((48, -40.0),), "freezing-40"),
        (((47, -40.0),), None),
    ],
)
def test_freezing_is_held_as_published(parts: tuple[tuple[float, float], ...], regime: str | None) -> None:
    """Carnegie Museum: two weeks at -18 °C; Conserve O Gram 3/6 (1994): six to ten days at -20 °C, or twice 48 hours,
    with 8 hours at 20 to 21 °C between (C2C 2013); Hammer 2012: three days below -25 °C; Alaska 2016: two days at
    -40 °C.
    """
    found = first_held(log(*parts))
    assert (found.regime if found else None) == regime


@pytest.mark.parametrize(
    ("hours", "oxygen", "core", "regime"),
    [
        (504, 0.5, 24.0, "nitrogen-half-percent"),
        (504, 0.6, 24.0, None),
        (504, 1.0, 27.0, "nitrogen-one-percent"),
        (504, 1.0, 24.0, None),
        (503, 0.5, 24.0, None),
        (240, 0.1, None, "nitrogen-tenth-percent"),
        (168, 1.5, 27.0, None),
    ],
)
def test_low_oxygen_is_held_as_published(hours: float, oxygen: float, core: float | None, regime: str | None) -> None:
    """Landsberger et al. 2020: 21 days at 0.5 % and 24 °C or at 1 % and 27 °C; Daniel et al. 1990: ten days at 0.1 %.
    Zhang 2013 found half of the larvae of Anthrenus verbasci alive after seven days at 1.5 %.
    """
    found = first_held(airless(hours, oxygen, core), method=Method.LOW_OXYGEN)
    assert (found.regime if found else None) == regime


def test_heat_is_held_for_an_hour_at_the_core() -> None:
    """Hammer 2012: above 55 °C one hour or more; MuseumPests, after Strang 1992: all stages at 55 °C."""
    assert first_held(log((1, 55.0), every_min=10), method=Method.HEAT)
    assert not first_held(log((0.9, 55.0), every_min=10), method=Method.HEAT)
    assert not first_held(log((24, 53.0), every_min=10), method=Method.HEAT)


def test_the_hold_begins_when_the_core_is_cold_and_not_when_the_door_shuts() -> None:
    found = first_held(log((20, 5.0), (72, -26.0)))
    assert found is not None
    assert found.first - START == timedelta(hours=20, seconds=1)
    assert found.at - found.first == timedelta(hours=72)


def test_a_warm_spell_begins_the_hold_anew() -> None:
    assert first_held(log((71, -26.0), (1, -23.0), (71, -26.0))) is None
    assert first_held(log((71, -26.0), (1, -23.0), (72, -26.0)))


def test_a_spell_within_the_tolerance_does_not() -> None:
    assert first_held(log((40, -25.0), (1, -24.2), (40, -25.0)))


def test_a_gap_longer_than_the_longest_begins_the_hold_anew() -> None:
    short, long = timedelta(hours=2), timedelta(hours=2, minutes=1)
    first = log((40, -26.0))
    for gap, expected in ((short, True), (long, False)):
        later = log((40, -26.0), start=first[-1].at + gap)
        assert bool(first_held((*first, *later))) is expected


@pytest.mark.parametrize("every_min", [1, 15, 60, 120])
def test_readings_may_come_at_any_interval(every_min: int) -> None:
    found = first_held(cores([-26.0] * (80 * 60 // every_min), every_min))
    assert found is not None
    assert found.at - found.first == timedelta(hours=72)


def test_of_two_probes_the_warmer_one_counts() -> None:
    cold, warm = log((80, -30.0)), log((80, -22.0))
    assert first_held((*cold, *warm)) is None


def test_several_logs_in_any_order_are_one_log() -> None:
    whole = log((80, -26.0))
    assert first_held((*whole[40:], *whole[:40])) == first_held(whole)


def test_readings_without_a_core_temperature_say_nothing_about_the_core() -> None:
    assert first_held(air_log((400, -30.0))) is None


def test_an_unprobed_freezer_at_minus_30_needs_36_and_72_hours() -> None:
    """36 h is the longest time to equilibrium that Bergh et al. measured (upholstered wood)."""
    regime = REGIMES["freezing-25"]
    lag = lambda air_c: RULES.unprobed_lag_h if air_c <= -27 else None  # noqa: E731
    assert held_by_air(air_log((108, -30.0)), regime, RULES, lag)
    assert not held_by_air(air_log((107, -30.0)), regime, RULES, lag)
    found = held_by_air(air_log((200, -30.0)), regime, RULES, lag)
    assert found is not None
    assert found.by_air
    assert found.at - START == timedelta(hours=108)


def test_a_warm_spell_of_the_air_begins_the_lag_anew() -> None:
    regime = REGIMES["freezing-25"]
    readings = air_log((100, -30.0), (1, -10.0), (107, -30.0))
    lag = lambda air_c: 36.0 if air_c <= -27 else None  # noqa: E731
    assert held_by_air(readings, regime, RULES, lag) is None


temperatures = st.lists(st.sampled_from([-41.0, -31.0, -26.0, -25.0, -24.5, -24.0, -21.0, -18.0, -10.0]), max_size=14)
warmings = st.lists(st.sampled_from([0.0, 0.0, 0.0, 0.5, 1.0, 6.0]), min_size=14, max_size=14)
#: The published table with its hours shortened, so that short logs fulfil it now and then.
QUICK = QuarantineRules(
    regimes=tuple(Regime(r.code, r.method, r.hold_h / 24, core_at_most_c=r.core_at_most_c) for r in ONE_CYCLE)
)


@given(temperatures, warmings, st.sets(st.integers(0, 13)))
def test_a_warmer_log_never_ends_earlier(below: list[float], by: list[float], lost: set[int]) -> None:
    """Whatever is warmer, wherever, and with the same gaps: the treatment is over no sooner."""
    cold = tuple(reading for place, reading in enumerate(cores(below)) if place not in lost)
    warm = tuple(
        Reading(reading.at, core_c=(reading.core_c or 0) + by[place])
        for place, reading in enumerate(cores(below))
        if place not in lost
    )
    sooner, later = first_held(cold, QUICK), first_held(warm, QUICK)
    assert later is None or (sooner is not None and sooner.at <= later.at)


@given(temperatures, st.sets(st.integers(0, 13)))
def test_a_log_with_fewer_readings_and_longer_gaps_never_ends_earlier(below: list[float], lost: set[int]) -> None:
    rules = QuarantineRules(regimes=QUICK.regimes, longest_gap_h=1)
    whole = cores(below)
    fewer = tuple(reading for place, reading in enumerate(whole) if place not in lost)
    sooner, later = first_held(whole, rules), first_held(fewer, rules)
    assert later is None or (sooner is not None and sooner.at <= later.at)


@given(temperatures, warmings)
def test_warmer_air_never_ends_earlier(below: list[float], by: list[float]) -> None:
    regime = Regime("quick", Method.FREEZING, 3, core_at_most_c=-20)
    lag = lambda air_c: None if air_c >= -20 else 40 / (-20 - air_c)  # noqa: E731
    cold = tuple(Reading(reading.at, air_c=reading.core_c) for reading in cores(below))
    warm = tuple(Reading(one.at, air_c=(one.air_c or 0) + more) for one, more in zip(cold, by, strict=False))
    sooner, later = held_by_air(cold, regime, RULES, lag), held_by_air(warm, regime, RULES, lag)
    assert later is None or (sooner is not None and sooner.at <= later.at)


two_cycles = Regime("twice", Method.FREEZING, 3, core_at_most_c=-20, cycles=2, rest_h=2, rest_at_least_c=20)


@given(st.lists(st.sampled_from([-26.0, -20.0, 20.0, 25.0]), max_size=16), warmings)
def test_with_two_cycles_warmth_counts_in_the_rest_alone(below: list[float], by: list[float]) -> None:
    """Where it is cold and grows warmer without thawing, the second cycle ends no sooner."""
    raised = [
        min(core + more, 19.0) if core < 20 else core for core, more in zip(below, [*by, 0.0, 0.0], strict=False)
    ]
    sooner, later = held(cores(below), two_cycles, RULES), held(cores(raised), two_cycles, RULES)
    assert later is None or (sooner is not None and sooner.at <= later.at)


@given(temperatures)
def test_every_span_is_as_cold_as_the_regime_wants_it(below: list[float]) -> None:
    readings = cores(below)
    for regime in ONE_CYCLE:
        for span in hold_spans(readings, regime, RULES):
            inside = [reading.core_c for reading in readings if span.first <= reading.at <= span.last]
            assert inside[0] is not None
            assert inside[0] <= (regime.core_at_most_c or 0)
            assert all(core is not None and core <= (regime.core_at_most_c or 0) + 1 for core in inside)


def test_a_table_of_regimes_is_held_together() -> None:
    assert faults_in(published_regimes()) == ()
    twice = Regime("a", Method.FREEZING, 48, core_at_most_c=-20, cycles=2)
    faults = faults_in((twice, Regime("a", Method.HEAT, 1)))
    assert [fault.pointer for fault in faults] == [
        "/regimes/0/rest_h", "/regimes/1/code", "/regimes/1/core_at_least_c",
    ]  # fmt: skip
