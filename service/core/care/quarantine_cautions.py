"""What can hurt people or specimens in a quarantine: said with every answer about one."""

from collections.abc import Collection, Iterable, Iterator, Sequence

from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.care.dew_point import dew_point_c, opens_from_c
from service.core.care.load import Load, Packed, warm_up
from service.core.care.quarantine import Quarantine
from service.core.care.regimes import Method, QuarantineRules
from service.core.care.temperature_log import Reading
from service.core.handbook import figure, people_caution, specimen_caution, work_caution
from service.core.handbook.cautions import local_rules
from service.core.handbook.entries import Caution
from service.core.materials import Treatment
from service.core.measure.dimension import Grade

_DONE_WITH = {Method.FREEZING: Treatment.FREEZING, Method.LOW_OXYGEN: Treatment.NITROGEN_ANOXIA}


def quarantine_cautions(
    quarantine: Quarantine,
    rules: QuarantineRules,
    readings: Sequence[Reading] = (),
    used: Iterable[Collection[Treatment] | None] = (),
    is_over: bool = False,
) -> tuple[HandlingCaution, ...]:
    """Everything to mind with a quarantine: the treatment, the load, its opening, and what was used on it before.

    ``readings`` are all that were logged, those after it was taken out as well. ``used`` is what was used before on
    each lot in it, where the transfer or the consignment says so.
    """
    return (
        *treatment_cautions(quarantine.method, quarantine.packing, quarantine.air_set_c, rules),
        *_logged_too_cold(readings),
        *(() if is_over else _still_cold(quarantine, rules, readings)),
        *handling_cautions([*used] or [quarantine.treatments_used]),
    )


def treatment_cautions(
    method: Method, load: Load | None, air_c: float | None, rules: QuarantineRules
) -> tuple[HandlingCaution, ...]:
    """What to mind with a treatment of a load, before anything has been logged."""
    if method is Method.FREEZING:
        return (*_of_freezing(load, air_c, rules), _said("people", people_caution(Treatment.FREEZING)))
    if method is Method.HEAT:
        caution = work_caution("heat_and_insects")
        return (HandlingCaution("heat", f"{caution.text} {local_rules()}", caution.source, caution.grade),)
    return (_said("people", people_caution(_DONE_WITH[method])),)


def _of_freezing(load: Load | None, air_c: float | None, rules: QuarantineRules) -> Iterator[HandlingCaution]:
    if load is not None and load.packed is Packed.BAGGED_DRAWER:
        yield _said("bag-a-crate", work_caution("bag_a_crate"))
    if air_c is not None and air_c < float(figure("quarantine.coldest").value):
        yield _said("too-cold", work_caution("too_cold"))
    yield _said("drop-fast", work_caution("drop_fast"))
    glue = specimen_caution(Treatment.FREEZING)
    if glue is not None:
        yield _said("old-glue", glue)
    yield _opening(load, air_c, rules)


def _opening(load: Load | None, air_c: float | None, rules: QuarantineRules) -> HandlingCaution:
    """From which temperature on it may be opened, and how long that takes."""
    caution, room = work_caution("open_when_warm"), rules.opened_in
    opens, dew = opens_from_c(room, rules.above_dew_point_k), dew_point_c(room)
    sentence = caution.text
    if opens is not None and dew is not None:
        sentence += (
            f" In a room of {room.temperature_c:g} °C and {room.relative_humidity_percent:g} % the dew point is"
            f" {dew:.1f} °C: open it when its coldest point is at {opens:.1f} °C or above, and not before"
            f" {rules.acclimatise_h:g} hours."
        )
        took = None if air_c is None or load is None else warm_up(load, air_c, rules, opens).hours
        if took is not None and took > rules.acclimatise_h:
            sentence += f" This load is expected to take {took:.0f} hours."
    if rules.room is None:
        written = f"{figure('heat.room').as_written} and {figure('heat.room_humidity').as_written}"
        sentence += f" Nobody stated the room's own air; these are the handbook's {written}."
    return HandlingCaution("open-when-warm", sentence, caution.source, caution.grade)


def _logged_too_cold(readings: Sequence[Reading]) -> Iterator[HandlingCaution]:
    coldest = float(figure("quarantine.coldest").value)
    logged = [each for reading in readings for each in (reading.core_c, reading.air_c) if each is not None]
    if logged and min(logged) < coldest:
        caution = work_caution("too_cold")
        yield HandlingCaution(
            "logged-too-cold",
            f"The log goes down to {min(logged):.1f} °C. {caution.text}",
            caution.source,
            caution.grade,
        )


def _still_cold(
    quarantine: Quarantine, rules: QuarantineRules, readings: Sequence[Reading]
) -> Iterator[HandlingCaution]:
    """The last reading of a probe below the temperature at which it may be opened."""
    opens = opens_from_c(rules.opened_in, rules.above_dew_point_k)
    cores = [reading for reading in readings if reading.core_c is not None]
    if quarantine.method is not Method.FREEZING or opens is None or not cores:
        return
    last = cores[-1].core_c
    if last is not None and last < opens:
        sentence = (
            f"The probe last read {last:.1f} °C, below the {opens:.1f} °C at which it may be opened: keep it shut."
        )
        yield HandlingCaution(
            "still-cold", sentence, "Reckoned from the log and the room's air", Grade.COMMON_PRACTICE
        )


def _said(code: str, caution: Caution) -> HandlingCaution:
    return HandlingCaution(code, caution.text, caution.source, caution.grade)
