"""A temperature log, and when it shows that a treatment has been held.

The rules, each on the safe side:

- The hold begins with the first reading at which the core is where the regime wants it, not when the door shuts.
- Between two readings the core is taken to be at the worse of the two; readings may come at any interval.
- A reading that is off by more than the tolerance begins the hold anew, and so does a gap longer than the longest.
- Two readings of one moment count as the worse one. Readings without a core temperature say nothing about the core.
- Where only the air was logged, the hold begins when the load's lag has passed at that air; see ``held_by_air``.

So a log that is nowhere better never ends earlier. The rest between two cycles is the one place where the regime
itself asks for warmth.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import groupby

from service.core.care.regimes import Method, QuarantineRules, Regime

#: How finely the air of an unprobed log is graded: its lag is reckoned for whole steps, rounded to the worse one.
AIR_STEP_C = 0.5


@dataclass(frozen=True, slots=True)
class Reading:
    """One row of a logger, at one moment. What it did not measure is ``None``."""

    at: datetime
    core_c: float | None = None
    air_c: float | None = None
    oxygen_percent: float | None = None


@dataclass(frozen=True, slots=True)
class Span:
    """A time over which something held without a break, both ends included."""

    first: datetime
    last: datetime

    @property
    def length(self) -> timedelta:
        return self.last - self.first


@dataclass(frozen=True, slots=True)
class Held:
    """A regime that a log fulfils: when the last hold began and when it was long enough."""

    regime: str
    first: datetime
    at: datetime
    by_air: bool = False


def merged(readings: Iterable[Reading], method: Method) -> tuple[Reading, ...]:
    """The readings of all logs in the order of time, those of one moment as the worst of them."""
    ordered = sorted(readings, key=lambda reading: reading.at)
    return tuple(_worst([*same], method) for _, same in groupby(ordered, key=lambda reading: reading.at))


def held(readings: Sequence[Reading], regime: Regime, rules: QuarantineRules) -> Held | None:
    """The earliest fulfilment of a regime by readings at the core (for low oxygen: beside the material).

    ``readings`` are in order, as :func:`merged` gives them. None: it has not been held.
    """
    told = [reading for reading in readings if _tells(reading, regime)]
    since: datetime | None = None
    for cycle in range(1, regime.cycles + 1):
        span = _first_long_enough(hold_spans(told, regime, rules), since, regime.hold_h)
        if span is None:
            return None
        began = span.first if since is None else max(span.first, since)
        done = began + timedelta(hours=regime.hold_h)
        if cycle == regime.cycles:
            return Held(regime.code, began, done)
        rest = _first_long_enough(_rests(told, regime, rules), done, regime.rest_h or 0)
        if rest is None:
            return None
        since = max(rest.first, done) + timedelta(hours=regime.rest_h or 0)
    return None


def held_by_air(
    readings: Sequence[Reading], regime: Regime, rules: QuarantineRules, lag_h: Callable[[float], float | None]
) -> Held | None:
    """The earliest fulfilment of a regime of one cycle that the air of a freezer or chamber lets one conclude.

    ``lag_h`` says how long the load takes to come to the regime's temperature in air of some temperature; None is
    never. The warmest air of the span counts (in a chamber the coolest), and any break begins the lag anew.
    """
    target = regime.target_c
    told = [reading for reading in readings if reading.air_c is not None]
    if target is None or regime.cycles > 1 or regime.method is Method.LOW_OXYGEN or not told:
        return None
    found = [_held_in_air(told, regime, rules, air, lag_h(air)) for air in _air_steps(told, regime.method)]
    return min((one for one in found if one), key=lambda one: one.at, default=None)


def hold_spans(readings: Sequence[Reading], regime: Regime, rules: QuarantineRules) -> tuple[Span, ...]:
    """Every span over which the readings are where the regime wants them, long enough or not."""
    return _spans(
        readings,
        lambda reading: _is_there(reading, regime, 0),
        lambda reading: _is_there(reading, regime, rules.warm_spell_k),
        rules,
    )


def _spans(
    readings: Iterable[Reading],
    begins: Callable[[Reading], bool],
    goes_on: Callable[[Reading], bool],
    rules: QuarantineRules,
) -> tuple[Span, ...]:
    longest, found, first, last = timedelta(hours=rules.longest_gap_h), [], None, None
    for reading in readings:
        if first is not None and last is not None and (reading.at - last > longest or not goes_on(reading)):
            found.append(Span(first, last))
            first = None
        if first is None and begins(reading):
            first = reading.at
        last = reading.at
    return tuple([*found, Span(first, last)] if first is not None and last is not None else found)


def _first_long_enough(spans: Iterable[Span], since: datetime | None, hours: float) -> Span | None:
    wanted = timedelta(hours=hours)
    for span in spans:
        first = span.first if since is None else max(span.first, since)
        if span.last - first >= wanted:
            return span
    return None


def _rests(readings: Iterable[Reading], regime: Regime, rules: QuarantineRules) -> tuple[Span, ...]:
    warm = regime.rest_at_least_c
    is_warm: Callable[[Reading], bool] = lambda reading: warm is not None and (reading.core_c or 0) >= warm  # noqa: E731
    return _spans(readings, is_warm, is_warm, rules)


def _tells(reading: Reading, regime: Regime) -> bool:
    if regime.method is Method.LOW_OXYGEN:
        return reading.oxygen_percent is not None and (regime.core_at_least_c is None or reading.core_c is not None)
    return reading.core_c is not None


def _is_there(reading: Reading, regime: Regime, tolerance_k: float) -> bool:
    """Whether a reading that tells is where the regime wants it; oxygen knows no tolerance."""
    core, oxygen = reading.core_c, reading.oxygen_percent
    most, least, airless = regime.core_at_most_c, regime.core_at_least_c, regime.oxygen_at_most_percent
    return (
        (most is None or (core is not None and core <= most + tolerance_k))
        and (least is None or (core is not None and core >= least - tolerance_k))
        and (airless is None or (oxygen is not None and oxygen <= airless))
    )


def _worst(same: list[Reading], method: Method) -> Reading:
    worst = max if method is Method.FREEZING else min
    cores = [reading.core_c for reading in same if reading.core_c is not None]
    airs = [reading.air_c for reading in same if reading.air_c is not None]
    oxygen = [reading.oxygen_percent for reading in same if reading.oxygen_percent is not None]
    return replace(
        same[0],
        core_c=worst(cores, default=None),
        air_c=worst(airs, default=None),
        oxygen_percent=max(oxygen, default=None),
    )


def _air_steps(readings: Iterable[Reading], method: Method) -> list[float]:
    """The steps of air that occur, each reading rounded to the worse side."""
    sign = 1 if method is Method.FREEZING else -1
    whole = {-(-sign * (reading.air_c or 0) // AIR_STEP_C) for reading in readings}
    return [sign * step * AIR_STEP_C for step in sorted(whole)]


def _held_in_air(
    readings: Sequence[Reading], regime: Regime, rules: QuarantineRules, air_c: float, lag_h: float | None
) -> Held | None:
    if lag_h is None:
        return None
    sign = 1 if regime.method is Method.FREEZING else -1
    stays: Callable[[Reading], bool] = lambda reading: sign * (reading.air_c or 0) <= sign * air_c  # noqa: E731
    span = _first_long_enough(_spans(readings, stays, stays, rules), None, lag_h + regime.hold_h)
    if span is None:
        return None
    began = span.first + timedelta(hours=lag_h)
    return Held(regime.code, began, began + timedelta(hours=regime.hold_h), by_air=True)
