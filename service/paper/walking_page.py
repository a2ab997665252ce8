"""The walking list as a page to print: trip by trip, with a box to tick for every tray."""

from collections.abc import Iterable, Iterator
from xml.etree import ElementTree as ET

from service.core.arrangement.inventory import Inventory, Tray
from service.core.arrangement.plan import Alternative, ArrangementPlan, Errand, Step, Trip, WalkingList
from service.core.care.cautions import HandlingCaution
from service.core.handbook.cautions import work_caution
from service.paper.where_it_stands import Whereabouts
from service.paper.wording import printable

_STYLE = """
@page { size: A4; margin: 14mm 12mm; }
body { font: 10.5pt/1.35 Helvetica, Arial, 'DejaVu Sans', sans-serif; color: #000; background: #fff; margin: 1.5em; }
h1 { font-size: 18pt; margin: 0 0 .2em; }
p { margin: .25em 0; max-width: 46em; }
table { border-collapse: collapse; width: 100%; margin-top: .8em; }
th, td { text-align: left; vertical-align: top; padding: .22em .5em .22em 0; border-bottom: 1px solid #999; }
thead { display: table-header-group; }
thead th { border-bottom: 2px solid #000; }
tbody th { padding-top: .9em; border-bottom: 1px solid #000; }
tbody { break-inside: auto; }
tr { break-inside: avoid; }
tbody tr:first-child { break-after: avoid; }
td.box { width: 1.6em; } td.box span { display: inline-block; width: .9em; height: .9em; border: 1.5px solid #000; }
td.figure, th.figure { text-align: right; padding-right: 1em; }
.aside { font-style: italic; }
.signed { margin-top: 1.6em; }
@media print { body { margin: 0; } }
"""
_CAUTIONS = ("lifting", "lift_tight_lids_slowly")
_ORDINAL_ENDINGS = {1: "st", 2: "nd", 3: "rd"}


def walking_page(
    inventory: Inventory,
    plan: ArrangementPlan,
    alternative: Alternative,
    walking: WalkingList,
    *,
    title: str = "",
    done: int = 0,
    handling: Iterable[HandlingCaution] = (),
) -> str:
    """An HTML page without scripts or anything from outside, that prints on A4 and is read by a screen reader.

    ``title`` says whose collection it is; the first ``done`` steps are ticked already. ``handling`` is what to mind
    with what stands on the trays.
    """
    page = _Page(inventory, plan, alternative, walking, done)
    html = ET.Element("html", {"lang": "en"})
    head = ET.SubElement(html, "head")
    ET.SubElement(head, "meta", {"charset": "utf-8"})
    ET.SubElement(head, "title").text = printable(f"Walking list. {title}".strip())
    ET.SubElement(head, "style").text = _STYLE
    body = ET.SubElement(html, "body")
    ET.SubElement(body, "h1").text = "Walking list"
    minded = [caution.sentence for caution in handling] or [str(work_caution("old_residues"))]
    for sentence in filter(None, (title, *page.sentences(), *minded)):
        ET.SubElement(body, "p").text = printable(sentence)
    page.write_table(body)
    ET.SubElement(body, "p", {"class": "signed"}).text = "Done by: ____________________   Date: ____________________"
    return "<!DOCTYPE html>\n" + ET.tostring(html, encoding="unicode", method="html")


class _Page:
    def __init__(
        self,
        inventory: Inventory,
        plan: ArrangementPlan,
        alternative: Alternative,
        walking: WalkingList,
        done: int,
    ) -> None:
        self._alternative, self._walking, self._done = alternative, walking, done
        self._trays: dict[str, Tray] = {tray.key: tray for tray in (*inventory.trays, *plan.new_trays)}
        self._where = Whereabouts(inventory, alternative)

    def sentences(self) -> Iterator[str]:
        way, walking = self._alternative, self._walking
        trips = _counted(len(walking.trips), "trip", "trips")
        yield (
            f"{_counted(walking.lifts, 'tray is', 'trays are')} lifted in {trips}; drawers are fetched"
            f" {_counted(walking.drawers_handled, 'time', 'times')}."
        )
        yield (
            f"{way.specimens.in_trays_that_stay:,} specimens stay where they are;"
            f" {way.specimens.in_trays_that_move:,} move with their trays, and none of these is touched"
            f"{self._picked_out()}."
        )
        if way.specimens.uncounted_trays:
            yield f"In {_counted(way.specimens.uncounted_trays, 'tray', 'trays')} nobody has counted the specimens."
        yield self._hours()
        if way.positions_missing:
            yield (
                f"{_counted(way.positions_missing, 'position is', 'positions are')} missing for new drawers; they"
                " stand outside the cabinets until whole drawers are moved up."
            )
        if walking.bench_used:
            yield f"At most {_counted(walking.bench_used, 'tray waits', 'trays wait')} on the bench at once."
        yield "Keep to the order: at each step there is room. Trays of a drawer close up or make room unlifted."
        for name in _CAUTIONS:
            yield str(work_caution(name))

    def _picked_out(self) -> str:
        picked = self._alternative.specimens.picked_out_one_by_one
        return f"; {picked:,} are picked out one by one" if picked else ""

    def _hours(self) -> str:
        hours = self._walking.hours
        if hours.hours is None:
            return f"Hours unknown: nobody has stated {' and '.join(hours.missing)}."
        cost = f", {hours.cost:,.2f} {hours.currency or ''}".rstrip() if hours.cost is not None else ""
        return f"About {hours.hours:.1f} person-hours at this institution's own rates{cost}."

    def write_table(self, body: ET.Element) -> None:
        """A body of the table for each trip, its head above it."""
        table = ET.SubElement(body, "table")
        row = ET.SubElement(ET.SubElement(table, "thead"), "tr")
        for name in ("", "No.", "Tray", "Specimens", "Set it"):
            attributes = {"scope": "col"} | ({"class": "figure"} if name == "Specimens" else {})
            ET.SubElement(row, "th", attributes).text = name
        for trip in self._walking.trips:
            part = ET.SubElement(table, "tbody")
            head = ET.SubElement(ET.SubElement(part, "tr"), "th", {"colspan": "5", "scope": "rowgroup"})
            head.text = printable(self._trip_words(trip))
            for step in trip.steps:
                self._write_step(part, step)

    def _trip_words(self, trip: Trip) -> str:
        bench_or_outside = "the bench" if self._waited(trip) else "what arrives"
        source = bench_or_outside if trip.from_drawer is None else self._where.drawer_words(trip.from_drawer)
        if trip.from_drawer == trip.to_drawer:
            return f"Trip {trip.number}: within {source}"
        to = "the bench" if trip.to_drawer is None else self._where.drawer_words(trip.to_drawer)
        return f"Trip {trip.number}: from {source} to {to}"

    def _waited(self, trip: Trip) -> bool:
        """Whether these trays were set on the bench before."""
        aside = {step.tray for step in self._walking.steps[: trip.steps[0].number - 1] if step.to_drawer is None}
        return trip.steps[0].tray in aside

    def _write_step(self, part: ET.Element, step: Step) -> None:
        row, tray = ET.SubElement(part, "tr"), self._trays[step.tray]
        box = ET.SubElement(ET.SubElement(row, "td", {"class": "box"}), "span")
        box.text = "✓" if step.number <= self._done else None
        ET.SubElement(row, "td").text = str(step.number)
        ET.SubElement(row, "td").text = printable(tray.label or tray.taxon)
        counted = "?" if tray.specimens is None else f"{tray.specimens:,}"
        ET.SubElement(row, "td", {"class": "figure"}).text = counted
        aside = step.errand is Errand.OUT_OF_THE_WAY
        ET.SubElement(row, "td", {"class": "aside"} if aside else {}).text = printable(self._place_words(step))

    def _place_words(self, step: Step) -> str:
        if step.to_drawer is None:
            return "on the bench, where it waits until its place is free"
        behind = "first" if step.after is None else f"{ordinal(step.place or 1)}, behind {self._name(step.after)}"
        waits = ", where it waits until its place is free" if step.errand is Errand.OUT_OF_THE_WAY else ""
        return behind + waits

    def _name(self, key: str) -> str:
        tray = self._trays[key]
        return tray.label or tray.taxon


def ordinal(number: int) -> str:
    """``1st``, ``2nd``, ``11th``."""
    ending = "th" if number % 100 in (11, 12, 13) else _ORDINAL_ENDINGS.get(number % 10, "th")
    return f"{number}{ending}"


def _counted(count: int, one: str, many: str) -> str:
    return f"{count:,} {one if count == 1 else many}"
