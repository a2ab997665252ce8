"""Plans of a transfer's parcels, from the bench of the side that asks, which is the side that sends."""

from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import standards
from service.actions.transfer_questions import system_of
from service.core.actor import Actor
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.errors import Conflict, Invalid, NotFound
from service.core.parcels.asking import Asked, ParcelQuestion
from service.core.parcels.from_lines import pieces_of
from service.core.parcels.pieces import check_pieces
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import Carrier, PackingBench
from service.core.standards import StorageSystem
from service.core.transfers.parties import Side
from service.store import packing_benches, transfers
from service.store import parcel_plans as store
from service.store.parcel_plans import KeptPlan
from service.store.transfers import Kept

#: More things than anybody packs in a day, and few enough to plan while somebody waits.
MOST_THINGS = 2_000


def make(session: Session, actor: Actor, transfer_id: UUID, question: ParcelQuestion) -> KeptPlan:
    """Plan the parcels of a transfer, and keep the plan.

    :raises Conflict: when there is nothing to pack, or more than ``MOST_THINGS``.
    """
    kept = transfers.whole(session, transfer_id)
    bench = packing_benches.of(session, actor.own_institution()).content
    carrier = _carrier(bench, question.carrier)
    check_pieces(question.pieces, frozenset(line.key for line in kept.transfer.lines))
    asked_for = {line for piece in question.pieces for line in piece.lines}
    others = [line for line in kept.transfer.lines if line.key not in asked_for]
    from_lines, left_out = pieces_of(others, _lenders_system(session, kept, question.storage_system_id))
    pieces = (*question.pieces, *from_lines)
    check_pieces(pieces, frozenset(line.key for line in kept.transfer.lines))
    things = sum(piece.count for piece in pieces)
    if things > MOST_THINGS:
        raise Conflict("too_many_things", f"That would be {things} things; a plan packs {MOST_THINGS} at most.")
    plan = plan_parcels(pieces, bench, carrier, left_out)
    return store.make(session, kept, actor.own_institution(), Asked(question, pieces, bench, carrier), plan)


def handling(session: Session, kept: KeptPlan) -> tuple[HandlingCaution, ...]:
    """What whoever packs has to mind: what was used on the lines before, and what lies in the pieces now."""
    inside = (piece.fumigants for piece in kept.asked.pieces if piece.fumigants)
    return handling_cautions([*transfers.treatments_used(session, kept.transfer_id), *inside])


def _carrier(bench: PackingBench, code: str | None) -> Carrier | None:
    if code is None:
        return None
    found = bench.carrier(code)
    if found is None:
        known = ", ".join(carrier.code for carrier in bench.carriers) or "none"
        raise Invalid("carrier", f"Your packing bench has no carrier {code}; it has: {known}.")
    return found


def _lenders_system(session: Session, kept: Kept, named: UUID | None) -> StorageSystem | None:
    """The system whose trays the lines name; None where nothing was named and the lender has not published one."""
    try:
        return standards.published(session, system_of(session, kept, Side.LENDER, named))[1].content
    except (Conflict, NotFound):
        if named is not None:
            raise
        return None
