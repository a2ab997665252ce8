"""Papers: printing what the file of a transfer says today, and saying later what of it still holds."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.errors import Conflict
from service.core.papers.changes import Change, changes
from service.core.papers.content import PageSize, PaperKind
from service.core.papers.file import TransferFile
from service.core.papers.write import paper_of
from service.core.transfers.dues import dues
from service.core.transfers.parties import Side
from service.paper.pdf.printing import pdf_of
from service.paper.pdf.sheets import Imprint
from service.store import ledger, loan_rules, packing_benches, parcel_plans, permits, transfers
from service.store import papers as store
from service.store.ledger import Recorded
from service.store.papers import KeptPaper, Printing
from service.store.transfers import Kept


@dataclass(frozen=True, slots=True)
class NewPaper:
    """A paper to print. ``parcel_plan_id`` is the plan that the text for a parcel speaks of."""

    kind: PaperKind
    by: str
    size: PageSize = PageSize.A4
    on: date | None = None
    parcel_plan_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Verified:
    """What a printed paper says otherwise than it would say today, and what happened to its transfer since.

    ``why_not`` says why the paper would not be printed any more, where that is so.
    """

    paper: KeptPaper
    changes: tuple[Change, ...]
    facts_since: tuple[Recorded, ...]
    why_not: str | None = None

    @property
    def is_as_printed(self) -> bool:
        return not self.changes and self.why_not is None


def print_paper(
    session: Session, actor: Actor, transfer_id: UUID, new: NewPaper, address: str, now: datetime
) -> KeptPaper:
    """Write a paper from the file as it is, and keep what stands on it.

    :raises Conflict: when the transfer is not so far, or has no use for the paper.
    """
    kept = transfers.whole(session, transfer_id)
    printing = Printing(new.kind, new.size, new.by, new.on or now.date(), address, new.parcel_plan_id)
    content = paper_of(new.kind, _file(session, kept, actor.own_institution(), printing))
    return store.make(session, kept, actor.own_institution(), printing, content)


def as_pdf(session: Session, paper: KeptPaper) -> bytes:
    """A paper as it was printed, to the last byte."""
    printing = paper.printing
    imprint = Imprint(
        printing.size, paper.revision, paper.check_code, verify_address(paper), printing.on, printing.by
    )
    return pdf_of(store.content_of(session, paper), imprint)


def verify_address(paper: KeptPaper) -> str:
    """Where the service tells whether a paper still holds."""
    return f"{paper.printing.address}/v1/papers/{paper.check_code}"


def verify(session: Session, code: str) -> Verified:
    """Hold the paper that carries a code against the file as it is now.

    :raises NotFound: when there is no such paper that the asker may see.
    """
    paper = store.by_code(session, code)
    kept = transfers.whole(session, paper.transfer_id)
    since = tuple(one for one in ledger.recorded(session, kept.id) if one.seq > paper.revision)
    try:
        now = paper_of(paper.printing.kind, _file(session, kept, paper.made_by, paper.printing))
    except Conflict as refusal:
        return Verified(paper, (), since, refusal.message)
    return Verified(paper, changes(store.content_of(session, paper), now), since)


def _file(session: Session, kept: Kept, made_by: UUID, printing: Printing) -> TransferFile:
    """The file of a transfer as the side that prints keeps it: its own list of taxa, and both sides' addresses."""
    facts = ledger.facts(session, kept.id)
    mine = loan_rules.of(session, made_by)
    benches = {side: packing_benches.of(session, kept.institution(side)).content for side in Side}
    sender = kept.side_of(made_by)
    own = benches[sender]
    plan_id = printing.parcel_plan_id
    return TransferFile(
        code=kept.code,
        transfer=kept.transfer,
        facts=facts,
        dues={due.line: due for due in dues(kept.transfer, facts)},
        listed=mine.content.listed(),
        sender=sender,
        service=printing.address,
        permits=tuple(one.permit for one in permits.of_transfer(session, kept.id)),
        contacts={side: bench.contact for side, bench in benches.items()},
        parcels=parcel_plans.by_id(session, kept.id, plan_id).plan if plan_id else None,
        tariff_code=own.tariff_code,
    )
