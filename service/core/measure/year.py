"""The air of a room month by month."""

from math import cos, pi

from service.core.measure.moisture import Air

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def swing(driest: Air, driest_month: int, dampest: Air, dampest_month: int) -> tuple[Air, ...]:
    """Twelve months between two set points, January first.

    The air goes from the one to the other and back in two half waves of a cosine, which is how indoor climate
    follows the seasons (common practice, no source). Months count from 1.

    :raises ValueError: when both fall into the same month, or a month is none.
    """
    if driest_month == dampest_month or not {driest_month, dampest_month} <= set(range(1, 13)):
        raise ValueError(
            f"Two different months from 1 to 12 are needed; there are {driest_month} and {dampest_month}."
        )
    return tuple(_between(driest, dampest, _dampness(month, driest_month, dampest_month)) for month in range(1, 13))


def _dampness(month: int, driest_month: int, dampest_month: int) -> float:
    """0 in the driest month, 1 in the dampest."""
    rising, since_driest = (dampest_month - driest_month) % 12, (month - driest_month) % 12
    if since_driest <= rising:
        return (1 - cos(pi * since_driest / rising)) / 2
    return (1 + cos(pi * (since_driest - rising) / (12 - rising))) / 2


def _between(driest: Air, dampest: Air, dampness: float) -> Air:
    def mixed(dry: float, damp: float) -> float:
        return dry + (damp - dry) * dampness

    return Air(
        mixed(driest.temperature_c, dampest.temperature_c),
        mixed(driest.relative_humidity_percent, dampest.relative_humidity_percent),
    )


def named_months(months: tuple[int, ...]) -> str:
    """Months in words: a run is “June to September”, all twelve “every month”, no month “no month”."""
    if len(set(months)) == 12:
        return "every month"
    return ", ".join(_run_in_words(run) for run in _runs(sorted(set(months)))) or "no month"


def _runs(months: list[int]) -> list[list[int]]:
    """Months in a row, across the turn of the year too."""
    runs: list[list[int]] = []
    for month in months:
        if runs and runs[-1][-1] == month - 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 1 and runs[-1][-1] == 12:
        runs = [*runs[1:-1], runs[-1] + runs[0]]
    return runs


def _run_in_words(run: list[int]) -> str:
    first, last = MONTHS[run[0] - 1], MONTHS[run[-1] - 1]
    if len(run) == 1:
        return first
    return f"{first} {'and' if len(run) == 2 else 'to'} {last}"
