"""The steps of a transfer as one table, and the one function that says whether a step may be taken.

A row says who may take the step, which facts must be there (in the order in which their absence is reported), what
it moves in the ledger, and what has to be said with it. Nothing else in the service decides any of this.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.core.transfers import needs
from service.core.transfers.facts import Fact, Step, movements
from service.core.transfers.ledger import Account, balances, check_never_below_zero, touching
from service.core.transfers.needs import Need
from service.core.transfers.notices import Weight
from service.core.transfers.parties import PartyKind, Side
from service.core.transfers.refusals import RefusedStep
from service.core.transfers.shares import keeping
from service.core.transfers.standing import Standing, standing
from service.core.transfers.terms import recall_date
from service.core.transfers.transfer import Transfer, agreement_digest

COLLECTION, PACKED, OUT = Account.COLLECTION, Account.PACKED, Account.TRANSIT_OUT
BORROWER, BACK, RETURNED = Account.BORROWER, Account.TRANSIT_BACK, Account.RETURNED
RETAINED, PASSED_ON, CONSUMED, LOST = Account.RETAINED, Account.PASSED_ON, Account.CONSUMED, Account.LOST

EITHER = frozenset(Side)
LENDER = frozenset({Side.LENDER})
BORROWER_ONLY = frozenset({Side.BORROWER})


@dataclass(frozen=True, slots=True)
class Rule:
    """``paths`` are the moves that the step may make; with paths it makes at least one, unless ``may_move_nothing``.
    ``tells`` are the fields of the fact that have to be filled in.
    """

    step: Step
    by: frozenset[Side]
    needs: tuple[Need, ...]
    meaning: str
    paths: tuple[tuple[Account, Account], ...] = ()
    tells: tuple[str, ...] = ()
    may_move_nothing: bool = False


_ROWS = (
    Rule(Step.WRITTEN, EITHER, (needs.NOTHING_PACKED,),
         "The lines and terms are written down or changed; every signature falls.", tells=("agreement",)),
    Rule(Step.SIGNED, EITHER, (needs.WRITTEN,),
         "One side agrees to the text as it reads.", tells=("agreement",)),
    Rule(Step.WITHDRAWN, EITHER, (needs.NOTHING_PACKED,),
         "Nothing will come of it.", tells=("reason",)),
    Rule(Step.PACKED, LENDER, (needs.BOTH_SIGNED,),
         "Counted into the box.", ((COLLECTION, PACKED),)),
    Rule(Step.UNPACKED, LENDER, (needs.PACKED,),
         "Back on the shelf before it was sent.", ((PACKED, COLLECTION),)),
    Rule(Step.DISPATCHED, LENDER, (needs.BOTH_SIGNED, needs.PACKED),
         "Handed to the carrier, or over by hand.", ((PACKED, OUT),)),
    Rule(Step.RECEIVED, BORROWER_ONLY, (needs.DISPATCHED,),
         "Counted out of the box by the one who received it.", ((OUT, BORROWER),)),
    Rule(Step.ACKNOWLEDGED, BORROWER_ONLY,
         (needs.RECEIVED, needs.ALL_ARRIVED, needs.NO_DIFFERENCE, needs.NOT_ACKNOWLEDGED),
         "The list that came with it is signed and sent back."),
    Rule(Step.DIFFERENCE_REPORTED, EITHER, (needs.DISPATCHED,),
         "A count differs from the list; nothing moves until it is settled.", tells=("recounts",)),
    Rule(Step.DIFFERENCE_SETTLED, LENDER, (needs.DIFFERENCE,),
         "The owner says what became of a difference: never sent, found, undelivered, more than listed, or lost.",
         ((OUT, COLLECTION), (OUT, BORROWER), (OUT, RETURNED), (OUT, LOST), (COLLECTION, BORROWER),
          (BACK, BORROWER), (BACK, LOST), (BORROWER, RETURNED)), ("reason",), may_move_nothing=True),
    Rule(Step.EXTENSION_ASKED, BORROWER_ONLY, (needs.COMES_BACK, needs.SOMETHING_OUT, needs.NOT_ASKED),
         "More time is asked for.", tells=("until",)),
    Rule(Step.EXTENSION_GRANTED, LENDER, (needs.ASKED,),
         "More time is given, for the lines named.", tells=("until",)),
    Rule(Step.EXTENSION_REFUSED, LENDER, (needs.ASKED,),
         "More time is refused.", tells=("reason",)),
    Rule(Step.RECALLED, LENDER, (needs.COMES_BACK, needs.SOMETHING_OUT),
         "The lender wants it back, by a day that keeps the notice agreed on.", tells=("until",)),
    Rule(Step.RETAINED, LENDER, (needs.COMES_BACK, needs.RECEIVED),
         "The lender lets the borrower keep some; no primary type.", ((BORROWER, RETAINED),)),
    Rule(Step.PASSED_ON, LENDER, (needs.COMES_BACK, needs.RECEIVED),
         "The lender lets some go on to a third party, who answers to the lender from now on.",
         ((BORROWER, PASSED_ON),), ("third_party",)),
    Rule(Step.CONSUMED, EITHER, (needs.RECEIVED,),
         "Used up or destroyed.", ((BORROWER, CONSUMED),), ("reason",)),
    Rule(Step.LOST, EITHER, (needs.DISPATCHED,),
         "Written off, by name and with a reason.", ((OUT, LOST), (BORROWER, LOST), (BACK, LOST)), ("reason",)),
    Rule(Step.FOUND, EITHER, (needs.SOMETHING_LOST,),
         "What was written off has turned up.", ((LOST, BORROWER), (LOST, RETURNED))),
    Rule(Step.SENT_BACK, BORROWER_ONLY, (needs.RECEIVED,),
         "On its way home, all or part.", ((BORROWER, BACK),)),
    Rule(Step.RECEIVED_BACK, LENDER, (needs.DISPATCHED,),
         "Counted back by the lender.", ((BACK, RETURNED),)),
    Rule(Step.OWNERSHIP_CHANGED, BORROWER_ONLY, (needs.STAYS, needs.ACKNOWLEDGED),
         "The receiver takes it over as its own.", ((BORROWER, RETAINED),)),
    Rule(Step.RECONCILED, LENDER,
         (needs.NOT_PACKED, needs.NO_DIFFERENCE, needs.ALL_ACCOUNTED_FOR, needs.NOT_RECONCILED),
         "The counts are gone through and add up."),
    Rule(Step.CLOSED, LENDER, (needs.RECONCILED,),
         "The file is closed."),
)  # fmt: skip
RULES = {rule.step: rule for rule in _ROWS}

_WHAT_TO_TELL = {
    "reason": "the reason",
    "until": "the day it is to run to",
    "recounts": "which line differs, what is listed and what was counted",
    "third_party": "who it goes on to",
    "agreement": "the digest of the text",
}


def check_step(transfer: Transfer, facts: Sequence[Fact], fact: Fact, today: date) -> Standing:
    """Whether a fact may be added to those of a transfer; gives how the transfer stood before it.

    :raises RefusedStep: with the fact that is missing.
    :raises BelowZero: when more would leave an account than it held on that day or held on any day since.
    """
    before, rule = standing(transfer.ending, facts), RULES[fact.step]
    _check_side(transfer, rule, fact)
    _check_needs(transfer, rule, before, fact)
    _check_told(rule, fact)
    _check_date(rule, before, fact, today)
    _check_lines(transfer, fact)
    _check_moves(rule, fact)
    if fact.moves:
        check_never_below_zero(touching(movements((*facts, fact)), fact.lines_named))
    if own := _OWN_CHECKS.get(fact.step):
        own(transfer, facts, fact)
    return before


def add_fact(transfer: Transfer, facts: Sequence[Fact], fact: Fact, today: date) -> tuple[Fact, ...]:
    """The facts with one more at their end, if it may be taken; see ``check_step`` for what is refused."""
    check_step(transfer, facts, fact, today)
    return (*facts, fact)


def open_steps(transfer: Transfer, facts: Sequence[Fact], side: Side) -> tuple[Step, ...]:
    """The steps that a side could take next, as far as the facts decide it."""
    now = standing(transfer.ending, facts)
    return tuple(rule.step for rule in _ROWS if side in rule.by and _missing(rule, now, side) is None)


def _missing(rule: Rule, now: Standing, side: Side) -> Need | None:
    signing = (needs.own_signature_missing(side),) if rule.step is Step.SIGNED else ()
    return next((need for need in (needs.OPEN, *rule.needs, *signing) if not need.holds(now)), None)


def _check_side(transfer: Transfer, rule: Rule, fact: Fact) -> None:
    if fact.side not in rule.by:
        may = " or ".join(transfer.called(side) for side in Side if side in rule.by)
        raise RefusedStep(fact.step, "side", f"“{fact.step.words}” is for the {may} to write.")
    own_hand = fact.written_by in {None, fact.side}
    if not own_hand and transfer.party(fact.side).kind is not PartyKind.PRIVATE:
        sentence = f"The {transfer.called(fact.side)} is an institution and writes for itself."
        raise RefusedStep(fact.step, "own-hand", sentence)
    if not fact.by.strip():
        raise RefusedStep(fact.step, "person", f"“{fact.step.words}” needs the name of the person who does it.")


def _check_needs(transfer: Transfer, rule: Rule, before: Standing, fact: Fact) -> None:
    if need := _missing(rule, before, fact.side):
        raise RefusedStep(fact.step, need.code, _in_words(transfer, before, need))


def _in_words(transfer: Transfer, now: Standing, need: Need) -> str:
    return need.sentence.format(
        lender=transfer.called(Side.LENDER),
        borrower=transfer.called(Side.BORROWER),
        unsigned=" and ".join(f"the {transfer.called(side)}" for side in Side if side not in now.signed),
        differing=", ".join(sorted(now.differences)),
        lent=now.lent,
        outstanding=now.outstanding,
    )


def _check_told(rule: Rule, fact: Fact) -> None:
    for field in rule.tells:
        value = getattr(fact, field)
        if not (value.strip() if isinstance(value, str) else value):
            raise RefusedStep(fact.step, field, f"“{fact.step.words}” needs {_WHAT_TO_TELL[field]}.")


def _check_date(rule: Rule, before: Standing, fact: Fact, today: date) -> None:
    if fact.on > today:
        raise RefusedStep(fact.step, "date", f"{fact.on.isoformat()} has not come yet; today is {today.isoformat()}.")
    for need in rule.needs:
        since = need.since(before)
        if since is not None and fact.on < since:
            sentence = f"It is dated {fact.on.isoformat()}, before what it rests on ({since.isoformat()})."
            raise RefusedStep(fact.step, "date", sentence)
    if fact.until is not None and fact.until < fact.on:
        raise RefusedStep(fact.step, "until", f"{fact.until.isoformat()} is before {fact.on.isoformat()}.")


def _check_lines(transfer: Transfer, fact: Fact) -> None:
    strangers = fact.lines_named - {line.key for line in transfer.lines}
    if strangers:
        raise RefusedStep(fact.step, "line", f"The transfer has no line {', '.join(sorted(strangers))}.")


def _check_moves(rule: Rule, fact: Fact) -> None:
    if rule.paths and not fact.moves and not rule.may_move_nothing:
        raise RefusedStep(fact.step, "moves", f"“{fact.step.words}” needs at least one line and how many of it.")
    for move in fact.moves:
        if (move.source, move.target) not in rule.paths:
            sentence = f"“{fact.step.words}” does not move from “{move.source.words}” to “{move.target.words}”."
            raise RefusedStep(fact.step, "path", sentence)


def _check_text(transfer: Transfer, _facts: Sequence[Fact], fact: Fact) -> None:
    if not transfer.lines:
        raise RefusedStep(fact.step, "lines", "A transfer has at least one line.")
    if fact.agreement != agreement_digest(transfer):
        sentence = "The text has changed since you read it. Read it again, and decide about what it says now."
        raise RefusedStep(fact.step, "agreement", sentence)


def _check_as_agreed(transfer: Transfer, facts: Sequence[Fact], fact: Fact) -> None:
    after = balances(touching(movements((*facts, fact)), fact.lines_named))
    for line in transfer.lines:
        taken = -after.get(line.key, {}).get(COLLECTION, 0)
        if taken > line.count:
            sentence = f"{line.name.capitalize()}: {taken} would be packed, and {line.count} are agreed on."
            raise RefusedStep(fact.step, "as-agreed", sentence)


def _check_keeping(transfer: Transfer, _facts: Sequence[Fact], fact: Fact) -> None:
    lines = {line.key: line for line in transfer.lines}
    for move in fact.moves:
        notice = keeping(transfer.terms, lines[move.line], move.count)
        if notice and notice.weight is Weight.REFUSED:
            raise RefusedStep(fact.step, notice.code, notice.sentence)


def _check_notice(transfer: Transfer, _facts: Sequence[Fact], fact: Fact) -> None:
    earliest = recall_date(transfer.terms, fact.on)
    if earliest is not None and fact.until is not None and fact.until < earliest:
        sentence = f"Recalls give {transfer.terms.recall_notice} of notice: {earliest.isoformat()} or later."
        raise RefusedStep(fact.step, "notice", sentence)


_OWN_CHECKS = {
    Step.WRITTEN: _check_text,
    Step.SIGNED: _check_text,
    Step.PACKED: _check_as_agreed,
    Step.RETAINED: _check_keeping,
    Step.RECALLED: _check_notice,
}
