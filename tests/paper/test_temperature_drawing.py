"""The drawing of a temperature log and the pages about a quarantine, read as a person would."""

from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree as ET

from service.core.care.forecast import forecast
from service.core.care.freezer_calendar import CalendarQuestion, Waiting, calendar
from service.core.care.quarantine import Known, Quarantine, Released, Subject, standing, treated
from service.core.care.quarantine_cautions import quarantine_cautions
from service.core.care.regimes import QuarantineRules
from service.core.care.temperature_log import Reading
from service.paper.quarantine_table import calendar_page, quarantine_page
from service.paper.temperature_drawing import MOST_POINTS, draw_log

START = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
LATER = START + timedelta(days=30)
RULES = QuarantineRules()
SVG = "{http://www.w3.org/2000/svg}"


def log(*parts: tuple[int, float], every_min: int = 60) -> tuple[Reading, ...]:
    cores = [core for hours, core in parts for _ in range(hours * 60 // every_min)]
    return tuple(
        Reading(START + timedelta(minutes=every_min * place), core_c=core, air_c=-30.0)
        for place, core in enumerate(cores)
    )


HELD = log((10, 10.0), (90, -26.0))


def drawn(readings: tuple[Reading, ...], known: Known | None = None) -> ET.Element:
    quarantine = Quarantine(Subject(description="a crate"), date(2026, 11, 1), shut_at=START)
    stands = standing(quarantine, RULES, known or Known(readings), LATER)
    # Our own drawing, written a moment ago.
    return ET.fromstring(draw_log("q-7", quarantine, RULES, readings, stands))  # noqa: S314


def of(root: ET.Element, role: str) -> list[ET.Element]:
    return [each for each in root.iter() if each.get("class") == role]


def words(root: ET.Element) -> str:
    return " ".join(each.text or "" for each in root.iter(f"{SVG}text"))


def test_the_span_that_was_held_is_marked_and_said() -> None:
    root = drawn(HELD)
    (hold,) = of(root, "hold")
    (core,) = of(root, "core")
    moments = [float(pair.split(",")[0]) for pair in (core.get("points") or "").split()]
    whole, first = moments[-1] - moments[0], moments[0]
    assert abs((float(hold.get("x") or 0) - first) / whole - 10 / 99) < 0.01
    assert abs(float(hold.get("width") or 0) / whole - 72 / 99) < 0.01
    assert "held 72 h" in words(root)


def test_nothing_is_marked_where_nothing_was_held() -> None:
    root = drawn(log((10, 10.0), (20, -26.0)))
    assert of(root, "hold") == []
    assert "does not show" in words(root)


def test_the_core_and_the_air_are_told_apart_without_colour() -> None:
    root = drawn(HELD)
    (core,), (air,) = of(root, "core"), of(root, "air")
    assert core.get("stroke-dasharray") is None
    assert air.get("stroke-dasharray")
    strokes = {each.get("stroke") for each in root.iter() if each.get("stroke")}
    assert strokes <= {"#000", "#555", "#fff", "none"}


def test_the_line_breaks_where_nothing_was_logged() -> None:
    assert len(of(drawn((*HELD[:30], *HELD[40:])), "core")) == 2


def test_a_long_log_is_thinned_and_keeps_its_warmest_and_coldest() -> None:
    readings = log((24, -26.0), every_min=1)
    spiked = (*readings[:700], Reading(readings[700].at, core_c=-5.0), *readings[701:])
    plain, peaked = (of(drawn(each), "core")[0] for each in (readings, spiked))
    points = [float(pair.split(",")[1]) for pair in (peaked.get("points") or "").split()]
    assert len((plain.get("points") or "").split()) <= MOST_POINTS + 2
    assert max(points) - min(points) > 100


def test_an_empty_log_is_said_and_not_drawn() -> None:
    assert "Nothing has been logged" in words(drawn(()))


def test_a_release_stands_on_the_drawing() -> None:
    released = Released("Agnes Thorne", "Sealed case.", START)
    assert "Agnes Thorne" in words(drawn(HELD[:20], Known(HELD[:20], (), (released,))))


def test_the_page_says_how_it_stands_and_what_to_mind() -> None:
    quarantine = Quarantine(Subject(description="a crate"), date(2026, 11, 1), shut_at=START, air_set_c=-30)
    short = HELD[:20]
    known = Known(short, (), (Released("Agnes Thorne", "Sealed case.", START),))
    stands = standing(quarantine, RULES, known, LATER)
    page = quarantine_page(
        "q-7", quarantine, stands, forecast(quarantine, RULES, treated(quarantine, short, None)),
        [("probe-1", 20, START, LATER)], (), known.releases, quarantine_cautions(quarantine, RULES, short),
    )  # fmt: skip
    assert "Quarantine q-7: under way" in page
    assert "Agnes Thorne, 2026-11-02 08:00 UTC: Sealed case." in page
    assert "dew point is 9.3 °C" in page
    assert max(map(len, page.splitlines())) <= 118


def test_the_calendar_says_that_no_calendar_has_fewer_loads() -> None:
    first = date(2026, 12, 1)
    lots = (Waiting("stellmark", 12, first, first + timedelta(days=3)), Waiting("donation", 30, first))
    page = calendar_page(calendar(CalendarQuestion(lots, first, 60, 20, 5)))
    assert "Freezer loads: 3, and no calendar has fewer." in page
    assert "stellmark, promised for 2026-12-04: over on 2026-12-07." in page
