"""Checking a ledger from end to end: the chain, the postings, the balances, and what was noted of the standing."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.transfers.chain import Break, Head, verify
from service.core.transfers.facts import Fact, movements
from service.core.transfers.ledger import Account, Balances, Posting, balances, postings
from service.core.transfers.standing import Standing, standing
from service.core.transfers.transfer import agreement_digest
from service.store import ledger, transfers
from service.store.transfers import Kept


def check_transfer(session: Session, transfer_id: UUID, handed_over: Head | None = None) -> Break | None:
    """The first thing in a transfer's ledger that does not hold, or None.

    ``handed_over`` is a head that the other side kept: the chain must still contain it.
    """
    kept = transfers.whole(session, transfer_id)
    broken = verify(str(transfer_id), ledger.links(session, transfer_id), handed_over)
    if broken is not None:
        return broken
    facts = ledger.facts(session, transfer_id)
    posted = ledger.postings(session, transfer_id)
    return (
        _in_postings(facts, posted)
        or _in_sums(posted, ledger.sums(session, transfer_id))
        or _in_balances(facts, ledger.balances(session, transfer_id))
        or _in_standing(kept, facts)
    )


def _in_postings(facts: Sequence[Fact], stored: Mapping[int, tuple[Posting, ...]]) -> Break | None:
    for seq, fact in enumerate(facts, start=1):
        if _summed(postings(fact.moves)) != _summed(stored.get(seq, ())):
            return Break(seq, f"The postings of link {seq} are not those of its text.")
    beyond = max(stored, default=0)
    return Break(beyond, f"There are postings of a link {beyond} that is not there.") if beyond > len(facts) else None


def _in_sums(posted: Mapping[int, tuple[Posting, ...]], stored: Mapping[tuple[int, Account], int]) -> Break | None:
    for seq in sorted({*posted, *(seq for seq, _ in stored)}):
        sums: dict[Account, int] = defaultdict(int)
        for entry in posted.get(seq, ()):
            sums[entry.account] += entry.change
        kept = {account: change for (of, account), change in stored.items() if of == seq}
        if {account: change for account, change in sums.items() if change} != kept:
            return Break(seq, f"The sums kept of link {seq} are not those of its postings.")
    return None


def _summed(entries: Sequence[Posting]) -> dict[tuple[str, Account], int]:
    sums: dict[tuple[str, Account], int] = defaultdict(int)
    for entry in entries:
        sums[entry.line, entry.account] += entry.change
    return {place: change for place, change in sums.items() if change}


def _in_balances(facts: Sequence[Fact], stored: Balances) -> Break | None:
    if _without_zeros(balances(movements(facts))) != _without_zeros(stored):
        return Break(len(facts), "The balances are not the sums of the postings.")
    return None


def _without_zeros(held: Balances) -> dict[str, dict[Account, int]]:
    kept = {line: {account: n for account, n in accounts.items() if n} for line, accounts in held.items()}
    return {line: accounts for line, accounts in kept.items() if accounts}


def _in_standing(kept: Kept, facts: Sequence[Fact]) -> Break | None:
    seq = len(facts)
    if kept.head.seq != seq:
        return Break(seq, f"The chain ends at {seq}, and {kept.head.seq} is noted as its end.")
    now = standing(kept.transfer.ending, facts)
    if _comparable(now) != _comparable(kept.standing):
        return Break(seq, "How the transfer stands is not noted as its facts say.")
    if now.agreement is not None and kept.transfer.lines and agreement_digest(kept.transfer) != now.agreement:
        return Break(seq, "The text is not the one whose digest was written down and signed.")
    return None


def _comparable(now: Standing) -> tuple[object, ...]:
    """What both the pure module and the triggers say of a standing."""
    return (
        now.agreement, now.signed, dict(now.totals or {}), now.last_dispatched_on, now.received_on, now.last_moved_on,
        now.last_sent_back_on, now.acknowledged, len(now.differences), now.reconciled_on, now.closed_on,
        now.withdrawn_on,
    )  # fmt: skip
