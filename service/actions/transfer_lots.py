"""The lots of a transfer as another database is told of them: where each count is, who holds it and who owns it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import transfer_questions as questions
from service.core.lots import Disposition, Lot, OnLoan, whereabouts
from service.core.transfers.ledger import Account
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.core.transfers.permits import Permit
from service.core.transfers.transfer import Ending
from service.store import identifiers, institutions, ledger, permits, transfers
from service.store.transfers import Kept

ROR = "ror"


def lots_of(session: Session, transfer_id: UUID) -> list[Lot]:
    """One lot for each place in which some of a line is; a line of which nothing was moved yet is one lot."""
    kept = transfers.whole(session, transfer_id)
    held = ledger.balances(session, transfer_id, [line.key for line in kept.transfer.lines])
    codes, names = _codes(session, kept)
    papers = tuple(one.permit for one in permits.of_transfer(session, transfer_id))
    dues = questions.dues_of(session, kept)
    found: list[Lot] = []
    for line in kept.transfer.lines:
        due = dues.get(line.key)
        loan = OnLoan(
            kept.code,
            kept.standing.dispatched_on,
            kept.transfer.borrower.name,
            kept.transfer.lender.name,
            blocked=True,
            blocked_until=due.on if due else None,
        )
        found += _of_line(kept, line, held.get(line.key, {}), codes, names, loan, papers)
    return found


def _codes(session: Session, kept: Kept) -> tuple[dict[Side, str | None], dict[Side, str | None]]:
    """What each side is called among collections, and its ROR id; nothing of a private person."""
    ids = {side: kept.institution(side) for side in Side}
    known = institutions.by_ids(session, [one for one in ids.values() if one is not None])
    called = identifiers.of_things(session, known)
    codes = {side: known[own].code if own in known else None for side, own in ids.items()}
    names = {
        side: next((one.value for one in called.get(own, ()) if one.scheme == ROR), None) if own else None
        for side, own in ids.items()
    }
    return codes, names


def _of_line(
    kept: Kept,
    line: Line,
    held: Mapping[Account, int],
    codes: Mapping[Side, str | None],
    names: Mapping[Side, str | None],
    loan: OnLoan,
    papers: tuple[Permit, ...],
) -> Iterator[Lot]:
    for account in Account:
        count = held.get(account, 0) + (line.count if account is Account.COLLECTION else 0)
        if count < 1:
            continue
        place = whereabouts(account)
        is_lent = kept.transfer.ending is Ending.COMES_BACK
        is_out = place.disposition is Disposition.ON_LOAN
        yield Lot(
            replace(line, count=count, catalogue_numbers=line.catalogue_numbers if count == line.count else ()),
            f"urn:uuid:{kept.id}:{line.key}:{account.value}",
            codes[place.custody] if place.custody else None,
            names[place.custody] if place.custody else None,
            codes[place.ownership],
            disposition=place.disposition if is_lent or not is_out else None,
            loan=loan if is_lent and is_out else None,
            permits=papers,
        )
