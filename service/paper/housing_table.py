"""A housing plan as plain text: to read in a terminal, to print, to put in a letter."""

from collections.abc import Iterable, Iterator
from datetime import date

from service.core.care.cautions import HandlingCaution
from service.core.fit.answer import Cost
from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, LayoutClass
from service.core.measure.lengths import written_mm
from service.paper.cabinet_positions import CabinetPlan, FilledCabinet
from service.paper.cost_table import cost_table
from service.paper.numbered_drawers import (
    Numbered,
    Numbers,
    drawer_of,
    drawers_by_tray,
    listed,
    numbered,
    share_filled,
    sizes_by_code,
)
from service.paper.plan_words import drawers_words, proof_words, share_words
from service.paper.text_table import bullets, cell, in_ascii, on_the_point, titled, wrapped
from service.paper.wording import UNKNOWN, mm, printable


def housing_table(
    request: HousingRequest,
    plan: HousingPlan,
    *,
    consignment: str = "",
    system: str = "",
    revision: str = "",
    planned_on: date | None = None,
    cabinets: CabinetPlan | None = None,
    cost: Cost | None = None,
    handling: Iterable[HandlingCaution] = (),
) -> str:
    """The whole plan as plain text, no line longer than 110 characters: the answer first, its parts after it.

    ``cabinets`` adds the positions, ``cost`` what it comes to at the institution's own rates; the plan's own cost is
    in the units that its types of drawer were given. Our own words are ASCII but for the multiplication sign; names
    stand as their owners write them.
    """
    blocks = [
        _heading(consignment, system, revision, planned_on),
        _answer(request, plan, cabinets),
        _types(request, plan),
        _positions(cabinets),
        cost_table(cost) if cost is not None else "",
        bullets("Cautions", _cautions(request, plan)),
        bullets("Handle with care", (caution.sentence for caution in handling)),
        _layouts(request, plan),
        _trays(request, plan),
        bullets("How to read this", _how_to_read(request, plan)),
    ]
    return in_ascii("\n\n".join(block for block in blocks if block))


def _heading(consignment: str, system: str, revision: str, planned_on: date | None) -> str:
    facts = {
        "Consignment": consignment,
        "Storage system": f"{system}, revision {revision}" if revision else system,
        "Planned on": planned_on.isoformat() if planned_on else "",
    }
    rows = [wrapped(f"{name + ':':16}{printable(value)}", 16) for name, value in facts.items() if value]
    return "\n".join(["HOUSING PLAN", "============", *rows])


def _answer(request: HousingRequest, plan: HousingPlan, cabinets: CabinetPlan | None) -> str:
    trays = sum(tray.count for tray in request.trays)
    rows = [
        ("Drawers", f"{plan.drawer_count:,}"),
        ("Proof", f"{proof_words(plan)}{_bound(plan)}"),
        ("Trays housed", f"{trays:,} of {trays:,}, in {len(plan.layouts):,} different layouts"),
        ("Bottom sheet", f"{plan.bottom_sheet_m2:,.2f} m2{'' if _bottoms_known(request) else ', at most'}"),
        ("Reserve", f"{request.reserve_percent} % of each drawer"),
        ("Play", f"{written_mm(request.play_nm)} added to each tray in width and depth"),
    ]
    if cabinets is not None:
        rows.append(("Positions", _positions_in_all(cabinets)))
    if plan.unit_cost is None:
        rows.insert(1, ("Cost", f"{plan.cost:,}, in the units that the types of drawer were given"))
    return "\n".join(wrapped(f"{name + ':':16}{value}", 16) for name, value in rows)


def _positions_in_all(cabinets: CabinetPlan) -> str:
    taken = sum(each.positions for cabinet in cabinets.cabinets for each in cabinet.drawers)
    free, count = sum(len(cabinet.free) for cabinet in cabinets.cabinets), len(cabinets.cabinets)
    return f"{taken:,} taken up, {free:,} stay free, in {count:,} {'cabinet' if count == 1 else 'cabinets'}"


def _bound(plan: HousingPlan) -> str:
    """The bound that the proof rests on, where the proof does not name it already."""
    if plan.is_proved:
        return ""
    least = f"cost {plan.at_least:,}" if plan.unit_cost is None else drawers_words(plan.at_least // plan.unit_cost)
    return f" (no plan has fewer than {least})" if plan.unit_cost is not None else f" (no plan goes below {least})"


def _bottoms_known(request: HousingRequest) -> bool:
    return all(tray.bottom_width_nm and tray.bottom_depth_nm for tray in request.trays if tray.count)


def _types(request: HousingRequest, plan: HousingPlan) -> str:
    drawers = {drawer.code: drawer for drawer in request.drawers}
    rows = [
        [
            cell(printable(used.drawer), 34),
            f"{used.count:,}",
            *_inside(drawers[used.drawer]),
            UNKNOWN if used.cabinets is None else f"{used.cabinets:,}",
            f"{used.cost:,}",
        ]
        for used in plan.used
    ]
    headers = ["Type", "Count", "Wide mm", "Deep mm", "Clear height", "Cabinets", "Cost"]
    return titled("Drawers per type", rows, headers, ("left", *("right",) * 6))


def _inside(drawer: DrawerType) -> list[str]:
    return [mm(drawer.inner_width_nm), mm(drawer.inner_depth_nm), mm(drawer.clear_height_nm)]


def _positions(cabinets: CabinetPlan | None) -> str:
    if cabinets is None:
        return ""
    rows = [
        [
            cell(printable(f"{cabinet.kind.name}, no. {cabinet.number}"), 30),
            cell(_in_positions(cabinet), 46),
            cell(listed(cabinet.free) or "none", 18),
        ]
        for cabinet in cabinets.cabinets
    ]
    table = titled("Positions", rows, ["Cabinet", "Drawers in positions", "Free"], ("left", "left", "left"))
    left = cabinets.without_position
    note = wrapped(f"  No position for {drawers_words(len(left))}: {listed(left)}.", 2) if left else ""
    return "\n".join(part for part in (table, note) if part)


def _in_positions(cabinet: FilledCabinet) -> str:
    """Drawers beside their positions, runs drawn together: ``drawers 1-3 in 4-6, drawer 4 in 7-8``."""
    runs: list[list[int]] = []
    for each in cabinet.drawers:
        last = runs[-1] if runs else None
        if last and each.drawer == last[1] + 1 and each.first == last[3] + 1 and each.positions == last[4]:
            last[1], last[3] = each.drawer, each.last
        else:
            runs.append([each.drawer, each.drawer, each.first, each.last, each.positions])
    return ", ".join(
        f"{'drawer' if first == last else 'drawers'} {_run(first, last)} in {_run(top, bottom)}"
        + (f" ({each} each)" if each > 1 and first != last else "")
        for first, last, top, bottom, each in runs
    )


def _run(first: int, last: int) -> str:
    return str(first) if first == last else f"{first}–{last}"


def _layouts(request: HousingRequest, plan: HousingPlan) -> str:
    numbers = sizes_by_code(request)
    rows = [
        [
            str(shown.number),
            cell(listed(range(shown.first, shown.last + 1)), 14),
            f"{shown.layout.drawers:,}",
            cell(printable(shown.layout.drawer), 16),
            cell(_in_each(numbers, shown), 42),
            share_words(share_filled(shown.layout, drawer_of(request, shown.layout))),
        ]
        for shown in numbered(plan)
    ]
    headers = ["Layout", "Drawers", "Alike", "Type", "Trays in each", "Filled"]
    return titled("Layouts", rows, headers, ("right", "left", "right", "left", "left", "right"))


def _in_each(numbers: Numbers, shown: Numbered) -> str:
    """``13: 3 of no. 1, 10 of no. 7``: how many trays, and of which number."""
    of = sorted((numbers[code][0], count) for code, count in shown.layout.counts.items())
    return f"{len(shown.layout.placed):,}: " + ", ".join(f"{count:,} of no. {number}" for number, count in of)


def _trays(request: HousingRequest, plan: HousingPlan) -> str:
    drawers = drawers_by_tray(plan)
    rows = [
        [
            str(number),
            cell(printable(tray.label) or printable(tray.code), 26),
            mm(tray.width_nm),
            mm(tray.depth_nm),
            mm(tray.height_nm),
            f"{tray.count:,}",
            cell(listed(drawers.get(code, ())) or "none", 28),
        ]
        for code, (number, tray) in sizes_by_code(request).items()
    ]
    for column in (2, 3):
        for row, figure in zip(rows, on_the_point([row[column] for row in rows]), strict=True):
            row[column] = figure
    headers = ["No.", "Tray", "Wide mm", "Deep mm", "High mm", "Count", "In drawers"]
    return titled("Trays", rows, headers, ("right", "left", "right", "right", "right", "right", "left"))


def _cautions(request: HousingRequest, plan: HousingPlan) -> Iterator[str]:
    if plan.stopped_early:
        yield "The work was stopped before its end: with more time a plan or a bound may be better."
    unknown = set(plan.heights_unknown)
    trays = [number for code, (number, _) in sizes_by_code(request).items() if code in unknown]
    if trays:
        yield (
            f"Nobody has stated the height of tray{'s' if len(trays) > 1 else ''} no. {listed(trays)}, "
            "and they were housed as if they fitted: look whether the lid closes."
        )
    drawers = [drawer.code for drawer in request.drawers if drawer.code in unknown]
    if drawers:
        yield f"Nobody has stated the clear height of {', '.join(drawers)}: look whether the lid closes."


def _how_to_read(request: HousingRequest, plan: HousingPlan) -> Iterator[str]:
    if plan.proved_for is LayoutClass.COLUMNS:
        yield (
            "Layouts in columns: columns of trays side by side, each of rows one behind the other, or all that "
            "turned. Whether another kind of layout needs less is open."
        )
    if plan.at_least > plan.certificate.at_least:
        yield "Part of the proof is an exhaustive search; what the certificate alone adds up to is less."
    yield "Filled: the trays' own area as a part of the drawer's inside. Drawers are numbered in order of layouts."
    if not _bottoms_known(request):
        yield "Bottom sheet: where the size of a tray's bottom is unknown, its outside stands in for it."
    yield "Cabinets: those that the drawers of one type fill by themselves."
