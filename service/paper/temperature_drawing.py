"""A temperature log drawn over time: the core and the air, what the regimes ask for, and the span that was held.

Black and white throughout: the core is a thick line, the air a dashed one, the hold a hatched band, and where nothing
was logged the line breaks.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from service.core.care.quarantine import Quarantine, Standing, State
from service.core.care.regimes import QuarantineRules, Regime
from service.core.care.temperature_log import Reading
from service.paper.page import BODY_TOP, BODY_WIDTH, PAGE_HEIGHT, Page, new_page
from service.paper.sheet import MARGIN
from service.paper.svg import FAINT, OUTLINE, RESERVE, SMALL, THIN, Hatch, Look, View, element

NAME = "temperature-log"
LEFT, RIGHT = MARGIN + 70.0, MARGIN + BODY_WIDTH - 10.0
TOP, BOTTOM = BODY_TOP + 30.0, PAGE_HEIGHT - MARGIN - 120.0
#: As many points of a line as a sheet can show; of more, the coldest and the warmest of each stretch are drawn.
MOST_POINTS = 1_200
CORE = Look(2.6)
AIR = Look(1.4, (8, 5))
ASKED = Look(1.3, (14, 4, 2, 4))
_STEPS_C = (1, 2, 5, 10, 20, 50)
_STEPS_H = (1, 2, 3, 6, 12, 24, 48, 72, 168, 336, 720)
_STATE_WORDS = {
    State.WAITING: "waiting",
    State.UNDER_WAY: "under way, not over",
    State.HELD: "held long enough, still shut",
    State.OVER: "over",
}


@dataclass(frozen=True, slots=True)
class Frame:
    """Where a moment and a temperature stand on the sheet."""

    first: datetime
    last: datetime
    low: float
    high: float

    def x(self, at: datetime) -> float:
        whole = (self.last - self.first).total_seconds() or 1.0
        return LEFT + (at - self.first).total_seconds() / whole * (RIGHT - LEFT)

    def y(self, celsius: float) -> float:
        return BOTTOM - (celsius - self.low) / (self.high - self.low) * (BOTTOM - TOP)


def draw_log(
    code: str, quarantine: Quarantine, rules: QuarantineRules, readings: Sequence[Reading], standing: Standing
) -> str:
    """The readings that count for a quarantine as a drawing, with its state in words."""
    page = new_page(NAME, 1.0, f"Quarantine {code}", _sentences(quarantine, standing), 1, 1, bar_mm=None)
    asked = rules.of(quarantine.method)
    drawn = [reading for reading in readings if reading.core_c is not None or reading.air_c is not None]
    if not drawn:
        page.paper.text(LEFT, TOP + 40, "Nothing has been logged that could be drawn.")
        return page.finished()
    frame = _frame(drawn, asked, standing)
    _hold(page.paper, frame, standing)
    _grid(page.paper, frame)
    _targets(page.paper, frame, asked)
    gap = timedelta(hours=rules.longest_gap_h)
    _line(page.paper, frame, [(r.at, r.air_c) for r in drawn if r.air_c is not None], gap, AIR, "air")
    _line(page.paper, frame, [(r.at, r.core_c) for r in drawn if r.core_c is not None], gap, CORE, "core")
    _legend(page)
    return page.finished()


def _sentences(quarantine: Quarantine, standing: Standing) -> list[str]:
    told = [f"Treatment: {quarantine.method.value.replace('_', ' ')}. State: {_STATE_WORDS[standing.state]}."]
    if standing.held is not None:
        held = standing.held
        by = " (by the air and the lag of the load)" if held.by_air else ""
        told.append(f"Held by {held.regime} from {_moment(held.first)} to {_moment(held.at)} UTC{by}.")
    if standing.missing:
        told.append(standing.missing)
    if standing.released is not None:
        told.append(f"Released before it was over by {standing.released.by}: {standing.released.reason}")
    return told


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).strftime("%Y-%m-%d %H:%M")


def _frame(readings: Sequence[Reading], regimes: Iterable[Regime], standing: Standing) -> Frame:
    logged = [each for reading in readings for each in (reading.core_c, reading.air_c) if each is not None]
    shown = [*logged, *(regime.target_c for regime in regimes if regime.target_c is not None)]
    last = readings[-1].at if standing.held is None else max(readings[-1].at, standing.held.at)
    first = readings[0].at
    return Frame(first, max(last, first + timedelta(minutes=1)), min(shown) - 3, max(shown) + 3)


def _grid(paper: View, frame: Frame) -> None:
    paper.rect(LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP, OUTLINE)
    step = next((s for s in _STEPS_C if (frame.high - frame.low) / s <= 10), _STEPS_C[-1])
    celsius = -(-frame.low // step) * step
    while celsius <= frame.high:
        paper.line(LEFT, frame.y(celsius), RIGHT, frame.y(celsius), FAINT, "grid")
        paper.text(LEFT - 8, frame.y(celsius) + SMALL / 3, f"{celsius:g} °C", SMALL, "end")
        celsius += step
    hours = (frame.last - frame.first).total_seconds() / 3_600
    every = next((s for s in _STEPS_H if hours / s <= 10), _STEPS_H[-1])
    passed = 0
    while passed <= hours:
        x = frame.x(frame.first + timedelta(hours=passed))
        paper.line(x, BOTTOM, x, BOTTOM + 6, THIN, "tick")
        paper.text(x, BOTTOM + 22, f"{passed} h", SMALL, "middle")
        passed += every
    paper.text(LEFT, BOTTOM + 42, f"Hours since {_moment(frame.first)} UTC", SMALL)


def _hold(paper: View, frame: Frame, standing: Standing) -> None:
    held = standing.held
    if held is None:
        return
    start, end = (min(max(frame.x(at), LEFT), RIGHT) for at in (held.first, held.at))
    paper.rect(start, TOP, end - start, BOTTOM - TOP, Look(1.1, fill=Hatch.RESERVE), "hold")
    hours = (held.at - held.first).total_seconds() / 3_600
    paper.across(start, end, TOP, TOP - 12, f"held {hours:g} h")


def _targets(paper: View, frame: Frame, regimes: Iterable[Regime]) -> None:
    """The temperatures that the regimes ask for, each once."""
    for celsius in sorted({regime.target_c for regime in regimes if regime.target_c is not None}):
        paper.line(LEFT, frame.y(celsius), RIGHT, frame.y(celsius), ASKED, "target")
        paper.text(RIGHT - 6, frame.y(celsius) - 4, f"asked for: {celsius:g} °C", SMALL, "end")


def _line(
    paper: View, frame: Frame, points: Sequence[tuple[datetime, float]], gap: timedelta, look: Look, role: str
) -> None:
    for stretch in _stretches(points, gap):
        thinned = _thinned(stretch)
        if len(thinned) == 1:
            paper.dot(frame.x(thinned[0][0]), frame.y(thinned[0][1]), look.width, role)
            continue
        element(
            paper.group,
            "polyline",
            class_=role,
            points=" ".join(f"{frame.x(at):.2f},{frame.y(celsius):.2f}" for at, celsius in thinned),
            fill="none",
            stroke=look.stroke,
            stroke_width=look.width,
            stroke_dasharray=" ".join(f"{part:g}" for part in look.dash) or None,
        )


def _stretches(points: Sequence[tuple[datetime, float]], gap: timedelta) -> Iterable[list[tuple[datetime, float]]]:
    """The points in runs that no gap breaks."""
    run = list(points[:1])
    for before, point in pairwise(points):
        if point[0] - before[0] > gap:
            yield run
            run = []
        run.append(point)
    if run:
        yield run


def _thinned(points: list[tuple[datetime, float]]) -> list[tuple[datetime, float]]:
    if len(points) <= MOST_POINTS:
        return points
    size = -(-len(points) * 2 // MOST_POINTS)
    kept = [points[0]]
    for place in range(0, len(points), size):
        part = points[place : place + size]
        kept += sorted({min(part, key=lambda each: each[1]), max(part, key=lambda each: each[1])})
    return [*kept, points[-1]]


def _legend(page: Page) -> None:
    y, x = PAGE_HEIGHT - MARGIN - 40, MARGIN
    for look, label in ((CORE, "core"), (AIR, "air"), (ASKED, "asked for by a regime")):
        page.paper.line(x, y - 5, x + 44, y - 5, look)
        page.paper.text(x + 54, y, label, SMALL)
        x += 230
    page.paper.swatch(x, y, RESERVE, "held long enough")
    note = "The line breaks where nothing was logged for longer than the rules allow. A log says what was measured,"
    page.paper.text(MARGIN, PAGE_HEIGHT - MARGIN, f"{note} not that it is safe: local rules come first.", SMALL)
