"""What to mind with one's own trays: what their quarantines, and the plans that brought them, say was used."""

from collections.abc import Collection, Iterator
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.quarantines import used_on
from service.core.arrangement.plan import TakeIn
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.materials import Treatment
from service.store import quarantines
from service.store.arrangement_plans import KeptArrangement

Used = tuple[Treatment, ...] | None


def of_trays(session: Session, institution_id: UUID, codes: Collection[str]) -> tuple[HandlingCaution, ...]:
    """What to mind with an institution's trays; nobody said of a tray that was never in quarantine."""
    return handling_cautions(_used(session, institution_id, codes))


def of_arrangement(session: Session, institution_id: UUID, kept: KeptArrangement) -> tuple[HandlingCaution, ...]:
    """What to mind while a plan is carried out: with all trays in drawers that it touches, and those that arrive."""
    question, before = kept.asked.question, [tray.key for tray in kept.content.before.trays]
    arriving: tuple[Used, ...] = (None,) * len(kept.content.plan.new_trays)
    if isinstance(question, TakeIn) and arriving:
        arriving = question.treatments_used
    return handling_cautions([*_used(session, institution_id, before), *arriving])


def _used(session: Session, institution_id: UUID, codes: Collection[str]) -> Iterator[Used]:
    told: dict[str, list[Used]] = {code: [] for code in codes}
    for kept in quarantines.of_trays(session, institution_id, codes) if told else ():
        used = used_on(session, kept.quarantine)
        for code in told.keys() & set(kept.quarantine.subject.trays):
            told[code] += used
    for used in told.values():
        yield from used or [None]
