"""The steps of a transfer: who may, what must have happened, and the sentence that says what is missing."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from transfer_builders import (
    TODAY,
    agreed,
    dispatched,
    everything,
    fact,
    gift,
    in_use,
    line,
    loan,
    moving,
    path_of,
    take,
)

from service.core.errors import Invalid
from service.core.transfers.calendar import Duration
from service.core.transfers.facts import Fact, Recount, Step
from service.core.transfers.ledger import Account
from service.core.transfers.lines import Counted, TypeStatus
from service.core.transfers.parties import Party, PartyKind, Side
from service.core.transfers.refusals import BelowZero, RefusedStep
from service.core.transfers.standing import standing
from service.core.transfers.states import State, state_of
from service.core.transfers.steps import RULES, open_steps
from service.core.transfers.terms import Terms
from service.core.transfers.transfer import Ending, Transfer, TransferKind, agreement_digest


def state(transfer: Transfer, facts: tuple[Fact, ...]) -> State:
    return state_of(standing(transfer.ending, facts))


def refused(transfer: Transfer, facts: tuple[Fact, ...], step: Fact) -> RefusedStep:
    with pytest.raises(RefusedStep) as caught:
        take(transfer, facts, step)
    return caught.value


def test_a_loan_goes_out_and_comes_home_in_two_parts() -> None:
    lent, seen = loan(), []
    facts: tuple[Fact, ...] = ()
    text = agreement_digest(lent)
    for step in (
        fact(Step.WRITTEN, agreement=text),
        fact(Step.SIGNED, side=Side.LENDER, agreement=text),
        fact(Step.SIGNED, side=Side.BORROWER, agreement=text),
        moving(Step.PACKED, 20),
        moving(Step.DISPATCHED, 20),
        moving(Step.RECEIVED, 20),
        fact(Step.ACKNOWLEDGED),
        moving(Step.SENT_BACK, 12),
        moving(Step.RECEIVED_BACK, 12),
        moving(Step.SENT_BACK, 8),
        moving(Step.RECEIVED_BACK, 8),
        fact(Step.RECONCILED),
        fact(Step.CLOSED),
    ):
        facts = take(lent, facts, step)
        seen.append(state(lent, facts).value)
    assert seen == [
        "written", "half_signed", "agreed", "packed", "dispatched", "received", "in_use", "sent_back_in_part",
        "returned_in_part", "sent_back", "returned", "reconciled", "closed",
    ]  # fmt: skip


def test_nothing_is_packed_before_both_have_signed_and_the_sentence_says_who_has_not() -> None:
    lent = loan()
    half = agreed(lent)[:2]
    error = refused(lent, half, moving(Step.PACKED, 20))
    assert (error.missing, error.kind) == ("both-signed", "step-refused")
    assert error.message.endswith("missing: the borrower.")


def test_a_changed_line_takes_the_signatures_back() -> None:
    lent = loan()
    facts = agreed(lent)
    changed = replace(lent, lines=(line(count=21),))
    facts = take(changed, facts, fact(Step.WRITTEN, agreement=agreement_digest(changed)))
    assert standing(changed.ending, facts).signed == frozenset()
    assert "the lender and the borrower" in refused(changed, facts, moving(Step.PACKED, 20)).message


def test_a_line_changed_and_changed_back_has_still_to_be_signed_again() -> None:
    lent = loan()
    facts = take(lent, agreed(lent), fact(Step.WRITTEN, agreement=agreement_digest(lent)))
    assert state(lent, facts) is State.WRITTEN


def test_nobody_signs_a_text_that_changed_under_his_hands() -> None:
    lent = loan()
    facts = agreed(lent)[:1]
    read_earlier = agreement_digest(loan(line(count=19)))
    assert refused(lent, facts, fact(Step.SIGNED, agreement=read_earlier)).missing == "agreement"


def test_nobody_signs_the_same_text_twice() -> None:
    lent = loan()
    error = refused(lent, agreed(lent), fact(Step.SIGNED, side=Side.LENDER, agreement=agreement_digest(lent)))
    assert error.message == "The lender has signed this text already."


def test_the_lines_stand_once_something_is_packed() -> None:
    lent = loan()
    facts = take(lent, agreed(lent), moving(Step.PACKED, 1))
    text = agreement_digest(lent)
    assert refused(lent, facts, fact(Step.WRITTEN, agreement=text)).missing == "nothing-packed"
    facts = take(lent, facts, moving(Step.UNPACKED, 1), fact(Step.WRITTEN, agreement=text))
    assert state(lent, facts) is State.WRITTEN


def test_no_more_is_packed_than_was_agreed_on() -> None:
    lent = loan()
    facts = take(lent, agreed(lent), moving(Step.PACKED, 15))
    error = refused(lent, facts, moving(Step.PACKED, 6))
    assert "21 would be packed, and 20 are agreed on" in error.message


@pytest.mark.parametrize("step", [step for step in Step if len(RULES[step].by) == 1])
def test_a_step_of_one_side_is_not_for_the_other(step: Step) -> None:
    lent = loan()
    (side,) = RULES[step].by
    assert refused(lent, in_use(lent), fact(step, side=side.other)).missing == "side"


def test_the_receiver_of_a_gift_is_called_so() -> None:
    given = gift()
    assert "for the giver to write" in refused(given, agreed(given), fact(Step.PACKED, side=Side.BORROWER)).message


def test_nothing_arrives_before_the_day_it_was_sent() -> None:
    lent = loan()
    facts = dispatched(lent, on="2026-03-15")
    with pytest.raises(RefusedStep, match="before what it rests on"):
        take(lent, facts, moving(Step.RECEIVED, 20, "2026-03-14"))


def test_a_second_parcel_cannot_have_arrived_before_it_was_sent_either() -> None:
    lent = loan()
    facts = take(
        lent,
        agreed(lent),
        moving(Step.PACKED, 20, "2026-03-10"),
        moving(Step.DISPATCHED, 5, "2026-03-15"),
        moving(Step.DISPATCHED, 15, "2026-05-15"),
    )
    with pytest.raises(BelowZero, match="on the way out") as caught:
        take(lent, facts, moving(Step.RECEIVED, 20, "2026-04-01"))
    assert (caught.value.line, caught.value.short_by) == ("1", 15)


def test_a_receipt_written_down_late_counts_from_its_own_day() -> None:
    lent = loan()
    facts = take(
        lent,
        agreed(lent),
        moving(Step.PACKED, 20, "2026-03-10"),
        moving(Step.DISPATCHED, 5, "2026-03-15"),
        moving(Step.DISPATCHED, 15, "2026-05-15"),
        moving(Step.RECEIVED, 5, "2026-04-01"),
    )
    assert state(lent, facts) is State.RECEIVED_IN_PART


def test_a_day_that_has_not_come_is_refused() -> None:
    lent = loan()
    assert (
        refused(lent, agreed(lent), fact(Step.WITHDRAWN, str(TODAY + timedelta(days=1)), reason="no time")).missing
        == "date"
    )


def test_a_receipt_is_not_acknowledged_while_some_is_on_its_way() -> None:
    lent = loan()
    facts = take(lent, dispatched(lent), moving(Step.RECEIVED, 19))
    error = refused(lent, facts, fact(Step.ACKNOWLEDGED))
    assert error.missing == "all-arrived"
    assert "report what is missing as a difference" in error.message


@pytest.mark.parametrize(
    ("target", "lent_at_last", "becomes"),
    [
        (Account.COLLECTION, 19, State.IN_USE),
        (Account.BORROWER, 20, State.IN_USE),
        (Account.LOST, 20, State.IN_USE),
        (Account.RETURNED, 20, State.RETURNED_IN_PART),
    ],
)
def test_a_missing_one_is_settled_by_the_owner(target: Account, lent_at_last: int, becomes: State) -> None:
    lent = loan()
    facts = take(
        lent,
        dispatched(lent),
        moving(Step.RECEIVED, 19),
        fact(Step.DIFFERENCE_REPORTED, side=Side.BORROWER, recounts=(Recount("1", 20, 19),)),
    )
    assert state(lent, facts) is State.DIFFERING
    assert "line 1" in refused(lent, facts, fact(Step.RECONCILED)).message
    path = path_of(Step.DIFFERENCE_SETTLED, Account.TRANSIT_OUT, target)
    settled = moving(Step.DIFFERENCE_SETTLED, 1, path=path, reason="recounted", lines=("1",))
    facts = take(lent, facts, settled, fact(Step.ACKNOWLEDGED))
    assert standing(lent.ending, facts).lent == lent_at_last
    assert state(lent, facts) is becomes


def test_one_too_many_is_reported_and_then_taken_from_the_collection() -> None:
    lent = loan()
    with pytest.raises(BelowZero, match="report the difference"):
        take(lent, dispatched(lent), moving(Step.RECEIVED, 21))
    path = path_of(Step.DIFFERENCE_SETTLED, Account.COLLECTION, Account.BORROWER)
    facts = take(
        lent,
        dispatched(lent),
        moving(Step.RECEIVED, 20),
        fact(Step.DIFFERENCE_REPORTED, side=Side.BORROWER, recounts=(Recount("1", 20, 21),)),
        moving(Step.DIFFERENCE_SETTLED, 1, path=path, reason="miscounted when packed"),
        fact(Step.ACKNOWLEDGED),
    )
    assert standing(lent.ending, facts).lent == 21


@pytest.mark.parametrize("step", [Step.LOST, Step.CONSUMED, Step.WITHDRAWN, Step.EXTENSION_REFUSED])
def test_nothing_is_written_off_or_refused_without_a_reason(step: Step) -> None:
    lent = loan()
    facts = agreed(lent) if step is Step.WITHDRAWN else in_use(lent)
    if step is Step.EXTENSION_REFUSED:
        facts = take(lent, facts, fact(Step.EXTENSION_ASKED, "2026-05-01", until=date(2029, 1, 1)))
    bare = (
        moving(step, 1, "2026-05-01", path=len(RULES[step].paths) - 1)
        if RULES[step].paths
        else fact(step, "2026-05-01")
    )
    error = refused(lent, facts, replace(bare, reason="  "))
    assert error.message == f"“{step.words}” needs the reason."


def test_nothing_is_written_off_without_a_named_person() -> None:
    lent = loan()
    bare = moving(Step.LOST, 1, "2026-05-01", path=1, reason="dropped")
    assert refused(lent, in_use(lent), replace(bare, by=" ")).missing == "person"


def test_closing_is_refused_until_it_adds_up_and_says_what_is_outstanding() -> None:
    lent = loan()
    facts = take(
        lent, in_use(lent), moving(Step.SENT_BACK, 15, "2026-05-01"), moving(Step.RECEIVED_BACK, 15, "2026-05-09")
    )
    assert refused(lent, facts, fact(Step.CLOSED, "2026-05-10")).missing == "reconciled"
    error = refused(lent, facts, fact(Step.RECONCILED, "2026-05-10"))
    assert error.message == "It does not add up yet: of 20 lent, 5 are outstanding."


def test_what_turns_up_after_the_reckoning_has_to_be_reckoned_again() -> None:
    lent = loan()
    facts = take(
        lent,
        in_use(lent),
        moving(Step.LOST, 1, "2026-05-01", path=1, reason="not found", side=Side.BORROWER),
        moving(Step.SENT_BACK, 19, "2026-05-01"),
        moving(Step.RECEIVED_BACK, 19, "2026-05-09"),
        fact(Step.RECONCILED, "2026-05-10"),
        moving(Step.FOUND, 1, "2026-05-11", path=1),
    )
    assert refused(lent, facts, fact(Step.CLOSED, "2026-05-12")).missing == "reconciled"
    facts = take(lent, facts, fact(Step.RECONCILED, "2026-05-12"), fact(Step.CLOSED, "2026-05-12"))
    assert state(lent, facts) is State.CLOSED


def test_a_loan_closed_with_a_loss_says_so_and_takes_nothing_more() -> None:
    lent = loan()
    facts = take(
        lent,
        dispatched(lent),
        moving(Step.LOST, 20, "2026-05-01", reason="parcel lost, claim 17"),
        fact(Step.RECONCILED, "2026-05-10"),
        fact(Step.CLOSED, "2026-05-10"),
    )
    assert state(lent, facts) is State.CLOSED_WITH_LOSS
    assert open_steps(lent, facts, Side.LENDER) == ()
    assert refused(lent, facts, moving(Step.FOUND, 1, "2026-05-11")).missing == "open"


def test_a_primary_type_is_not_kept_even_by_permission() -> None:
    lent = loan(line(type_status=TypeStatus.SYNTYPE))
    error = refused(lent, in_use(lent), moving(Step.RETAINED, 1, "2026-05-01"))
    assert (error.missing, "syntype" in error.message) == ("must-return", True)


def test_a_recall_keeps_the_notice_agreed_on() -> None:
    """30 days from 1 September 2026 are up on 1 October."""
    lent = loan(terms=Terms(recall_notice=Duration.parse("P30D")))
    error = refused(lent, in_use(lent), fact(Step.RECALLED, "2026-09-01", until=date(2026, 9, 30)))
    assert "2026-10-01 or later" in error.message


def test_an_extension_is_answered_once() -> None:
    lent = loan()
    asked = fact(Step.EXTENSION_ASKED, "2026-05-01", until=date(2028, 1, 1))
    granted = fact(Step.EXTENSION_GRANTED, "2026-05-02", until=date(2028, 1, 1))
    facts = take(lent, in_use(lent), asked)
    assert refused(lent, facts, asked).missing == "not-asked"
    assert refused(lent, take(lent, facts, granted), granted).missing == "extension-asked"


def test_a_gift_ends_in_ownership_changed_and_a_loan_cannot() -> None:
    given = gift()
    facts = take(given, in_use(given), moving(Step.OWNERSHIP_CHANGED, 20, "2026-05-01"))
    assert state(given, facts) is State.OWNERSHIP_CHANGED
    assert state(given, take(given, facts, fact(Step.RECONCILED, "2026-05-02"))) is State.RECONCILED
    lent = loan()
    assert refused(lent, in_use(lent), moving(Step.OWNERSHIP_CHANGED, 20, "2026-05-01")).missing == "stays"


def test_part_of_a_gift_may_be_sent_back_to_the_donor() -> None:
    """Partial acceptance is common practice, no source: donors are told that part of a gift may be kept."""
    given = gift()
    facts = take(
        given,
        in_use(given),
        moving(Step.OWNERSHIP_CHANGED, 5, "2026-05-01"),
        moving(Step.SENT_BACK, 15, "2026-05-02"),
        moving(Step.RECEIVED_BACK, 15, "2026-05-09"),
        fact(Step.RECONCILED, "2026-05-10"),
        fact(Step.CLOSED, "2026-05-10"),
    )
    assert state(given, facts) is State.CLOSED


def test_an_institution_writes_for_a_donor_who_has_no_key_and_for_nobody_else() -> None:
    donor = Party("d", "A. Collector", PartyKind.PRIVATE)
    given = gift(lender=donor)
    facts = take(given, (), fact(Step.WRITTEN, agreement=agreement_digest(given)))
    signed = fact(Step.SIGNED, side=Side.LENDER, agreement=agreement_digest(given), written_by=Side.BORROWER)
    assert standing(given.ending, take(given, facts, signed)).signed == {Side.LENDER}
    lent = loan()
    facts = take(lent, (), fact(Step.WRITTEN, agreement=agreement_digest(lent)))
    forged = replace(signed, agreement=agreement_digest(lent))
    assert refused(lent, facts, forged).missing == "own-hand"


def test_empty_trays_travel_as_counted_objects_and_specimens_do_not_travel_among_them() -> None:
    trays = line("1", 40, taxon=None, counted=Counted.UNIT_TRAY)
    sent = loan(trays, kind=TransferKind.EMPTY_TRAYS, ending=Ending.STAYS)
    assert state(sent, in_use(sent)) is State.IN_USE
    with pytest.raises(Invalid, match="counts trays"):
        loan(line(), kind=TransferKind.EMPTY_TRAYS)


def test_a_line_needs_no_catalogue_number_but_something_to_know_it_by() -> None:
    assert loan(line(catalogue_numbers=())).lines[0].name == "line 1 (Carabus hortensis)"
    with pytest.raises(Invalid, match="neither what it is nor which"):
        loan(line(taxon=None))


@pytest.mark.parametrize(
    ("lines", "field"),
    [
        ((line("1"), line("1")), "lines.1.key"),
        ((line("1"), line("2", 0)), "lines.1.count"),
        ((line("1", 1, catalogue_numbers=("A1", "A2")),), "lines.0.catalogue_numbers"),
        ((line("1", 2, catalogue_numbers=("A1", "A1")),), "lines.0.catalogue_numbers"),
    ],
)
def test_a_line_that_nobody_could_count_is_refused_by_its_field(lines: tuple[object, ...], field: str) -> None:
    with pytest.raises(Invalid) as caught:
        loan(*lines)  # type: ignore[arg-type]
    assert caught.value.field == field


def test_a_move_of_a_line_that_is_not_in_the_transfer_is_refused() -> None:
    lent = loan()
    assert refused(lent, agreed(lent), moving(Step.PACKED, 1, key="9")).missing == "line"


def test_a_step_makes_no_moves_but_its_own() -> None:
    lent = loan()
    shortcut = replace(moving(Step.RETAINED, 20), step=Step.SENT_BACK, side=Side.BORROWER, on=date(2026, 5, 1))
    assert refused(lent, in_use(lent), shortcut).missing == "path"
    assert refused(lent, in_use(lent), fact(Step.SENT_BACK, "2026-05-01")).missing == "moves"


def test_every_step_has_its_row_and_every_open_step_can_be_told() -> None:
    assert set(RULES) == set(Step)
    lent = loan()
    assert open_steps(lent, agreed(lent), Side.BORROWER) == (Step.WRITTEN, Step.WITHDRAWN)
    assert open_steps(lent, dispatched(lent), Side.BORROWER) == (Step.RECEIVED, Step.DIFFERENCE_REPORTED,
                                                                 Step.EXTENSION_ASKED, Step.LOST)  # fmt: skip


def test_a_loan_of_five_thousand_lines_is_as_normal_as_one() -> None:
    lent = loan(*(line(str(number), 3) for number in range(5000)))
    facts = take(lent, in_use(lent), everything(Step.SENT_BACK, lent, "2026-05-01"))
    assert standing(lent.ending, facts).outstanding == 15_000
