"""A quarantine: what is in it, what was done to it, and whether it is over. All of it is read off what was written
down; nobody sets a state.

What is not known is not over: without a log nothing has been held, and without the hour at which it was taken out
nothing has warmed up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from uuid import UUID

from service.core.care.load import Load, lag_to
from service.core.care.regimes import Method, QuarantineRules, Regime
from service.core.care.temperature_log import Held, Reading, held, held_by_air, merged
from service.core.consignment import PestSigns
from service.core.materials import Treatment
from service.core.transfers.calendar import add


class State(StrEnum):
    """How far a quarantine is."""

    WAITING = "waiting"
    """Nothing has been done that a log shows."""
    UNDER_WAY = "under_way"
    """There are readings, and they do not show the treatment held yet."""
    HELD = "held"
    """The treatment has been held; it has not warmed up for long enough yet, and stays shut."""
    OVER = "over"
    """The treatment was held, and the time shut after it has passed."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What is in quarantine: lines of a transfer (none named: all of them), a consignment, trays of the inventory by
    their codes, or something described.
    """

    transfer_id: UUID | None = None
    lines: tuple[str, ...] = ()
    consignment_id: UUID | None = None
    trays: tuple[str, ...] = ()
    description: str = ""


@dataclass(frozen=True, slots=True)
class Quarantine:
    """What somebody wrote down. ``air_set_c`` is what the freezer or chamber was set to."""

    subject: Subject
    arrived_on: date
    method: Method = Method.FREEZING
    packing: Load | None = None
    drawers: int | None = None
    air_set_c: float | None = None
    shut_at: datetime | None = None
    taken_out_at: datetime | None = None
    promised_on: date | None = None
    pest_signs: PestSigns | None = None
    treatments_used: tuple[Treatment, ...] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Inspection:
    """Somebody looked, on a day. ``signs`` of live pests begin the quarantine anew."""

    on: date
    by: str
    signs: PestSigns
    note: str = ""


@dataclass(frozen=True, slots=True)
class Released:
    """Somebody let it go before it was over: who, why and when. It stays visible for good."""

    by: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a quarantine besides its text."""

    readings: tuple[Reading, ...] = ()
    inspections: tuple[Inspection, ...] = ()
    releases: tuple[Released, ...] = ()


@dataclass(frozen=True, slots=True)
class Standing:
    """How a quarantine stands. ``is_free``: nothing keeps its material from being placed or lent on."""

    state: State
    held: Held | None
    over_at: datetime | None
    released: Released | None
    live_seen_on: date | None
    inspect_on: date | None
    missing: str | None

    @property
    def is_free(self) -> bool:
        return self.state is State.OVER or self.released is not None


def standing(quarantine: Quarantine, rules: QuarantineRules, known: Known, now: datetime) -> Standing:
    """How a quarantine stands at a moment, by the institution's own rules."""
    live = max((seen.on for seen in known.inspections if seen.signs is PestSigns.LIVE), default=None)
    readings = treated(quarantine, known.readings, live)
    done = fulfilled(quarantine, rules, readings)
    over_at = _over_at(quarantine, rules, done)
    state = _state(readings, done, over_at, now)
    released = next((one for one in reversed(known.releases) if live is None or one.at.date() > live), None)
    free_on = over_at.date() if over_at and state is State.OVER else released.at.date() if released else None
    return Standing(
        state,
        done,
        over_at,
        released,
        live,
        _inspect_on(rules, known.inspections, free_on),
        _missing(quarantine, readings, done, state),
    )


def treated(quarantine: Quarantine, readings: Sequence[Reading], live_seen_on: date | None) -> tuple[Reading, ...]:
    """The readings that count, in order: with the door shut, and after the last day on which live pests were seen."""
    shut, out = quarantine.shut_at, quarantine.taken_out_at
    return merged(
        (
            reading
            for reading in readings
            if (shut is None or reading.at >= shut)
            and (out is None or reading.at <= out)
            and (live_seen_on is None or reading.at.date() > live_seen_on)
        ),
        quarantine.method,
    )


def fulfilled(quarantine: Quarantine, rules: QuarantineRules, readings: Sequence[Reading]) -> Held | None:
    """The regime that the readings fulfil first, if any. A probe at the core goes before the air."""
    found = [one for regime in rules.of(quarantine.method) if (one := held(readings, regime, rules))]
    if not any(reading.core_c is not None for reading in readings):
        found += [
            one for regime in rules.of(quarantine.method) if (one := _by_air(quarantine, regime, rules, readings))
        ]
    return min(found, key=lambda one: (one.at, one.regime), default=None)


def _by_air(
    quarantine: Quarantine, regime: Regime, rules: QuarantineRules, readings: Sequence[Reading]
) -> Held | None:
    return held_by_air(readings, regime, rules, lambda air_c: lag_to(regime, quarantine.packing, air_c, rules))


def _over_at(quarantine: Quarantine, rules: QuarantineRules, done: Held | None) -> datetime | None:
    """After cold it stays shut until it has warmed up, counted from when it was taken out."""
    if done is None:
        return None
    if quarantine.method is not Method.FREEZING:
        return done.at
    if quarantine.taken_out_at is None:
        return None
    return max(done.at, quarantine.taken_out_at) + timedelta(hours=rules.acclimatise_h)


def _state(readings: Sequence[Reading], done: Held | None, over_at: datetime | None, now: datetime) -> State:
    if done is not None and done.at <= now:
        return State.OVER if over_at is not None and over_at <= now else State.HELD
    return State.UNDER_WAY if readings else State.WAITING


def _missing(quarantine: Quarantine, readings: Sequence[Reading], done: Held | None, state: State) -> str | None:
    """The next thing that nobody has written down, in words; None when it is over."""
    if state is State.OVER:
        return None
    if done is not None:
        if quarantine.method is Method.FREEZING and quarantine.taken_out_at is None:
            return "It has been held long enough; nobody has written down when it was taken out."
        return "It has been held long enough and has to warm up, shut."
    if not readings:
        return "Nobody has uploaded a log that shows what it went through."
    return "The log does not show that any regime was held for long enough."


def _inspect_on(rules: QuarantineRules, inspections: Sequence[Inspection], free_on: date | None) -> date | None:
    """The day on which it is to be looked at next: some time after it is free, and then again and again."""
    if free_on is None:
        return None
    looked = max((seen.on for seen in inspections if seen.on >= free_on), default=None)
    return free_on + timedelta(days=rules.observe_days) if looked is None else add(looked, rules.inspect_every)
