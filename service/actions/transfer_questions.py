"""What people ask about a transfer before they decide: notices, due dates, whether its trays fit, what is owed."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import standards
from service.actions.transfers import out_elsewhere
from service.core.actor import Actor
from service.core.care.cautions import HandlingCaution, handling_cautions
from service.core.consignment import Line
from service.core.errors import Conflict, NotFound
from service.core.fit.answer import FitAnswer
from service.core.fit.check import check
from service.core.transfers.dues import Due, dues
from service.core.transfers.exchange import Balance, exchange_balance
from service.core.transfers.facts import Fact, Step
from service.core.transfers.notices import Notice, Weight
from service.core.transfers.objections import posting_notices, share_notices
from service.core.transfers.parties import Side
from service.core.transfers.permits import permit_notices
from service.core.transfers.trays import containers_of, lines_without_storage
from service.store import ledger, loan_rules, permits, systems, transfers
from service.store.systems import State
from service.store.transfers import Kept


@dataclass(frozen=True, slots=True)
class OneWay:
    """The trays held against one side's published system."""

    storage_system_id: UUID
    revision_number: int
    answer: FitAnswer


@dataclass(frozen=True, slots=True)
class TraysFit:
    """``containers`` are what the lines travel in, like together; the lines of both answers are about them in turn.
    ``out``: they in the borrower's system. ``home``: the same back in the lender's own.
    """

    containers: tuple[Line, ...]
    out: OneWay
    home: OneWay
    lines_without_storage: tuple[str, ...]
    handling: tuple[HandlingCaution, ...]


@dataclass(frozen=True, slots=True)
class Exchange:
    ways: tuple[Kept, ...]
    balance: tuple[Balance, ...]


def notices(session: Session, actor: Actor, transfer_id: UUID, today: date) -> tuple[Notice, ...]:
    """Everything to look at before the next step, by the list of taxa that the asker keeps."""
    kept = transfers.whole(session, transfer_id)
    facts = ledger.facts(session, transfer_id)
    mine = loan_rules.of(session, actor.own_institution())
    listed = mine.content.listed()
    held = [one.permit for one in permits.of_transfer(session, transfer_id)]
    due = [each.on for each in dues(kept.transfer, facts) if each.on]
    if kept.side_of(actor.institution_id) is Side.LENDER:
        elsewhere = out_elsewhere(session, kept)
        shares = tuple(share_notices(kept.transfer, elsewhere))
    else:
        shares = ()
    return (
        *permit_notices(kept.transfer, held, listed, planned_return=max(due, default=None)),
        *shares,
        *posting_notices(kept.transfer, Fact(Step.DISPATCHED, Side.LENDER, "", today)),
        *_type_notices(kept),
    )


def _type_notices(kept: Kept) -> tuple[Notice, ...]:
    unsaid = tuple(line.key for line in kept.transfer.lines if line.type_status is None)
    if not unsaid:
        return ()
    sentence = f"Nobody stated whether {len(unsaid)} lines hold types; they are lent as ordinary material."
    return (Notice("type-status-unknown", Weight.UNKNOWN, sentence, unsaid),)


def dues_of(session: Session, kept: Kept) -> dict[str, Due]:
    """The due dates of the lines that ``kept`` carries."""
    return {due.line: due for due in dues(kept.transfer, ledger.facts(session, kept.id))}


def trays_fit(session: Session, transfer_id: UUID, borrowers: UUID | None, lenders: UUID | None) -> TraysFit:
    """Hold the trays of a transfer against the borrower's published system, and against the lender's own.

    Without an id, the one system that a side has published.

    :raises Conflict: when a side has published none, or several and nobody said which.
    """
    kept = transfers.whole(session, transfer_id)
    home_system = system_of(session, kept, Side.LENDER, lenders)
    out_system = system_of(session, kept, Side.BORROWER, borrowers)
    _, home = standards.published(session, home_system)
    _, out = standards.published(session, out_system)
    containers = containers_of(kept.transfer, home.content)
    if not containers:
        raise Conflict("no_lines", "No line says what it travels in, so there is nothing to hold against a system.")
    return TraysFit(
        containers,
        OneWay(out_system, out.number, check(containers, out.content)),
        OneWay(home_system, home.number, check(containers, home.content)),
        lines_without_storage(kept.transfer),
        handling_cautions(line.treatments_used for line in kept.transfer.lines),
    )


def system_of(session: Session, kept: Kept, side: Side, named: UUID | None) -> UUID:
    """The storage system that was named, or else the one that a side has published.

    :raises Conflict: when the side has published none, or several.
    """
    if named is not None:
        return named
    owner, called = kept.institution(side), kept.transfer.called(side)
    if owner is None:
        raise Conflict("nothing_published", f"The {called} is a private person and has published no storage system.")
    found = systems.page(session, None, 100, owner).items
    published = [one for one in found if systems.in_state(session, one, State.PUBLISHED)]
    if len(published) != 1:
        many = "none" if not published else f"{len(published)}; say which"
        raise Conflict(
            "nothing_published", f"Of storage systems that you may see, the {called} has published {many}."
        )
    return published[0].id


def exchange(session: Session, exchange_id: UUID) -> Exchange:
    """An exchange, as far as the asker is a side of it.

    :raises NotFound: when the asker is a side of none of its ways.
    """
    ways = transfers.of_exchange(session, exchange_id)
    if not ways:
        raise NotFound("exchange", exchange_id)
    return Exchange(ways, exchange_balance([(way.transfer, ledger.facts(session, way.id)) for way in ways]))
