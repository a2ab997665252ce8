"""Trays that arrive: named one by one, waiting already, or all those of a housing plan that is kept."""

from collections.abc import Iterator, Mapping
from typing import Any, Final
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.arrangement.inventory import Tray
from service.core.arrangement.plan import TakeIn
from service.core.errors import Invalid
from service.core.materials import Treatment
from service.store import housing_plans
from service.store.housing_plans import KeptPlan

#: More trays than this are several plans: each has to be carried.
MOST_TRAYS: Final = 20_000


def take_in(session: Session, asker: UUID, said: Mapping[str, Any]) -> TakeIn:
    """All trays that are to find a place.

    :raises NotFound: when there is no such housing plan.
    :raises Invalid: when it houses too many trays for one walk.
    """
    trays = tuple(said["trays"])
    used: list[tuple[Treatment, ...] | None] = []
    if "housing_plan_id" in said:
        kept = housing_plans.by_id(session, asker, said["housing_plan_id"])
        if kept.tray_count > MOST_TRAYS:
            raise Invalid(
                "take_in.housing_plan_id", f"It houses more than {MOST_TRAYS:,} trays; take in parts of it."
            )
        trays += tuple(_trays_of(kept, said.get("code_prefix") or f"H{str(kept.id)[-6:]}"))
        used += kept.asked.treatments_used
    if said["trays"] or not used:
        used.append(None)
    return TakeIn(trays, tuple(said["unplaced"]), tuple(used))


def _trays_of(kept: KeptPlan, prefix: str) -> Iterator[Tray]:
    number = 0
    for size in kept.asked.request.trays:
        for _ in range(size.count):
            number += 1
            name = size.label or size.code
            yield Tray(f"{prefix}-{number}", name, size.width_nm, size.depth_nm, label=name, height_nm=size.height_nm)
