"""A quarantine as a readable page: how it stands, what was logged, what was written down, and what to mind."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from itertools import repeat

from service.core.care.cautions import HandlingCaution
from service.core.care.forecast import Forecast
from service.core.care.freezer_calendar import FreezerCalendar
from service.core.care.quarantine import Inspection, Quarantine, Released, Standing
from service.paper.text_table import bullets, in_ascii, titled, wrapped
from service.paper.wording import printable

_CALENDAR = ["in", "out", "over", "drawers", "lots", "mind"]


def quarantine_page(
    code: str,
    quarantine: Quarantine,
    standing: Standing,
    forecast: Forecast | None,
    logs: Sequence[tuple[str, int, datetime, datetime]],
    inspections: Iterable[Inspection],
    releases: Iterable[Released],
    cautions: Iterable[HandlingCaution],
) -> str:
    """The page in plain signs; ``logs`` are their names, readings, first and last moments."""
    rows = [[name, str(count), _moment(first), _moment(last)] for name, count, first, last in logs]
    parts = (
        f"Quarantine {code}: {standing.state.value.replace('_', ' ')}",
        "\n".join(wrapped(f"  {label:<12} {text}", 15) for label, text in _facts(quarantine, standing, forecast)),
        bullets("Released before it was over", (_release(one) for one in releases)),
        titled("Logs (UTC)", rows, ["log", "readings", "first", "last"], ("left", "right", "left", "left")),
        bullets("Looked at", (_inspection(seen) for seen in inspections)),
        bullets("Mind", (caution.sentence for caution in cautions)),
    )
    return in_ascii("\n\n".join(part for part in parts if part))


def calendar_page(
    calendar: FreezerCalendar,
    handling: Iterable[HandlingCaution] = (),
    of_loads: Sequence[Sequence[HandlingCaution]] = (),
) -> str:
    """The calendar of loads as a page; ``handling`` is what to mind with all of it, ``of_loads`` with each load.

    A caution is written out once; beside each load stands what it concerns, in a word.
    """
    rows = [
        [
            load.in_on.isoformat(),
            load.out_on.isoformat(),
            load.over_on.isoformat(),
            str(load.drawers),
            ", ".join(f"{share.code} ({share.drawers})" for share in load.shares),
            ", ".join(caution.code.replace("-", " ").replace("_", " ") for caution in minded),
        ]
        for load, minded in zip(calendar.loads, of_loads or repeat(()), strict=False)
    ]
    proved = (
        "and no calendar has fewer" if calendar.is_proved else f"and no calendar has fewer than {calendar.at_least}"
    )
    broken = (
        f"{one.code}, promised for {one.promised_on}: "
        + (f"over on {one.over_on}." if one.over_on else "not within the days asked for.")
        for one in calendar.broken
    )
    parts = (
        f"Freezer loads: {len(calendar.loads)}, {proved}.",
        titled("", rows, _CALENDAR, ("left", "left", "left", "right", "left", "left")).lstrip("\n"),
        bullets("Promises that no calendar keeps", broken),
        bullets("Left over", (f"{share.code}: {share.drawers} drawers" for share in calendar.left_over)),
        bullets("Mind", (caution.sentence for caution in handling)),
    )
    return in_ascii("\n\n".join(part for part in parts if part))


def _facts(quarantine: Quarantine, standing: Standing, forecast: Forecast | None) -> Iterator[tuple[str, str]]:
    if quarantine.subject.description:
        yield "what", printable(quarantine.subject.description)
    yield "arrived on", quarantine.arrived_on.isoformat()
    yield "treatment", quarantine.method.value.replace("_", " ")
    if quarantine.shut_at:
        yield "door shut", f"{_moment(quarantine.shut_at)} UTC"
    if quarantine.taken_out_at:
        yield "taken out", f"{_moment(quarantine.taken_out_at)} UTC"
    if standing.held:
        by = ", by the air and the lag of the load" if standing.held.by_air else ""
        yield "held", f"{_moment(standing.held.first)} to {_moment(standing.held.at)} UTC, {standing.held.regime}{by}"
    if standing.over_at:
        yield "over", f"{_moment(standing.over_at)} UTC"
    if standing.missing:
        yield "missing", standing.missing
    if standing.held is None and forecast is not None:
        yield (
            "expected",
            f"held {_moment(forecast.held_at)}, over {_moment(forecast.over_at)} UTC, by {forecast.regime}",
        )
    if quarantine.promised_on:
        yield "promised", quarantine.promised_on.isoformat()
    if standing.inspect_on:
        yield "look again", standing.inspect_on.isoformat()
    yield "may be placed", "yes" if standing.is_free else "no"


def _release(one: Released) -> str:
    return f"{one.by}, {_moment(one.at)} UTC: {one.reason}"


def _inspection(seen: Inspection) -> str:
    note = f" {seen.note}" if seen.note else ""
    return f"{seen.on.isoformat()}, {seen.by}: {seen.signs.value.replace('_', ' ')}.{note}"


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M")
