"""A quarantine as it stands: what was written down and logged decides, and what nobody knows is not over."""

from datetime import UTC, date, datetime, timedelta

from care_builders import START, air_log, cores, log, quarantine

from service.core.care.forecast import forecast
from service.core.care.load import Load, Packed, lag
from service.core.care.quarantine import Inspection, Known, Released, State, standing, treated
from service.core.care.quarantine_cautions import quarantine_cautions
from service.core.care.regimes import Method, QuarantineRules
from service.core.consignment import PestSigns
from service.core.handbook import figure
from service.core.materials import Treatment

RULES = QuarantineRules()
LATER = START + timedelta(days=60)
OUT = START + timedelta(hours=90)
COLD = log((10, 0.0), (80, -26.0))


def test_without_a_log_nothing_has_been_held() -> None:
    now = standing(quarantine(), RULES, Known(), LATER)
    assert (now.state, now.is_free) == (State.WAITING, False)
    assert now.missing == "Nobody has uploaded a log that shows what it went through."


def test_held_long_enough_it_stays_shut_until_somebody_takes_it_out_and_it_is_warm() -> None:
    held = standing(quarantine(), RULES, Known(COLD), LATER)
    assert (held.state, held.over_at) == (State.HELD, None)
    assert "taken out" in (held.missing or "")
    out = quarantine(taken_out_at=OUT)
    assert standing(out, RULES, Known(COLD), OUT + timedelta(hours=23)).state is State.HELD
    over = standing(out, RULES, Known(COLD), OUT + timedelta(hours=24))
    assert (over.state, over.is_free, over.over_at) == (State.OVER, True, OUT + timedelta(hours=24))


def test_readings_before_the_door_was_shut_or_after_it_was_opened_do_not_count() -> None:
    late = quarantine(shut_at=START + timedelta(hours=30))
    assert standing(late, RULES, Known(COLD), LATER).state is State.UNDER_WAY
    early = quarantine(taken_out_at=START + timedelta(hours=60))
    assert standing(early, RULES, Known(COLD), LATER).state is State.UNDER_WAY


def test_live_pests_begin_the_quarantine_anew() -> None:
    seen = Inspection(date(2026, 11, 20), "Marta Quillfeather", PestSigns.LIVE)
    out = quarantine(taken_out_at=OUT)
    now = standing(out, RULES, Known(COLD, (seen,)), LATER)
    assert (now.state, now.is_free, now.live_seen_on) == (State.WAITING, False, seen.on)


def test_a_release_needs_nobody_to_believe_that_it_is_over() -> None:
    released = Released("Agnes Thorne", "The exhibition opens tomorrow.", START + timedelta(hours=20))
    now = standing(quarantine(), RULES, Known(COLD[:20], (), (released,)), LATER)
    assert (now.state, now.is_free, now.released) == (State.UNDER_WAY, True, released)


def test_a_release_does_not_outlive_live_pests_seen_after_it() -> None:
    released = Released("Agnes Thorne", "Promised.", START)
    seen = Inspection(date(2026, 11, 20), "Marta Quillfeather", PestSigns.LIVE)
    assert not standing(quarantine(), RULES, Known((), (seen,), (released,)), LATER).is_free


def test_it_is_looked_at_two_weeks_after_and_then_every_six_months() -> None:
    """Two weeks: PestList, April 2024. Six months: University of Alaska, 2016."""
    out, over_on = quarantine(taken_out_at=OUT), (OUT + timedelta(hours=24)).date()
    assert standing(out, RULES, Known(COLD), LATER).inspect_on == over_on + timedelta(days=14)
    looked = Inspection(date(2026, 11, 20), "Marta Quillfeather", PestSigns.NONE_SEEN)
    assert standing(out, RULES, Known(COLD, (looked,)), LATER).inspect_on == date(2027, 5, 20)
    assert standing(quarantine(), RULES, Known(COLD), LATER).inspect_on is None


def test_the_air_alone_counts_with_the_lag_of_the_load_and_a_probe_goes_before_it() -> None:
    crate = Load(Packed.BAGGED_CRATE, 6)
    held = quarantine(packing=crate, air_set_c=-30)
    hours = lag(crate, 20, -30, -25, RULES).hours or 0
    enough, short = air_log((hours + 72, -30.0)), air_log((hours + 71, -30.0))
    assert standing(held, RULES, Known(enough), LATER).held is not None
    assert standing(held, RULES, Known(short), LATER).held is None
    probed = (*enough, *log((2, -10.0)))
    assert standing(held, RULES, Known(probed), LATER).held is None


def test_a_forecast_is_corrected_by_what_the_probe_shows() -> None:
    crate = Load(Packed.BAGGED_CRATE, 8)
    held = quarantine(packing=crate, air_set_c=-30.0)
    before = forecast(held, RULES, ())
    assert before is not None
    assert before.lag_h == before.predicted_lag_h
    assert before.probe_factor is None
    quick = forecast(held, RULES, treated(held, log((4, 20.0), (1, -24.0)), None))
    assert quick is not None
    assert quick.lag_h < before.lag_h
    assert quick.held_at < before.held_at
    there = forecast(held, RULES, treated(held, log((6, 0.0), (1, -25.5)), None))
    assert there is not None
    assert round(there.lag_h) == 6


def test_after_a_warm_spell_the_forecast_counts_from_the_hold_that_is_under_way() -> None:
    """Cold again after 73 hours, and three days from there."""
    cores_c = [0.0] * 10 + [-26.0] * 60 + [-15.0] * 3 + [-26.0] * 20
    spell = cores(cores_c)
    found = forecast(quarantine(air_set_c=-30.0), RULES, spell)
    assert found is not None
    assert found.held_at - START == timedelta(hours=73 + 72)
    warm = forecast(quarantine(air_set_c=-30.0), RULES, spell[:73])
    assert warm is not None
    assert warm.held_at - spell[72].at >= timedelta(hours=72)


def test_nothing_is_forecast_in_air_that_is_not_cold_enough_or_not_stated() -> None:
    assert forecast(quarantine(air_set_c=-15.0), RULES, ()) is None
    assert forecast(quarantine(), RULES, ()) is None
    assert forecast(quarantine(shut_at=None, air_set_c=-30.0), RULES, ()) is None


def test_set_to_minus_30_and_unprobed_it_is_forecast_for_108_hours_after_the_door_shuts() -> None:
    """36 hours of lag (Bergh et al.) and 72 hours below -25 °C (Hammer 2012)."""
    found = forecast(quarantine(air_set_c=-30.0), RULES, ())
    assert found is not None
    assert found.held_at - START == timedelta(hours=108)
    assert found.over_at - START == timedelta(hours=132)


def codes(*args: object, **kwargs: object) -> set[str]:
    return {caution.code for caution in quarantine_cautions(*args, **kwargs)}  # type: ignore[arg-type]


def test_a_single_bagged_drawer_and_great_cold_are_warned_of() -> None:
    """Viscardi 2024: bag a crate. National Museum of Natural History 2017: -80 °C did damage, -45 °C is better."""
    drawer = quarantine(packing=Load(Packed.BAGGED_DRAWER), air_set_c=-55.0)
    assert {"bag-a-crate", "too-cold", "open-when-warm", "people"} <= codes(drawer, RULES)
    crate = quarantine(packing=Load(Packed.BAGGED_CRATE, 4), air_set_c=-45.0)
    assert not {"bag-a-crate", "too-cold"} & codes(crate, RULES)
    assert "logged-too-cold" in codes(crate, RULES, log((1, -55.0)))


def test_the_temperature_of_opening_is_said_in_figures() -> None:
    said = next(one for one in quarantine_cautions(quarantine(), RULES) if one.code == "open-when-warm")
    assert "9.3 °C" in said.sentence
    assert "12.3 °C or above" in said.sentence
    assert "Nobody stated the room's own air" in said.sentence
    for written in (figure("heat.room").as_written, figure("heat.room_humidity").as_written):
        assert written in said.sentence.partition("Nobody stated")[2]


def test_a_probe_that_is_still_cold_is_said() -> None:
    assert "still-cold" in codes(quarantine(), RULES, log((1, -3.0)))
    assert "still-cold" not in codes(quarantine(), RULES, log((1, 15.0)))


def test_what_was_used_before_comes_with_every_quarantine() -> None:
    assert "naphthalene" in codes(quarantine(treatments_used=(Treatment.NAPHTHALENE,)), RULES)
    assert "unknown-residues" in codes(quarantine(), RULES)
    assert "arsenic" in codes(quarantine(), RULES, (), [(Treatment.ARSENIC,)])


def test_nitrogen_is_over_when_it_has_been_held() -> None:
    held = quarantine(method=Method.LOW_OXYGEN)
    assert forecast(held, RULES, ()) is not None
    assert {"people"} <= codes(held, RULES)
    assert standing(held, RULES, Known(), datetime(2026, 12, 1, tzinfo=UTC)).state is State.WAITING
