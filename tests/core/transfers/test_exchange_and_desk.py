"""The balance of an exchange, and what lies on the desk in the morning."""

from datetime import date

import pytest
from transfer_builders import BORROWING, LENDING, agreed, dispatched, fact, in_use, line, loan, moving, take

from service.core.errors import Invalid
from service.core.transfers.calendar import Duration
from service.core.transfers.desk import Entry, Listed, OnDesk, desk, reminder_due
from service.core.transfers.dues import Due, dues
from service.core.transfers.exchange import exchange_balance
from service.core.transfers.facts import Fact, Recount, Step
from service.core.transfers.lines import Counted
from service.core.transfers.parties import Party, Side
from service.core.transfers.permits import Permit, PermitKind, PermitStatus
from service.core.transfers.standing import standing
from service.core.transfers.terms import LengthRule, MaterialClass, Terms
from service.core.transfers.transfer import Ending, Transfer, TransferKind

day = date.fromisoformat
BACK = {"lender": BORROWING, "borrower": LENDING}


def way(count: int, counted: Counted = Counted.SPECIMEN, **given: object) -> Transfer:
    sent = {"kind": TransferKind.EXCHANGE, "ending": Ending.STAYS, "exchange": "X1"} | given
    return loan(line(count=count, counted=counted), **sent)


def taken_over(transfer: Transfer) -> tuple[Transfer, tuple[Fact, ...]]:
    count = transfer.lines[0].count
    return transfer, take(transfer, in_use(transfer), moving(Step.OWNERSHIP_CHANGED, count, "2026-05-01"))


def test_an_exchange_half_done_says_who_owes_how_many() -> None:
    there, back = way(30), way(12, **BACK)
    (half,) = exchange_balance([taken_over(there)])
    assert (half.owing, half.owed) == (BORROWING.key, 30)
    (more,) = exchange_balance([taken_over(there), taken_over(back)])
    assert (more.owing, more.owed, more.is_even) == (BORROWING.key, 18, False)
    (even,) = exchange_balance([taken_over(there), taken_over(back), taken_over(way(18, **BACK))])
    assert (even.is_even, even.owing) == (True, None)


def test_what_is_still_on_its_way_pays_nothing_off() -> None:
    back = way(30, **BACK)
    (balance,) = exchange_balance([taken_over(way(30)), (back, dispatched(back))])
    assert balance.owed == 30


def test_trays_are_weighed_against_trays() -> None:
    found = exchange_balance([taken_over(way(30)), taken_over(way(30, Counted.UNIT_TRAY, **BACK))])
    assert {(one.counted, one.owing) for one in found} == {
        (Counted.SPECIMEN, BORROWING.key),
        (Counted.UNIT_TRAY, LENDING.key),
    }


def test_ways_of_two_exchanges_or_of_other_parties_do_not_mix() -> None:
    with pytest.raises(Invalid, match="not ways of one exchange"):
        exchange_balance([taken_over(way(30)), taken_over(way(30, exchange="X2"))])
    with pytest.raises(Invalid, match="same two parties"):
        exchange_balance([taken_over(way(30)), taken_over(way(30, borrower=Party("e", "E")))])


YEAR = Terms(lengths=(LengthRule(MaterialClass.ORDINARY, Duration.parse("P1Y")),))


def on_desk(facts: tuple[Fact, ...], transfer: Transfer, side: Side = Side.LENDER, **given: object) -> OnDesk:
    return OnDesk("L-1", side, standing(transfer.ending, facts), dues(transfer, facts), **given)  # type: ignore[arg-type]


def lists(entries: tuple[Entry, ...]) -> list[tuple[Listed, int | None]]:
    return [(entry.listed, entry.days) for entry in entries]


@pytest.mark.parametrize(
    ("today", "entries"),
    [
        ("2027-02-12", []),
        ("2027-02-13", [(Listed.DUE_SOON, 30)]),
        ("2027-03-15", [(Listed.DUE_SOON, 0)]),
        ("2027-03-16", [(Listed.OVERDUE, 1)]),
        ("2028-03-15", [(Listed.OVERDUE, 366)]),
    ],
)
def test_a_loan_of_a_year_from_15_march_2026(today: str, entries: list[tuple[Listed, int]]) -> None:
    lent = loan(terms=YEAR)
    assert lists(desk([on_desk(in_use(lent), lent)], day(today))) == entries


def test_only_open_lines_are_overdue() -> None:
    lent = loan(line("1"), line("2", 3), terms=YEAR)
    facts = take(
        lent, in_use(lent), moving(Step.SENT_BACK, 20, "2026-05-01"), moving(Step.RECEIVED_BACK, 20, "2026-05-09")
    )
    (entry,) = desk([on_desk(facts, lent)], day("2027-04-01"))
    assert (entry.line, entry.count) == ("2", 3)


def test_the_receiving_desk_waits_for_the_box_and_the_sending_desk_does_not() -> None:
    lent = loan()
    facts = dispatched(lent, on="2026-03-15")
    today = day("2026-03-25")
    assert lists(desk([on_desk(facts, lent, Side.BORROWER)], today)) == [(Listed.AWAITING_RECEIPT, 10)]
    assert desk([on_desk(facts, lent, Side.LENDER)], today) == ()
    home = take(lent, in_use(lent), moving(Step.SENT_BACK, 5, "2026-05-01"))
    assert lists(desk([on_desk(home, lent, Side.LENDER)], day("2026-05-04"))) == [(Listed.AWAITING_RECEIPT, 3)]


def test_our_signature_is_awaited_on_our_desk_only() -> None:
    lent = loan()
    half = agreed(lent)[:2]
    assert lists(desk([on_desk(half, lent, Side.BORROWER)], day("2026-03-25"))) == [(Listed.AWAITING_SIGNATURE, None)]
    assert desk([on_desk(half, lent, Side.LENDER)], day("2026-03-25")) == ()


def test_a_difference_lies_on_both_desks_until_it_is_settled() -> None:
    lent = loan()
    facts = take(lent, in_use(lent), fact(Step.DIFFERENCE_REPORTED, "2026-04-03", recounts=(Recount("1", 20, 19),)))
    for side in Side:
        assert [entry.line for entry in desk([on_desk(facts, lent, side)], day("2026-04-04"))] == ["1"]
    facts = take(lent, facts, fact(Step.DIFFERENCE_SETTLED, "2026-04-05", reason="counted again: 20"))
    assert desk([on_desk(facts, lent)], day("2026-04-06")) == ()


def test_a_permit_that_ends_soon_or_has_ended_is_listed() -> None:
    lent = loan()
    permit = Permit(PermitKind.EXPORT, PermitStatus.AVAILABLE, "E-17", valid_until=day("2026-04-30"))
    entry = on_desk(in_use(lent), lent, permits=(permit,))
    assert desk([entry], day("2026-03-30")) == ()
    assert lists(desk([entry], day("2026-03-31"))) == [(Listed.PERMITS_ENDING, 30)]
    (ended,) = desk([entry], day("2026-05-01"))
    assert (ended.days, ended.about) == (-1, "Export Permit E-17 has ended.")


def test_the_longest_overdue_lies_on_top_and_what_is_closed_lies_nowhere() -> None:
    now = standing(Ending.COMES_BACK, ())
    late, later = Due("1", day("2027-03-01"), 1, ""), Due("1", day("2027-02-01"), 1, "")
    entries = desk(
        [OnDesk("A", Side.LENDER, now, (late,)), OnDesk("B", Side.LENDER, now, (later,))], day("2027-04-01")
    )
    assert [entry.reference for entry in entries] == ["B", "A"]
    lent = loan(terms=YEAR)
    facts = take(
        lent,
        dispatched(lent),
        moving(Step.LOST, 20, "2026-05-01", reason="parcel lost"),
        fact(Step.RECONCILED, "2026-05-02"),
        fact(Step.CLOSED, "2026-05-02"),
    )
    assert desk([on_desk(facts, lent)], day("2030-01-01")) == ()


@pytest.mark.parametrize(
    ("today", "stage"),
    [
        ("2027-01-13", None),
        ("2027-01-14", -60),
        ("2027-02-13", -30),
        ("2027-03-15", 0),
        ("2027-04-14", 30),
        ("2028-01-01", 180),
    ],
)
def test_reminders_come_at_the_stages_that_the_house_sets(today: str, stage: int | None) -> None:
    """Stages: common practice, no source. The days are counted on a calendar."""
    assert reminder_due(Due("1", day("2027-03-15"), 1, ""), day(today)) == stage
