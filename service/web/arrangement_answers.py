"""Arrangement plans on their way out: from what is kept to what the schemas dump."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from service.core.arrangement.inventory import Inventory
from service.core.arrangement.plan import Alternative, NewDrawer
from service.core.arrangement.standing import standing_of
from service.core.arrangement.walked_plan import WalkedPlan
from service.core.care.cautions import HandlingCaution
from service.core.errors import NotFound
from service.formats.sheets import written
from service.paper.cabinet_fill_drawing import cabinet_fill_drawing
from service.paper.drawer_change_drawing import drawer_change_drawing
from service.paper.walking_page import walking_page
from service.store.arrangement_plans import KeptArrangement, PlanHead, StepDone

_HEAD = (
    "id", "chosen", "step_count", "done_count", "replaced_by", "carried_out_at", "version", "engine", "created_at",
    "updated_at",
)  # fmt: skip
_OF_ALTERNATIVE = (
    "aim", "moved", "put_in", "reset", "drawers_touched", "drawers_opened", "drawers_emptied", "new_drawers",
    "positions_missing", "drawer_worth", "at_least", "is_proved", "gap", "reserve_missing", "specimens",
)  # fmt: skip
_OF_WALK = ("lifts", "out_of_the_way", "bench_used", "drawers_handled", "hours")


def summary(kept: PlanHead) -> dict[str, Any]:
    return {**{name: getattr(kept, name) for name in _HEAD}, "asked": kept.asked.word}


def whole(kept: KeptArrangement, overtaken: str | None, outside: Sequence[NewDrawer]) -> dict[str, Any]:
    return {
        **summary(kept),
        "overtaken": overtaken,
        "outside": list(outside),
        "alternatives": list(_alternatives(kept.content)),
        "notes": list(kept.content.plan.notes),
    }


def _alternatives(content: WalkedPlan) -> Iterator[dict[str, Any]]:
    for number, (each, walk) in enumerate(zip(content.plan.alternatives, content.walks, strict=True), start=1):
        said = {name: getattr(each, name) for name in _OF_ALTERNATIVE}
        yield {"number": number} | said | {name: getattr(walk, name) for name in _OF_WALK}


def alternative(kept: KeptArrangement) -> Alternative:
    """The one that is carried out."""
    return kept.content.plan.alternatives[kept.chosen - 1]


def steps(kept: KeptArrangement, done: Iterable[StepDone]) -> list[dict[str, Any]]:
    """The walking list step by step, each with what stands on the tray and who has carried it."""
    known = {tray.key: tray for tray in (*kept.content.before.trays, *kept.content.plan.new_trays)}
    stands = _positions(kept)
    who = {step.number: step for step in done}
    listed = []
    for trip in kept.walk.trips:
        for step in trip.steps:
            tray, carried = known[step.tray], who.get(step.number)
            listed.append(
                {
                    **{name: getattr(step, name) for name in ("number", "tray", "place", "after", "errand")},
                    "trip": trip.number,
                    "taxon": tray.taxon,
                    "label": tray.label,
                    **_side("from", step.from_drawer, stands),
                    **_side("to", step.to_drawer, stands),
                    "done_by": None if carried is None else carried.done_by,
                    "done_at": None if carried is None else carried.done_at,
                }
            )
    return listed


def _positions(kept: KeptArrangement) -> dict[str, tuple[str | None, int | None]]:
    stands = {drawer.key: (drawer.cabinet, drawer.position) for drawer in kept.content.before.drawers}
    return stands | {new.key: (new.cabinet, new.position) for new in alternative(kept).new_drawers}


def _side(side: str, drawer: str | None, stands: dict[str, tuple[str | None, int | None]]) -> dict[str, Any]:
    cabinet, position = stands.get(drawer or "", (None, None))
    return {f"{side}_drawer": drawer, f"{side}_cabinet": cabinet, f"{side}_position": position}


_COLUMNS = (
    "done", "number", "trip", "tray", "taxon", "label", "from_cabinet", "from_position", "from_drawer", "to_cabinet",
    "to_position", "to_drawer", "place", "after", "errand", "done_by",
)  # fmt: skip


def sheet(listed: Sequence[dict[str, Any]]) -> str:
    """The walking list as CSV, with a column to tick."""
    rows = ([_cell(name, step) for name in _COLUMNS] for step in listed)
    return written(_COLUMNS, rows)


def _cell(name: str, step: dict[str, Any]) -> object:
    if name == "done":
        return "yes" if step["done_by"] else ""
    return str(step["errand"].value) if name == "errand" else step[name]


def drawers(kept: KeptArrangement) -> list[dict[str, Any]]:
    """The drawers that change, before and after."""
    before = standing_of(kept.content.before).drawers
    return [
        {
            "number": number,
            "drawer": each.drawer,
            "before": before.get(each.drawer, ()),
            "after": each.trays,
            "reserve_kept": each.reserve_kept,
        }
        for number, each in enumerate(alternative(kept).after, start=1)
    ]


def page(kept: KeptArrangement, handling: Iterable[HandlingCaution]) -> str:
    """The walking list to print, with what to mind; what is carried out is ticked."""
    content = kept.content
    return walking_page(
        content.before, content.plan, alternative(kept), kept.walk, done=kept.done_count, handling=handling
    )


def drawer_drawing(kept: KeptArrangement, number: int) -> str:
    """One of the drawers that change, before and after.

    :raises NotFound: when fewer change.
    """
    changed = alternative(kept).after
    if number > len(changed):
        raise NotFound("drawer of this arrangement plan with the number", number)
    return drawer_change_drawing(
        kept.content.before, kept.content.plan, alternative(kept), changed[number - 1].drawer
    )


def cabinet_drawing(kept: KeptArrangement, inventory: Inventory, cabinet: str) -> str:
    """The face of a cabinet once all is carried out.

    :raises NotFound: when there is no such cabinet.
    """
    if not any(each.key == cabinet for each in inventory.cabinets):
        raise NotFound("cabinet", cabinet)
    return cabinet_fill_drawing(_with_planned_trays(kept, inventory), cabinet, kept.content.plan, alternative(kept))


def _with_planned_trays(kept: KeptArrangement, inventory: Inventory) -> Inventory:
    """What stands now, without the plan's new drawers, which it brings itself; and its trays that are gone by now."""
    new = {drawer.key for drawer in alternative(kept).new_drawers}
    present = {tray.key for tray in inventory.trays}
    gone = (replace(tray, drawer=None, place=None) for tray in kept.content.before.trays if tray.key not in present)
    trays = (replace(tray, drawer=None, place=None) if tray.drawer in new else tray for tray in inventory.trays)
    drawers = tuple(drawer for drawer in inventory.drawers if drawer.key not in new)
    return replace(inventory, drawers=drawers, trays=(*trays, *gone))
