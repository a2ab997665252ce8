"""The receiver's year, and what it leaves of the room for a drawer."""

from dataclasses import dataclass

from service.core.measure.growth import Growth
from service.core.measure.moisture import Air, NoSuchAir
from service.core.measure.year import MONTHS, swing
from service.core.standards import RoomClimate, SetPoint


@dataclass(frozen=True, slots=True)
class Season:
    """A room's air in one month; ``month`` counts from 1 and is absent where nobody said when it is like that."""

    air: Air
    called: str
    month: int | None = None


@dataclass(frozen=True, slots=True)
class Left:
    """What a season leaves: the largest the thing may be, the least its room may be, and the margin between.

    All are ``None`` where nobody published the movement. ``margin_at_best_nm`` is the most that may be left.
    """

    season: Season
    size_nm: int | None = None
    room_nm: int | None = None
    margin_nm: int | None = None
    margin_at_best_nm: int | None = None
    widened: bool = False
    rests_on_memory: bool = False


def air(point: SetPoint | None) -> Air | None:
    """The air at a set point; ``None`` where there is none, or none that the equations reach."""
    if point is None:
        return None
    try:
        return Air(point.temperature_c, point.relative_humidity_percent)
    except NoSuchAir:
        return None


def seasons(climate: RoomClimate, monthly: tuple[SetPoint, ...] = ()) -> tuple[Season, ...]:
    """The year in a room: its twelve months where they are known, and else its two ends; none is unknown.

    ``monthly`` are twelve values, January first, and go before the two set points. Two set points in different
    months make a year of twelve.
    """
    known = [found for found in map(air, monthly) if found]
    if len(known) == len(monthly) == len(MONTHS):
        return _year(tuple(known))
    driest, dampest = air(climate.driest), air(climate.dampest)
    if dampest is None:
        return ()
    when_dry, when_damp = (point.month if point else None for point in (climate.driest, climate.dampest))
    if driest and when_dry and when_damp and when_dry != when_damp:
        return _year(swing(driest, when_dry, dampest, when_damp))
    ends = (Season(driest, "at the driest", when_dry),) if driest else ()
    return (*ends, Season(dampest, "at the dampest", when_damp))


def _year(airs: tuple[Air, ...]) -> tuple[Season, ...]:
    return tuple(Season(found, f"in {MONTHS[month - 1]}", month) for month, found in enumerate(airs, start=1))


def middle_of(year: tuple[Season, ...]) -> Air:
    """The air in which an opening is taken to have been measured: the middle of the year's (common practice)."""
    return Air(
        sum(season.air.temperature_c for season in year) / len(year),
        sum(season.air.relative_humidity_percent for season in year) / len(year),
    )


def left_in(season: Season, size_nm: int, room_nm: int, thing: Growth | None, room: Growth | None) -> Left:
    """What is left when both the thing and its room have moved."""
    if thing is None or room is None:
        return Left(season)
    greatest_nm, least_room_nm = size_nm + round(thing.greatest_nm), room_nm + round(room.least_nm)
    return Left(
        season,
        greatest_nm,
        least_room_nm,
        least_room_nm - greatest_nm,
        room_nm + round(room.greatest_nm) - size_nm - round(thing.least_nm),
        thing.widened or room.widened,
        thing.rests_on_memory or room.rests_on_memory,
    )
