"""Transfers: writing the text that both sides sign, and adding the facts that move it along.

The pure module decides on the facts read under the lock of the transfer; the store appends; the database holds the
same laws once more.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import quarantines
from service.core.actor import Actor
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.care.placing import Keeping, notice_of
from service.core.errors import Conflict, Invalid, NotAllowed, StaleVersion
from service.core.identifiers import Identifier
from service.core.identifiers import Kind as NamedKind
from service.core.transfers.chain import Head
from service.core.transfers.dues import dues
from service.core.transfers.facts import Fact, Override, Recount, Seen, Step, movements
from service.core.transfers.ledger import Account, Balances, Move, balances
from service.core.transfers.lines import Line, check_lines
from service.core.transfers.objections import check_objections
from service.core.transfers.parties import Party, PartyKind, Person, Side
from service.core.transfers.refusals import BelowZero, RefusedStep
from service.core.transfers.steps import RULES, check_step, open_steps
from service.core.transfers.terms import Terms
from service.core.transfers.transfer import Ending, Transfer, TransferKind, agreement_digest
from service.store import identifiers, institutions, ledger, loan_rules, permits, transfers
from service.store.identifiers import Named
from service.store.ids import new_id
from service.store.ledger import Recorded
from service.store.transfers import Kept

#: What a transfer of each kind ends in, where nothing else is said.
USUAL_ENDING = {
    TransferKind.LOAN: Ending.COMES_BACK,
    TransferKind.GIFT: Ending.STAYS,
    TransferKind.EXCHANGE: Ending.STAYS,
    TransferKind.EMPTY_TRAYS: Ending.COMES_BACK,
}
#: Steps that the lender's rules may speak against.
_OBJECTED_TO = frozenset({Step.PACKED, Step.DISPATCHED, Step.SENT_BACK, Step.RETAINED, Step.PASSED_ON})
#: Steps after which due dates may be others.
_MOVES_DUES = frozenset({Step.EXTENSION_GRANTED, Step.RECALLED})


@dataclass(frozen=True, slots=True)
class PartyNamed:
    """One side as it was named: an institution of this service by its id, or a private person by name."""

    institution_id: UUID | None = None
    name: str | None = None
    country: str | None = None
    cites_code: str | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """What may be written anew until something is packed. ``lines`` left out stay as they are."""

    answerable: Person
    purpose: str
    by: str
    on: date | None = None
    user: Person | None = None
    terms: Terms | None = None
    lines: tuple[Line, ...] | None = None


@dataclass(frozen=True, slots=True)
class NewTransfer:
    """A transfer to be. Without ``terms`` in its text it has those that the lender publishes."""

    code: str
    kind: TransferKind
    lender: PartyNamed
    borrower: PartyNamed
    text: Text
    ending: Ending | None = None
    exchange_id: UUID | None = None
    identifiers: tuple[Identifier, ...] = ()


@dataclass(frozen=True, slots=True)
class MoveNamed:
    """``count`` of a line; where a step has one way only, nobody needs to say from where to where."""

    line: str
    count: int
    source: Account | None = None
    target: Account | None = None


@dataclass(frozen=True, slots=True)
class NewFact:
    """What somebody writes down. ``everything`` moves all that the step could move. ``for_private_party``: the other
    side is a person without a key, and this side writes for it.
    """

    step: Step
    by: str
    on: date | None = None
    moves: tuple[MoveNamed, ...] = ()
    everything: bool = False
    seen: tuple[Seen, ...] = ()
    recounts: tuple[Recount, ...] = ()
    lines: tuple[str, ...] = ()
    until: date | None = None
    reason: str = ""
    third_party: str | None = None
    agreement: str | None = None
    override: Override | None = None
    for_private_party: bool = False


@dataclass(frozen=True, slots=True)
class View:
    """A transfer as one side sees it: how it stands, the steps open to that side, what to mind, its names."""

    kept: Kept
    side: Side
    open_steps: tuple[Step, ...]
    line_count: int
    handling: tuple[HandlingCaution, ...]
    identifiers: tuple[Named, ...] = ()


def make(session: Session, actor: Actor, new: NewTransfer, now: datetime) -> View:
    """Write a transfer down, as one of its two sides; its first fact is that it was written."""
    me = actor.own_institution()
    ids = (new.lender.institution_id, new.borrower.institution_id)
    if me not in ids:
        raise Invalid("lender", "You can write down a transfer only as one of its two sides.")
    lender, borrower = (
        _party(session, named, side) for named, side in zip((new.lender, new.borrower), Side, strict=True)
    )
    is_exchange = new.kind is TransferKind.EXCHANGE
    exchange_id = new.exchange_id or (new_id() if is_exchange else None)
    transfer = Transfer(
        key=str(new_id()),
        kind=new.kind,
        ending=new.ending or USUAL_ENDING[new.kind],
        lender=lender,
        borrower=borrower,
        answerable=new.text.answerable,
        purpose=new.text.purpose,
        lines=new.text.lines or (),
        user=new.text.user,
        terms=_terms(session, ids[0], new.text.terms),
        exchange=str(exchange_id) if exchange_id else None,
    )
    if new.exchange_id is not None:
        _check_exchange(session, transfer, new.exchange_id)
    own_id = UUID(transfer.key)
    transfers.make(session, transfer, new.code, me, ids, exchange_id)
    _write_text(session, actor, transfer, new.text, now)
    identifiers.give(session, me, NamedKind.TRANSFER, own_id, new.identifiers)
    return view(session, actor, own_id)


def change_text(session: Session, actor: Actor, transfer_id: UUID, version: int, text: Text, now: datetime) -> View:
    """Write the text anew, if nothing happened since the asker read it; every signature falls."""
    last = ledger.lock(session, transfer_id)
    if last.seq != version:
        raise StaleVersion("transfer", version, last.seq)
    before = transfers.whole(session, transfer_id).transfer
    changed = replace(
        before,
        answerable=text.answerable,
        user=text.user,
        purpose=text.purpose,
        terms=text.terms or before.terms,
        lines=before.lines if text.lines is None else text.lines,
    )
    _write_text(session, actor, changed, text, now, store=True)
    return view(session, actor, transfer_id)


def change_lines(
    session: Session,
    actor: Actor,
    transfer_id: UUID,
    version: int,
    lines: tuple[Line, ...],
    by: str,
    on: date | None,
    now: datetime,
) -> View:
    """Write the lines anew, and leave all else of the text as it is. Without a day they are written today."""
    before = transfers.by_id(session, transfer_id).transfer
    text = Text(before.answerable, before.purpose, by, on, before.user, before.terms, lines)
    return change_text(session, actor, transfer_id, version, text, now)


def add_fact(session: Session, actor: Actor, transfer_id: UUID, new: NewFact, now: datetime) -> View:
    """Write a fact down, if the steps before it and the lender's rules allow it.

    :raises RefusedStep: with the fact that is missing.
    :raises BelowZero: when more would be moved than there was.
    :raises NeedsOverride: when the lender's rules speak against it and nobody went over them.
    """
    last = ledger.lock(session, transfer_id)
    kept = transfers.whole(session, transfer_id)
    facts = ledger.facts(session, transfer_id)
    if new.step is Step.WRITTEN:
        raise Invalid("step", "The text is written by changing the transfer or its lines, and the fact follows.")
    fact = _fact(kept, actor, new, facts, now.date())
    try:
        check_step(kept.transfer, facts, fact, now.date())
    except (RefusedStep, BelowZero) as refusal:
        raise _with_who_and_when(session, kept, fact, refusal) from refusal
    held = quarantines.against_step(session, kept, fact, now)
    _check_objections(session, kept, facts, fact, held)
    _append(session, kept.transfer, last, facts, fact, now)
    if held and fact.override:
        quarantines.note_release(session, actor, held, fact.override.by, fact.override.reason, now)
    quarantines.after_step(session, actor, kept, fact, last.seq + 1)
    return view(session, actor, transfer_id)


def view(session: Session, actor: Actor, transfer_id: UUID) -> View:
    """A transfer as the actor's side sees it."""
    kept = transfers.by_id(session, transfer_id)
    side = kept.side_of(actor.institution_id)
    facts = ledger.facts(session, transfer_id)
    used = transfers.treatments_used(session, transfer_id)
    names = identifiers.of_things(session, [transfer_id]).get(transfer_id, ())
    return View(kept, side, open_steps(kept.transfer, facts, side), len(used), handling_cautions(used), names)


def _party(session: Session, named: PartyNamed, side: Side) -> Party:
    if named.institution_id is None:
        name = named.name or ""
        return Party(f"private:{name}", name, PartyKind.PRIVATE, named.country, named.cites_code)
    found = institutions.by_ids(session, [named.institution_id]).get(named.institution_id)
    if found is None:
        raise Invalid(f"{side.value}.institution_id", "There is no such institution.")
    published = loan_rules.of(session, found.id)
    code = named.cites_code or published.content.cites_code
    return Party(str(found.id), found.name, PartyKind.INSTITUTION, named.country or found.country_code, code)


def _terms(session: Session, lender_id: UUID | None, given: Terms | None) -> Terms:
    return given or loan_rules.of(session, lender_id).content.terms


def _check_exchange(session: Session, transfer: Transfer, exchange_id: UUID) -> None:
    """The second way of an exchange joins a first one between the same two."""
    ways = transfers.of_exchange(session, exchange_id)
    both = {transfer.lender.key, transfer.borrower.key}
    if not any({way.transfer.lender.key, way.transfer.borrower.key} == both for way in ways):
        raise Invalid("exchange_id", "There is no such exchange between these two; leave it out to begin one.")


def _write_text(
    session: Session, actor: Actor, transfer: Transfer, text: Text, now: datetime, *, store: bool = False
) -> None:
    """Hold the text to the rules of writing, keep it, and add the fact that it was written."""
    check_lines(transfer.lines, only_trays=transfer.kind is TransferKind.EMPTY_TRAYS)
    own_id = UUID(transfer.key)
    last = ledger.lock(session, own_id)
    facts = ledger.facts(session, own_id)
    kept = transfers.by_id(session, own_id)
    side = kept.side_of(actor.institution_id)
    fact = Fact(Step.WRITTEN, side, text.by, text.on or now.date(), agreement=agreement_digest(transfer))
    if transfer.lines or facts:
        check_step(transfer, facts, fact, now.date())
    if store:
        transfers.change(session, transfer, lines_too=text.lines is not None)
    _append(session, transfer, last, facts, fact, now)


def _append(
    session: Session, transfer: Transfer, last: Head, facts: Sequence[Fact], fact: Fact, now: datetime
) -> None:
    own_id = UUID(transfer.key)
    ledger.append(session, own_id, last, fact, now)
    if fact.moves or fact.step in _MOVES_DUES:
        moved = fact.lines_named or {line.key for line in transfer.lines}
        concerned = replace(transfer, lines=tuple(line for line in transfer.lines if line.key in moved))
        ledger.write_dues(session, own_id, dues(concerned, (*facts, fact)))


def _fact(kept: Kept, actor: Actor, new: NewFact, facts: Sequence[Fact], today: date) -> Fact:
    own = kept.side_of(actor.institution_id)
    side = own.other if new.for_private_party else own
    if new.for_private_party and kept.institution(side) is not None:
        raise NotAllowed(f"The {kept.transfer.called(side)} is an institution and writes for itself.")
    return Fact(
        step=new.step,
        side=side,
        by=new.by,
        on=new.on or today,
        moves=_moves(kept.transfer, new, facts),
        seen=new.seen,
        recounts=new.recounts,
        lines=new.lines,
        until=new.until,
        reason=new.reason,
        third_party=new.third_party,
        agreement=new.agreement,
        written_by=own if new.for_private_party else None,
        override=new.override,
    )


def _moves(transfer: Transfer, new: NewFact, facts: Sequence[Fact]) -> tuple[Move, ...]:
    if new.everything:
        if new.moves:
            raise Invalid("moves", "Say either everything or which lines; not both.")
        return _everything(transfer, new.step, balances(movements(facts)))
    return tuple(_move(new.step, named, f"moves.{place}") for place, named in enumerate(new.moves))


def _move(step: Step, named: MoveNamed, where: str) -> Move:
    paths = RULES[step].paths
    fitting = [
        (source, target) for source, target in paths
        if named.source in {None, source} and named.target in {None, target}
    ]  # fmt: skip
    if len(fitting) == 1:
        return Move(named.line, *fitting[0], named.count)
    if named.source and named.target:
        return Move(named.line, named.source, named.target, named.count)
    ways = ", ".join(f"{source.value} to {target.value}" for source, target in paths) or "none"
    raise Invalid(where, f"Say from where to where; the ways of “{step.words}” are: {ways}.")


def _everything(transfer: Transfer, step: Step, held: Balances) -> tuple[Move, ...]:
    """All that a step of one way could move. Of the collection that is what was agreed on and is not yet taken."""
    paths = RULES[step].paths
    if len(paths) != 1:
        raise Invalid("everything", f"“{step.words}” does not have one way only; name the lines.")
    (source, target), moves = paths[0], []
    for line in transfer.lines:
        there = held.get(line.key, {}).get(source, 0) + (line.count if source is Account.COLLECTION else 0)
        if there > 0:
            moves.append(Move(line.key, source, target, there))
    return tuple(moves)


def _check_objections(
    session: Session, kept: Kept, facts: Sequence[Fact], fact: Fact, in_quarantine: Sequence[Keeping]
) -> None:
    if not in_quarantine and fact.step not in _OBJECTED_TO:
        return
    held = [one.permit for one in permits.of_transfer(session, kept.id)]
    elsewhere = out_elsewhere(session, kept) if fact.step is Step.PACKED else {}
    also = tuple(map(notice_of, in_quarantine))
    check_objections(kept.transfer, facts, fact, held, elsewhere, also)


def out_elsewhere(session: Session, kept: Kept) -> dict[str, int]:
    """What the lender has out of the same taxa in its other transfers, as far as the asker may know: a borrower is
    told of nobody else's loans.
    """
    if kept.lender_id is None or kept.transfer.terms.largest_share_lent is None:
        return {}
    taxa = {line.taxon for line in kept.transfer.lines if line.taxon}
    return dict(ledger.out_elsewhere(session, kept.lender_id, kept.id, taxa))


def _with_who_and_when(session: Session, kept: Kept, fact: Fact, refusal: RefusedStep | BelowZero) -> Conflict:
    """The refusal, with the fact that got in its way: who wrote it, and when."""
    known = ledger.recorded(session, kept.id)
    lines = {refusal.line} if isinstance(refusal, BelowZero) else set(fact.lines_named)
    moving = [one for one in known if any(move.line in lines for move in one.fact.moves)]
    last = (moving if fact.moves and moving else list(known))[-1:]
    if not last:
        return refusal
    told = Conflict(refusal.kind, f"{refusal.message} {_who_and_when(kept.transfer, last[0])}", **refusal.members)
    told.members["last_fact"] = {
        "seq": last[0].seq,
        "step": last[0].fact.step,
        "side": last[0].fact.side,
        "by": last[0].fact.by,
        "on": last[0].fact.on,
        "recorded_at": last[0].recorded_at,
    }
    return told


def _who_and_when(transfer: Transfer, last: Recorded) -> str:
    at = last.recorded_at.strftime("%Y-%m-%d %H:%M:%S")
    return (
        f"The last that was written: “{last.fact.step.words}” on {last.fact.on.isoformat()} by {last.fact.by}"
        f" for the {transfer.called(last.fact.side)}, at {at} UTC."
    )
