"""The list to hang beside a cabinet: its positions, the drawers in them, and the trays in each."""

from collections.abc import Iterator
from itertools import groupby

from service.core.housing.plan import HousingPlan, HousingRequest
from service.paper.cabinet_positions import CabinetPlan, FilledCabinet, InPosition
from service.paper.listing import Column, Row, list_panels
from service.paper.numbered_drawers import Numbers, listed, sizes_by_code
from service.paper.page import LINES_OF_LIST
from service.paper.panel import Panel
from service.paper.svg import SMALL, fold
from service.paper.tray_words import name_of

_CABINET_ROOM, _FIGURES_ROOM, _TYPE_ROOM, _TRAYS_ROOM = 170.0, 110.0, 120.0, 480.0
_COLUMNS = (
    Column("Cabinet"),
    Column("Positions"),
    Column("Drawers", bold=True),
    Column("Type"),
    Column("Layout", figures=True),
    Column("Trays in each"),
)


def contents_panels(request: HousingRequest, plan: HousingPlan, cabinets: CabinetPlan) -> Iterator[Panel]:
    """A row for every run of drawers alike in one cabinet, in order."""
    numbers = sizes_by_code(request)
    rows = [
        _row(cabinet, run, plan, numbers)
        for cabinet in cabinets.cabinets
        for run in _runs(cabinet)
    ]  # fmt: skip
    return list_panels(_COLUMNS, rows, "Cabinets, drawers and trays", "contents", 1.0, LINES_OF_LIST)


def _runs(cabinet: FilledCabinet) -> Iterator[list[InPosition]]:
    for _, run in groupby(cabinet.drawers, key=lambda drawer: drawer.layout):
        yield list(run)


def _row(cabinet: FilledCabinet, run: list[InPosition], plan: HousingPlan, numbers: Numbers) -> Row:
    positions = listed([at for each in run for at in range(each.first, each.last + 1)])
    counts = plan.layouts[run[0].layout - 1].counts
    inside = sorted(((*numbers[code], count) for code, count in counts.items()), key=lambda each: each[0])
    trays = ", ".join(f"{count:,}× {name_of(tray)}" for _, tray, count in inside)
    return [
        fold(f"{cabinet.kind.name}, no. {cabinet.number}", SMALL, _CABINET_ROOM, most=3),
        fold(positions, SMALL, _FIGURES_ROOM),
        fold(listed([each.drawer for each in run]), SMALL, _FIGURES_ROOM, bold=True),
        fold(run[0].type, SMALL, _TYPE_ROOM, most=2),
        [str(run[0].layout)],
        fold(trays, SMALL, _TRAYS_ROOM, most=LINES_OF_LIST) or ["none"],
    ]
