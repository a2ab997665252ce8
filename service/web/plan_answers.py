"""Housing plans on their way out: from what is kept to what the schemas dump."""

from collections.abc import Iterator
from typing import Any

from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.errors import NotFound
from service.core.housing.certificate import FULL, ONE
from service.core.housing.money import cost_of_plan
from service.paper.cabinet_positions import CabinetPlan
from service.paper.housing_table import housing_table
from service.paper.numbered_drawers import Numbered, drawer_of, numbered
from service.paper.plan_cabinets import cabinets_for
from service.paper.plan_words import proof_words
from service.store.housing_plans import KeptPlan

_HEAD = (
    "id", "consignment_id", "storage_system_id", "revision_number", "tray_count", "drawer_count", "proof", "engine",
    "created_at",
)  # fmt: skip
_OF_BOUND = (
    "cost", "at_least", "at_least_in_columns", "drawers_above", "proved_for", "stopped_early", "parts_groups",
)  # fmt: skip


def as_answer(kept: KeptPlan) -> dict[str, Any]:
    """The plan as its schema dumps it."""
    plan = kept.plan
    bound = {name: getattr(plan, name) for name in _OF_BOUND}
    return {
        **{name: getattr(kept, name) for name in _HEAD},
        "bound": bound | {"in_words": proof_words(plan), "rests_on_search": rests_on_search(kept)},
        "at_most_by_fit_check": kept.asked.at_most_by_check,
        "used": plan.used,
        "layouts": [_layout(each) for each in numbered(plan)],
        "bottom_sheet_m2": plan.bottom_sheet_m2,
        "cost": cost_of_plan(kept.asked, plan),
        "left_out": kept.asked.left_out,
        "heights_unknown": plan.heights_unknown,
        "notes": list(notes(kept)),
        "handling": handling(kept),
    }


def handling(kept: KeptPlan) -> tuple[HandlingCaution, ...]:
    return handling_cautions(kept.asked.treatments_used)


def rests_on_search(kept: KeptPlan) -> bool:
    return kept.plan.at_least > kept.plan.certificate.at_least


def notes(kept: KeptPlan) -> Iterator[str]:
    """What is to be said beside the figures."""
    yield from kept.asked.notes
    for cabinet in kept.asked.cabinets:
        wanted = sum(each.count for each in kept.plan.used if each.drawer == cabinet.made_for)
        if cabinet.free_positions is not None and wanted > cabinet.free_positions:
            yield f"{wanted} positions of “{cabinet.name}” are wanted, of which {cabinet.free_positions} are free."


def _layout(each: Numbered) -> dict[str, Any]:
    trays = [{"tray": tray, "count": count} for tray, count in sorted(each.layout.counts.items())]
    return {
        "number": each.number,
        "drawer": each.layout.drawer,
        "first": each.first,
        "last": each.last,
        "trays": trays,
    }


def table(kept: KeptPlan) -> str:
    """The plan as plain text."""
    return housing_table(
        kept.asked.request,
        kept.plan,
        consignment=kept.asked.consignment,
        system=kept.asked.system,
        revision="" if kept.revision_number is None else str(kept.revision_number),
        planned_on=kept.created_at.date(),
        cabinets=cabinets(kept),
        cost=cost_of_plan(kept.asked, kept.plan),
        handling=handling(kept),
    )


def cabinets(kept: KeptPlan) -> CabinetPlan | None:
    """Where each drawer goes; ``None`` when the plan was made for no storage system."""
    return cabinets_for(kept.asked, kept.plan) if kept.asked.cabinets else None


def drawers(kept: KeptPlan) -> list[dict[str, Any]]:
    """Every drawer in its order, with its place."""
    found = cabinets(kept)
    places: dict[int, dict[str, Any]] = {
        drawer.drawer: {"cabinet": cabinet.kind.name, "cabinet_number": cabinet.number, "position": drawer.first}
        for cabinet in (found.cabinets if found else ())
        for drawer in cabinet.drawers
    }
    return [
        {"number": number, "layout": each.number, "drawer": each.layout.drawer, **places.get(number, {})}
        for each in numbered(kept.plan)
        for number in range(each.first, each.last + 1)
    ]


def layout_of(kept: KeptPlan, number: int) -> Numbered:
    """The layout of the drawer with this number.

    :raises NotFound: when the plan has fewer drawers.
    """
    for each in numbered(kept.plan):
        if each.first <= number <= each.last:
            return each
    raise NotFound("drawer of this housing plan with the number", number)


def filled(kept: KeptPlan, number: int) -> dict[str, Any]:
    """One drawer with every tray in its place."""
    layout = layout_of(kept, number).layout
    drawer = drawer_of(kept.asked.request, layout)
    labels = {tray.code: tray.label for tray in kept.asked.request.trays}
    return {
        **drawers(kept)[number - 1],
        "handling": handling(kept),
        "inner_width_nm": drawer.inner_width_nm,
        "inner_depth_nm": drawer.inner_depth_nm,
        "placed": [
            {"tray": placed.tray, "label": labels[placed.tray], "place": placed.place} for placed in layout.placed
        ],
        "reserve": layout.reserve,
    }


def certificate(kept: KeptPlan) -> dict[str, Any]:
    """The numbers that show the bound."""
    shown = kept.plan.certificate
    return {
        **{name: getattr(shown, name) for name in ("rooms", "sizes", "limits", "cost_alone", "at_cost", "at_least")},
        "sum": shown.sum,
        "one": ONE,
        "full": FULL,
        "whole_trays": kept.plan.whole_tray_certificate,
        "columns": kept.plan.column_certificate,
        "rests_on_search": rests_on_search(kept),
    }


def inputs(kept: KeptPlan) -> dict[str, Any]:
    """What the plan was made from."""
    request = kept.asked.request
    return {
        "consignment": kept.asked.consignment,
        "system": kept.asked.system,
        "content_sha256": kept.asked.content_sha256,
        "growth_reserve_percent": request.reserve_percent,
        "play_nm": request.play_nm,
        "trays": request.trays,
        "drawers": request.drawers,
    }
