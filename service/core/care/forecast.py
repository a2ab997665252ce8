"""When a treatment is expected to be through: the lag of the load, corrected by what a probe has shown so far.

A forecast plans the freezer. It never ends a quarantine; only a log does.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.core.care.load import Lag, door_hours, lag
from service.core.care.quarantine import Quarantine
from service.core.care.regimes import Method, QuarantineRules, Regime
from service.core.care.temperature_log import Reading, hold_spans

#: The part of the way that a probe must have gone before it corrects a prediction: sooner, its delay says little.
_TELLING_SHARE = 0.2
_SECONDS_PER_HOUR = 3_600


@dataclass(frozen=True, slots=True)
class Forecast:
    """``predicted_lag_h`` is the load's on the safe side, ``lag_h`` the same as a probe has corrected it so far.

    ``probe_factor`` is measured against predicted before the safety of the institution's factor: an institution may
    put its own in place of the handbook's. None: no probe has gone far enough to tell.
    """

    regime: str
    predicted_lag_h: float
    lag_h: float
    probe_factor: float | None
    held_at: datetime
    over_at: datetime


def forecast(quarantine: Quarantine, rules: QuarantineRules, readings: Sequence[Reading]) -> Forecast | None:
    """The regime that would be fulfilled first, with the door shut as stated and the air as it was set.

    None where the hour or the air is not stated, or no regime can be reached in that air. Regimes of several cycles
    are left out: somebody has to take the load out between them, and nobody has said when.
    """
    if quarantine.shut_at is None:
        return None
    one_cycle = [regime for regime in rules.of(quarantine.method) if regime.cycles == 1]
    found = [_of(quarantine, quarantine.shut_at, regime, rules, readings) for regime in one_cycle]
    return min((one for one in found if one), key=lambda one: (one.over_at, one.regime), default=None)


def _of(
    quarantine: Quarantine, shut_at: datetime, regime: Regime, rules: QuarantineRules, readings: Sequence[Reading]
) -> Forecast | None:
    predicted = _predicted(quarantine, regime, rules)
    if predicted is None or predicted.hours is None:
        return None
    measured = _measured(predicted, quarantine, rules, shut_at, readings)
    lag_h = measured if measured is not None else predicted.hours
    whole = door_hours(regime, lag_h) or 0
    held_at = _as_logged(regime, rules, readings, shut_at + timedelta(hours=whole))
    after = rules.acclimatise_h if quarantine.method is Method.FREEZING else 0
    unsafe = predicted.hours / rules.lag_factor if predicted.predicted else predicted.hours
    factor = None if measured is None or unsafe == 0 else measured / unsafe
    return Forecast(regime.code, predicted.hours, lag_h, factor, held_at, held_at + timedelta(hours=after))


def _as_logged(regime: Regime, rules: QuarantineRules, readings: Sequence[Reading], planned: datetime) -> datetime:
    """When the hold is through that the log shows to be under way; where none is, no sooner than one begun now."""
    told = [reading for reading in readings if reading.core_c is not None]
    if not told or regime.method is Method.LOW_OXYGEN:
        return planned
    spans, hold, last = hold_spans(told, regime, rules), timedelta(hours=regime.hold_h), told[-1].at
    if spans and spans[-1].last == last:
        return spans[-1].first + hold
    return max(planned, last + hold)


def _predicted(quarantine: Quarantine, regime: Regime, rules: QuarantineRules) -> Lag | None:
    start, target, air = rules.opened_in.temperature_c, regime.target_c, quarantine.air_set_c
    if regime.method is Method.LOW_OXYGEN:
        return Lag(0.0, start, start, start, predicted=False)
    if target is None or air is None:
        return None
    return lag(quarantine.packing, start, air, target, rules)


def _measured(
    predicted: Lag, quarantine: Quarantine, rules: QuarantineRules, shut_at: datetime, readings: Sequence[Reading]
) -> float | None:
    """The lag as a probe shows it: read off when the core is there, else stretched by how far it has come."""
    cooling = predicted.target_c < predicted.start_c
    cores = [(reading.at, reading.core_c) for reading in readings if reading.core_c is not None]
    for at, core in cores:
        if core <= predicted.target_c if cooling else core >= predicted.target_c:
            return (at - shut_at).total_seconds() / _SECONDS_PER_HOUR
    if not cores or not predicted.predicted or not predicted.hours:
        return None
    at, core = cores[-1]
    gone = (core - predicted.start_c) / (predicted.target_c - predicted.start_c)
    if gone < _TELLING_SHARE:
        return None
    so_far = lag(quarantine.packing, predicted.start_c, predicted.air_c, core, rules).hours
    elapsed = (at - shut_at).total_seconds() / _SECONDS_PER_HOUR
    return None if not so_far else predicted.hours * elapsed / so_far
