"""How long a load takes by each regime of a method: the lag, the hold, and until it may be opened."""

from collections.abc import Collection
from dataclasses import dataclass

from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.care.dew_point import dew_point_c, opens_from_c
from service.core.care.load import Load, door_hours, lag_to, warm_up
from service.core.care.load import lag as lag_of
from service.core.care.quarantine_cautions import treatment_cautions
from service.core.care.regimes import Method, QuarantineRules, Regime
from service.core.materials import Treatment


@dataclass(frozen=True, slots=True)
class CoolingQuestion:
    """A load, and the air that it goes into."""

    air_c: float
    method: Method = Method.FREEZING
    packing: Load | None = None
    treatments_used: Collection[Treatment] | None = None


@dataclass(frozen=True, slots=True)
class RegimeTime:
    """One regime in that air, in hours from door shut; None: it is never reached."""

    regime: str
    target_c: float | None
    hold_h: float
    lag_h: float | None
    door_h: float | None
    over_h: float | None


@dataclass(frozen=True, slots=True)
class CoolingAnswer:
    """``warm_up_h`` is the core's way to ``opens_from_c`` in the room, on the safe side."""

    is_predicted: bool
    regimes: tuple[RegimeTime, ...]
    dew_point_c: float | None
    opens_from_c: float | None
    warm_up_h: float | None
    handling: tuple[HandlingCaution, ...]


def cooling(question: CoolingQuestion, rules: QuarantineRules) -> CoolingAnswer:
    """The times of a load by an institution's rules, the quickest regime first."""
    opens = opens_from_c(rules.opened_in, rules.above_dew_point_k)
    is_cold = question.method is Method.FREEZING
    warm = warm_up(question.packing, question.air_c, rules, opens).hours if is_cold and opens is not None else None
    times = [_time(regime, question, rules, warm) for regime in rules.of(question.method)]
    room_c = rules.opened_in.temperature_c
    return CoolingAnswer(
        lag_of(question.packing, room_c, question.air_c, (room_c + question.air_c) / 2, rules).predicted,
        tuple(sorted(times, key=lambda time: (time.over_h is None, time.over_h or 0))),
        dew_point_c(rules.opened_in) if is_cold else None,
        opens if is_cold else None,
        warm,
        (
            *treatment_cautions(question.method, question.packing, question.air_c, rules),
            *handling_cautions([question.treatments_used]),
        ),
    )


def full_load_h(regimes: Collection[Regime], load: Load | None, air_c: float, rules: QuarantineRules) -> float | None:
    """The shortest time from door shut to the end of the hold, over all regimes that this air reaches."""
    hours = [door_hours(regime, lag_to(regime, load, air_c, rules)) for regime in regimes]
    return min((each for each in hours if each is not None), default=None)


def _time(regime: Regime, question: CoolingQuestion, rules: QuarantineRules, warm_up_h: float | None) -> RegimeTime:
    lag_h = lag_to(regime, question.packing, question.air_c, rules)
    door_h = door_hours(regime, lag_h)
    after = max(rules.acclimatise_h, warm_up_h or 0) if question.method is Method.FREEZING else 0.0
    over_h = None if door_h is None else door_h + after
    return RegimeTime(regime.code, regime.target_c, regime.hold_h, lag_h, door_h, over_h)
