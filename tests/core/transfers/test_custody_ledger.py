"""The custody ledger: nothing comes from nowhere, nothing goes below nothing, and it adds up."""

from datetime import date

import pytest
from transfer_builders import BORROWING, LENDING, agreed, fact, in_use, line, loan, moving, take

from service.core.errors import Invalid
from service.core.transfers.custody import by_taxon, holdings
from service.core.transfers.facts import Step, movements
from service.core.transfers.ledger import Account, Move, Posting, balances, check_balanced, postings
from service.core.transfers.parties import Side
from service.core.transfers.reconciliation import Tally, tallies, tally_from_papers
from service.core.transfers.refusals import MoreThanLent, RefusedStep, Unbalanced


def test_a_move_is_two_postings_that_sum_to_zero() -> None:
    both = postings([Move("1", Account.PACKED, Account.TRANSIT_OUT, 7)])
    assert [posting.change for posting in both] == [-7, 7]
    check_balanced(both)


def test_postings_that_balance_over_two_lines_but_not_for_each_are_refused() -> None:
    crossed = [Posting("1", Account.PACKED, -7), Posting("2", Account.TRANSIT_OUT, 7)]
    with pytest.raises(Unbalanced, match="line 1 sum to -7"):
        check_balanced(crossed)


@pytest.mark.parametrize("count", [0, -1])
def test_nothing_cannot_be_moved(count: int) -> None:
    with pytest.raises(Invalid, match="at least 1"):
        Move("1", Account.PACKED, Account.TRANSIT_OUT, count)


def test_the_reckoning_of_a_loan_of_120() -> None:
    """Plain addition: 97 returned, 15 retained, 2 used up, 1 lost leave 5 of 120; one more returned leaves 4."""
    first = tally_from_papers(120, returned=97, retained=15, consumed=2, lost=1)
    assert (first.outstanding, first.adds_up, first.may_close) == (5, True, False)
    assert tally_from_papers(120, returned=98, retained=15, consumed=2, lost=1).outstanding == 4
    assert tally_from_papers(120, returned=102, retained=15, consumed=2, lost=1).may_close


def test_more_accounted_for_than_was_lent_is_an_error() -> None:
    with pytest.raises(MoreThanLent, match="121 are accounted for and only 120") as caught:
        tally_from_papers(120, returned=103, retained=15, consumed=2, lost=1)
    assert caught.value.by == 1


def test_a_count_below_zero_in_old_papers_is_refused() -> None:
    with pytest.raises(Invalid, match="at least 0"):
        tally_from_papers(120, returned=-1)


def test_a_tally_that_leaves_something_unsaid_does_not_add_up() -> None:
    assert not Tally(lent=120, returned=97, outstanding=5).adds_up


def test_the_books_give_the_same_reckoning_and_closing_is_refused_with_five_out() -> None:
    lent = loan(line(count=120))
    facts = take(
        lent,
        in_use(lent),
        moving(Step.RETAINED, 15, "2026-05-01"),
        moving(Step.CONSUMED, 2, "2026-05-01", reason="DNA", side=Side.BORROWER),
        moving(Step.LOST, 1, "2026-05-01", path=1, reason="fell", side=Side.BORROWER),
        moving(Step.SENT_BACK, 97, "2026-05-02"),
        moving(Step.RECEIVED_BACK, 97, "2026-05-09"),
    )
    reckoned = tallies(balances(movements(facts)))["1"]
    assert reckoned == tally_from_papers(120, returned=97, retained=15, consumed=2, lost=1)
    with pytest.raises(RefusedStep, match="of 120 lent, 5 are outstanding"):
        take(lent, facts, fact(Step.RECONCILED, "2026-05-10"))


def test_what_is_packed_is_not_lent_yet() -> None:
    lent = loan()
    facts = take(lent, agreed(lent), moving(Step.PACKED, 20), moving(Step.DISPATCHED, 8))
    assert tallies(balances(movements(facts)))["1"] == Tally(lent=8, outstanding=8)


def test_who_held_what_on_a_past_day() -> None:
    lent = loan(line("1", 20), line("2", 4, taxon="Calosoma sycophanta"))
    facts = take(
        lent,
        in_use(lent, sent="2026-03-15", arrived="2026-04-02"),
        moving(Step.SENT_BACK, 12, "2026-06-01"),
        moving(Step.RECEIVED_BACK, 12, "2026-06-09"),
    )

    def held(on: str) -> dict[tuple[str | None, str | None], int]:
        return by_taxon(holdings(lent, facts, date.fromisoformat(on)))

    carabus, calosoma = "Carabus hortensis", "Calosoma sycophanta"
    assert held("2026-03-14") == {}
    assert held("2026-03-20") == {(carabus, None): 20, (calosoma, None): 4}
    assert held("2026-04-02") == {(carabus, BORROWING.key): 20, (calosoma, BORROWING.key): 4}
    assert held("2026-06-05") == {(carabus, BORROWING.key): 8, (carabus, None): 12, (calosoma, BORROWING.key): 4}
    assert held("2026-06-09")[carabus, LENDING.key] == 12
