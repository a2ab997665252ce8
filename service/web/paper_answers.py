"""How plans of parcels and printed papers become what an answer shows."""

from collections.abc import Sequence
from typing import Any

from service.actions import papers as actions
from service.core.care.cautions import HandlingCaution
from service.store.papers import KeptPaper
from service.store.parcel_plans import KeptPlan
from service.web.schemas.papers import MOST_CHANGES


def plan(kept: KeptPlan, handling: Sequence[HandlingCaution] = ()) -> dict[str, Any]:
    """A plan of parcels as its schema dumps it."""
    said = {name: getattr(kept.plan, name) for name in kept.plan.__dataclass_fields__}
    about = {name: getattr(kept, name) for name in ("id", "transfer_id", "made_by", "revision", "created_at")}
    return said | about | {"parcel_count": len(kept.plan.parcels), "handling": handling}


def paper(kept: KeptPaper) -> dict[str, Any]:
    """A printed paper as its schema dumps it."""
    printing = kept.printing
    said = {name: getattr(printing, name) for name in ("kind", "size", "by", "on", "parcel_plan_id")}
    about = ("id", "transfer_id", "made_by", "title", "revision", "check_code", "created_at")
    return said | {name: getattr(kept, name) for name in about} | {"verify_at": actions.verify_address(kept)}


def verdict(found: actions.Verified) -> dict[str, Any]:
    """What became of a paper, as its schema dumps it."""
    since = [
        {"seq": one.seq, "step": one.fact.step, "side": one.fact.side, "by": one.fact.by, "on": one.fact.on}
        for one in found.facts_since
    ]
    return {
        "paper": paper(found.paper),
        "as_printed": found.is_as_printed,
        "in_words": _in_words(found),
        "changes": found.changes[:MOST_CHANGES],
        "change_count": len(found.changes),
        "facts_since": since[-MOST_CHANGES:],
    }


def _in_words(found: actions.Verified) -> str:
    many = len(found.facts_since)
    facts_since = (
        "No fact was added to the transfer since."
        if not many
        else f"{'One fact was' if many == 1 else f'{many} facts were'} added to the transfer since."
    )
    if found.why_not is not None:
        return f"It would not be printed any more. {found.why_not} {facts_since}"
    if found.is_as_printed:
        return f"It reads as it would read today. {facts_since}"
    places = "one place" if len(found.changes) == 1 else f"{len(found.changes)} places"
    return f"It has changed since it was printed, in {places}; print it anew. {facts_since}"
