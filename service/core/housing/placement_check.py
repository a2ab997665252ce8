"""An independent look at a finished plan: it knows nothing of how the plan was made, only what was asked for."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from service.core.housing.plan import DrawerType, HousingPlan, HousingRequest, Layout, Placed, TraySize

#: left, front, right and back of a tray with its play, in nm
Box = tuple[int, int, int, int]


def faults(request: HousingRequest, plan: HousingPlan) -> list[str]:
    """What is wrong with a plan, in sentences; nothing when every tray lies free, inside, and is there."""
    trays = {tray.code: tray for tray in request.trays}
    drawers = {drawer.code: drawer for drawer in request.drawers}
    found = list(_wrong_counts(request, plan))
    found += _too_many_drawers(drawers, plan)
    found += _parted(trays, plan)
    for number, layout in enumerate(plan.layouts, start=1):
        where = f"layout {number} ({layout.drawer})"
        found += (f"{where}: {fault}" for fault in _faults_in(layout, drawers[layout.drawer], trays, request))
    return found


def _wrong_counts(request: HousingRequest, plan: HousingPlan) -> Iterator[str]:
    housed: Counter[str] = Counter()
    for layout in plan.layouts:
        for code, count in layout.counts.items():
            housed[code] += count * layout.drawers
    asked = Counter({tray.code: tray.count for tray in request.trays if tray.count})
    for code in sorted(asked.keys() | housed.keys()):
        if asked[code] != housed[code]:
            yield f"{housed[code]} of {asked[code]} trays “{code}” are housed"


def _too_many_drawers(drawers: dict[str, DrawerType], plan: HousingPlan) -> Iterator[str]:
    used: Counter[str] = Counter()
    for layout in plan.layouts:
        used[layout.drawer] += layout.drawers
    for code, count in sorted(used.items()):
        at_most = drawers[code].at_most
        if at_most is not None and count > at_most:
            yield f"{count} drawers “{code}” are used and there are {at_most}"
    if plan.cost != sum(drawers[code].cost * count for code, count in used.items()):
        yield "the cost is not that of the drawers"
    if {each.drawer: each.count for each in plan.used} != used:
        yield "the drawers used are not those of the layouts"


def _parted(trays: dict[str, TraySize], plan: HousingPlan) -> Iterator[str]:
    """Groups that stand in more than one drawer."""
    stands_in: Counter[str] = Counter()
    for layout in plan.layouts:
        for group in {trays[code].together for code in layout.counts} - {None}:
            stands_in[str(group)] += layout.drawers
    yield from (f"“{group}” stands in {count} drawers" for group, count in sorted(stands_in.items()) if count > 1)


def _faults_in(
    layout: Layout, drawer: DrawerType, trays: dict[str, TraySize], request: HousingRequest
) -> Iterator[str]:
    boxes = []
    for placed in layout.placed:
        tray = trays[placed.tray]
        yield from _wrong_tray(placed, tray, drawer)
        place = placed.place
        right, back = place.x_nm + place.width_nm + request.play_nm, place.y_nm + place.depth_nm + request.play_nm
        boxes.append((place.x_nm, place.y_nm, right, back))
    if any(left < 0 or front < 0 for left, front, _, _ in boxes) or any(
        right > drawer.inner_width_nm or back > drawer.inner_depth_nm for _, _, right, back in boxes
    ):
        yield "a tray leaves the drawer"
    yield from _overlaps(boxes)
    if len(boxes) > 1 or layout.reserve is not None:
        yield from _reserve_not_kept(layout, boxes, drawer, request.reserve_percent)


def _wrong_tray(placed: Placed, tray: TraySize, drawer: DrawerType) -> Iterator[str]:
    place = placed.place
    size = (place.depth_nm, place.width_nm) if place.turned else (place.width_nm, place.depth_nm)
    if size != (tray.width_nm, tray.depth_nm):
        yield f"“{tray.code}” has another size here"
    if place.turned and not tray.may_turn:
        yield f"the label of “{tray.code}” does not face the front"
    if tray.height_nm is not None and drawer.clear_height_nm is not None and tray.height_nm > drawer.clear_height_nm:
        yield f"“{tray.code}” is too high"


def _overlaps(boxes: list[Box]) -> Iterator[str]:
    ordered = sorted(boxes)
    for at, (_, front, right, back) in enumerate(ordered):
        for other_left, other_front, _, other_back in ordered[at + 1 :]:
            if other_left >= right:
                break
            if front < other_back and other_front < back:
                yield "two trays overlap"


def _reserve_not_kept(layout: Layout, boxes: list[Box], drawer: DrawerType, percent: Decimal) -> Iterator[str]:
    """The strip must have its share of the drawer, reach from wall to wall, and be free."""
    strip = layout.reserve
    if strip is None:
        if percent:
            yield "no growth reserve is kept"
        return
    area = drawer.inner_width_nm * drawer.inner_depth_nm
    if strip.width_nm * strip.depth_nm * 100 < area * percent:
        yield "the growth reserve is too small"
    if drawer.inner_width_nm not in (strip.width_nm,) and drawer.inner_depth_nm not in (strip.depth_nm,):
        yield "the growth reserve does not reach from wall to wall"
    right, back = strip.x_nm + strip.width_nm, strip.y_nm + strip.depth_nm
    if strip.x_nm < 0 or strip.y_nm < 0 or right > drawer.inner_width_nm or back > drawer.inner_depth_nm:
        yield "the growth reserve leaves the drawer"
    if any(
        left < right and strip.x_nm < end and front < back and strip.y_nm < rear for left, front, end, rear in boxes
    ):
        yield "a tray stands in the growth reserve"
