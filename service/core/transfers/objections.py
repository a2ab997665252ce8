"""What the rules have against a step: the lender's own, and quarantine. Somebody may go over them, by name and with
a reason.

What the rules leave nobody the choice of, such as keeping a primary type, is refused in ``steps.py`` and is no
objection. A fact that is missing is told as a notice and objects to nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from service.core.transfers.facts import Fact, Step, movements
from service.core.transfers.ledger import Account, balances
from service.core.transfers.lines import Counted
from service.core.transfers.notices import Notice, Weight
from service.core.transfers.permits import Permit, third_party_notices
from service.core.transfers.refusals import NeedsOverride
from service.core.transfers.shares import keeping, lent_at_once
from service.core.transfers.terms import posting_advice
from service.core.transfers.transfer import Ending, Transfer

_POSTED = frozenset({Step.DISPATCHED, Step.SENT_BACK})


def check_objections(
    transfer: Transfer,
    facts: Sequence[Fact],
    fact: Fact,
    permits: Iterable[Permit] = (),
    out_elsewhere: Mapping[str, int] | None = None,
    also: Iterable[Notice] = (),
) -> None:
    """Refuse a step that the lender's rules speak against, unless somebody goes over all of them.

    ``out_elsewhere`` counts by taxon what the lender has out in other transfers. ``also`` are objections that do not
    follow from the transfer itself: what is in quarantine.

    :raises NeedsOverride: with the notices that nobody went over.
    """
    objections = (*against(transfer, facts, fact, permits, out_elsewhere or {}), *also)
    gone_over = set(fact.override.codes) if fact.override else set()
    left = tuple(notice for notice in objections if notice.code not in gone_over)
    if left:
        raise NeedsOverride(fact.step, tuple(notice.code for notice in left), " ".join(n.sentence for n in left))


def against(
    transfer: Transfer,
    facts: Sequence[Fact],
    fact: Fact,
    permits: Iterable[Permit],
    out_elsewhere: Mapping[str, int],
) -> tuple[Notice, ...]:
    """The notices against a step, each by its code once for each line or taxon concerned."""
    found: list[Notice] = []
    if fact.step in _POSTED:
        found += posting_notices(transfer, fact)
    if fact.step is Step.PACKED:
        found += share_notices(transfer, out_elsewhere)
        found += third_party_notices(transfer, permits, None)
    if fact.step is Step.RETAINED:
        found += _keeping_notices(transfer, facts, fact)
    if fact.step is Step.PASSED_ON:
        found += third_party_notices(transfer, permits, fact.third_party)
    return tuple(notice for notice in found if notice.weight is Weight.AGAINST_TERMS)


def posting_notices(transfer: Transfer, fact: Fact) -> Iterable[Notice]:
    """Why nothing should be posted on the day of the fact."""
    advice = posting_advice(transfer.terms, fact.on)
    if advice is None:
        return
    why = f" ({advice.why})" if advice.why else ""
    days = [day.isoformat() for day in (advice.last_before, advice.first_after) if day]
    instead = f" Post by {days[0]} or from {days[1]}." if len(days) > 1 else ""
    sentence = f"The lender's rules post nothing on {advice.day.isoformat()}{why}.{instead}"
    yield Notice("no-post", Weight.AGAINST_TERMS, sentence)


def share_notices(transfer: Transfer, out_elsewhere: Mapping[str, int]) -> Iterable[Notice]:
    """What the lender's largest share says, taxon by taxon; of what is given away it says nothing."""
    if transfer.ending is Ending.STAYS or transfer.terms.largest_share_lent is None:
        return
    asked: dict[str, int] = defaultdict(int)
    held: dict[str, int | None] = {}
    lines: dict[str, list[str]] = defaultdict(list)
    for line in transfer.lines:
        if line.counted is Counted.SPECIMEN and line.taxon:
            asked[line.taxon] += line.count
            held[line.taxon] = line.held if line.held is not None else held.get(line.taxon)
            lines[line.taxon].append(line.key)
    for taxon, count in asked.items():
        notice = lent_at_once(transfer.terms, taxon, held[taxon], out_elsewhere.get(taxon, 0), count)
        if notice:
            yield Notice(notice.code, notice.weight, notice.sentence, tuple(lines[taxon]))


def _keeping_notices(transfer: Transfer, facts: Sequence[Fact], fact: Fact) -> Iterable[Notice]:
    lines = {line.key: line for line in transfer.lines}
    kept = balances(movements(facts))
    for move in fact.moves:
        before = kept.get(move.line, {}).get(Account.RETAINED, 0)
        notice = keeping(transfer.terms, lines[move.line], move.count, before)
        if notice:
            yield notice
