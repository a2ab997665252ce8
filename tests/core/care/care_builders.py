"""Temperature logs and quarantines for the tests."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

from service.core.care.quarantine import Quarantine, Subject
from service.core.care.temperature_log import Reading

START = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)


def log(*parts: tuple[float, float], every_min: int = 60, start: datetime = START) -> tuple[Reading, ...]:
    """A probe's log from parts of (hours, °C): the temperature stands until the part is over."""
    readings, at = [], start
    for hours, core in parts:
        end = at + timedelta(hours=hours)
        while at < end:
            readings.append(Reading(at, core_c=core))
            at += timedelta(minutes=every_min)
        readings.append(Reading(end, core_c=core))
        at = end + timedelta(seconds=1)
    return tuple(readings)


def air_log(*parts: tuple[float, float]) -> tuple[Reading, ...]:
    """The same of the freezer's air, with nothing at the core."""
    return tuple(Reading(reading.at, air_c=reading.core_c) for reading in log(*parts))


def cores(temperatures: Sequence[float], every_min: int = 60) -> tuple[Reading, ...]:
    return tuple(
        Reading(START + timedelta(minutes=every_min * place), core_c=core) for place, core in enumerate(temperatures)
    )


def airless(hours: float, oxygen_percent: float, core_c: float | None) -> tuple[Reading, ...]:
    """A bag or chamber with little oxygen, logged every hour."""
    return tuple(
        Reading(START + timedelta(hours=hour), core_c=core_c, oxygen_percent=oxygen_percent)
        for hour in range(int(hours) + 1)
    )


def quarantine(**changes: object) -> Quarantine:
    said: dict[str, object] = {
        "subject": Subject(description="twelve drawers from Stellmark"),
        "arrived_on": date(2026, 11, 1),
        "shut_at": START,
    }
    return Quarantine(**(said | changes))  # type: ignore[arg-type]
