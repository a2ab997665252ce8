"""The lender's rules, against the published loan policies that state them. Each check names its policy."""

from datetime import date
from fractions import Fraction

import pytest
from transfer_builders import agreed, dispatched, fact, gift, in_use, line, loan, moving, take

from service.core.errors import Invalid
from service.core.transfers.calendar import Duration, YearlyWindow
from service.core.transfers.dues import Due, dues
from service.core.transfers.facts import Step
from service.core.transfers.lines import TypeStatus
from service.core.transfers.notices import Weight
from service.core.transfers.shares import keeping, lent_at_once, most_kept
from service.core.transfers.terms import ClockStart, LengthRule, MaterialClass, Terms, class_of, posting_advice

day = date.fromisoformat


def lengths(ordinary: str, types: str, clock: ClockStart = ClockStart.DISPATCH) -> Terms:
    rules = (
        LengthRule(MaterialClass.ORDINARY, Duration.parse(ordinary), clock),
        LengthRule(MaterialClass.PRIMARY_TYPE, Duration.parse(types), clock),
    )
    return Terms(lengths=rules)


#: Florida State Collection of Arthropods, specimen loans: 1 year from the date of mailing, primary types 60 days.
FROM_MAILING = lengths("P1Y", "P60D")
#: National Museum of Natural History, Invertebrate Zoology, loan policy: 6 months from receipt, types 2 months.
FROM_RECEIPT = lengths("P6M", "P2M", ClockStart.RECEIPT)
#: Michigan State University, Arthropod Research Collection, loan policy: 2 years, primary types at most 3 months.
TWO_YEARS = lengths("P2Y", "P3M")

HOLOTYPE = line("2", 1, type_status=TypeStatus.HOLOTYPE)


def due_days(terms: Terms) -> list[str]:
    lent = loan(line(), HOLOTYPE, terms=terms)
    return [str(due.on) for due in dues(lent, in_use(lent, sent="2026-03-15", arrived="2026-04-02"))]


def test_the_clock_runs_from_the_day_that_the_lender_says() -> None:
    assert due_days(FROM_MAILING) == ["2027-03-15", "2026-05-14"]
    assert due_days(FROM_RECEIPT) == ["2026-10-02", "2026-06-02"]


def test_a_loan_of_a_holotype_and_twenty_others_is_due_line_by_line() -> None:
    assert due_days(TWO_YEARS) == ["2028-03-15", "2026-06-15"]


def test_the_clock_may_run_from_the_last_signature() -> None:
    lent = loan(terms=lengths("P1Y", "P3M", ClockStart.AGREEMENT))
    assert [due.on for due in dues(lent, agreed(lent, "2026-03-01"))] == [day("2027-03-01")]


def test_a_due_date_is_unknown_until_its_clock_starts_and_says_so() -> None:
    lent = loan(terms=FROM_RECEIPT)
    (due,) = dues(lent, dispatched(lent))
    assert due.on is None
    assert "receipt, which has not happened yet" in due.why
    assert due.overdue_by(day("2029-01-01")) == 0


def test_terms_that_state_no_length_give_no_due_date() -> None:
    lent = loan()
    assert [due.on for due in dues(lent, in_use(lent))] == [None]


def test_a_line_whose_type_status_nobody_stated_says_that_its_length_is_assumed() -> None:
    lent = loan(line(type_status=None), terms=TWO_YEARS)
    (due,) = dues(lent, in_use(lent))
    assert (due.on, due.type_status_unknown) == (day("2028-03-15"), True)


def test_what_is_given_is_never_due() -> None:
    given = gift(terms=TWO_YEARS)
    assert dues(given, in_use(given)) == ()


def test_the_name_bearing_types_are_primary_and_no_others() -> None:
    """Triplehorn Insect Collection, loan policy of 26 February 2020, category T."""
    primary = {status for status in TypeStatus if class_of(status) is MaterialClass.PRIMARY_TYPE}
    assert primary == {TypeStatus.HOLOTYPE, TypeStatus.LECTOTYPE, TypeStatus.NEOTYPE, TypeStatus.SYNTYPE}
    assert class_of(TypeStatus.PARATYPE) is class_of(TypeStatus.ALLOTYPE) is MaterialClass.SECONDARY_TYPE


def test_an_extension_moves_the_lines_that_it_names_and_only_those() -> None:
    lent = loan(line(), HOLOTYPE, terms=TWO_YEARS)
    facts = take(
        lent,
        in_use(lent),
        fact(Step.EXTENSION_ASKED, "2028-01-10", until=day("2029-03-15")),
        fact(Step.EXTENSION_GRANTED, "2028-01-20", until=day("2029-03-15"), lines=("1",)),
    )
    assert [due.on for due in dues(lent, facts)] == [day("2029-03-15"), day("2026-06-15")]


def test_a_refused_extension_moves_nothing() -> None:
    lent = loan(terms=TWO_YEARS)
    asked = fact(Step.EXTENSION_ASKED, "2028-01-10", until=day("2029-03-15"))
    facts = take(lent, in_use(lent), asked, fact(Step.EXTENSION_REFUSED, "2028-01-20", reason="needed here"))
    assert [due.on for due in dues(lent, facts)] == [day("2028-03-15")]


def test_a_recall_brings_the_date_forward_to_its_notice() -> None:
    """Angelo State University collections, loan policy: recall on 30 days' notice; here of 1 September 2026."""
    lent = loan(terms=Terms(TWO_YEARS.lengths, recall_notice=Duration.parse("P30D")))
    facts = take(lent, in_use(lent), fact(Step.RECALLED, "2026-09-01", until=day("2026-10-01")))
    assert [due.on for due in dues(lent, facts)] == [day("2026-10-01")]


def test_an_extension_never_shortens_and_a_recall_never_lengthens() -> None:
    lent = loan(terms=TWO_YEARS)
    facts = take(
        lent,
        in_use(lent),
        fact(Step.EXTENSION_ASKED, "2026-05-01", until=day("2027-01-01")),
        fact(Step.EXTENSION_GRANTED, "2026-05-02", until=day("2027-01-01")),
        fact(Step.RECALLED, "2026-05-03", until=day("2029-01-01")),
    )
    assert [due.on for due in dues(lent, facts)] == [day("2028-03-15")]


def test_overdue_counts_days_only_while_something_is_out() -> None:
    due = Due("1", day("2026-10-01"), 3, "")
    assert [due.overdue_by(day(text)) for text in ("2026-09-30", "2026-10-01", "2026-10-31")] == [0, 0, 30]
    assert Due("1", day("2026-10-01"), 0, "").overdue_by(day("2026-10-31")) == 0


def test_a_line_dispatched_in_two_parcels_is_due_by_the_first() -> None:
    lent = loan(terms=TWO_YEARS)
    facts = take(
        lent,
        agreed(lent),
        moving(Step.PACKED, 20, "2026-03-10"),
        moving(Step.DISPATCHED, 5, "2026-03-15"),
        moving(Step.DISPATCHED, 15, "2026-05-15"),
    )
    assert [due.on for due in dues(lent, facts)] == [day("2028-03-15")]


def test_nothing_is_posted_in_december() -> None:
    """Field Museum, Insects, policies of April 2020: nothing shipped in December, either way."""
    terms = Terms(no_post=(YearlyWindow((12, 1), (12, 31), "nothing is posted in December"),))
    advice = posting_advice(terms, day("2026-12-15"))
    assert advice is not None
    assert (advice.last_before, advice.first_after) == (day("2026-11-30"), day("2027-01-01"))
    assert posting_advice(terms, day("2026-11-30")) is None


@pytest.mark.parametrize(("held", "most"), [(7, 3), (1, 0), (2, 1)])
def test_no_more_than_one_half_is_lent_at_a_time(held: int, most: int) -> None:
    """Ohio State University, Fish Division, loan policy: no more than one half of the specimens of a species."""
    half = Terms(largest_share_lent=Fraction(1, 2))
    assert lent_at_once(half, "Carabus", held, 0, most) is None
    refused = lent_at_once(half, "Carabus", held, 0, most + 1)
    assert refused is not None
    assert refused.weight is Weight.AGAINST_TERMS


def test_what_is_out_already_counts_towards_the_share() -> None:
    half = Terms(largest_share_lent=Fraction(1, 2))
    assert lent_at_once(half, "Carabus", 8, 3, 1) is None
    assert lent_at_once(half, "Carabus", 8, 3, 2) is not None


def test_a_share_of_an_unknown_holding_is_unknown() -> None:
    notice = lent_at_once(Terms(largest_share_lent=Fraction(1, 2)), "Carabus", None, 0, 1)
    assert notice is not None
    assert notice.weight is Weight.UNKNOWN


#: Wisconsin Insect Research Collection, specimen loan policy (newer page): up to 1/3.
THIRD = Terms(share_kept=Fraction(1, 3))
#: Ohio State University Acarology Laboratory, loans: up to 33 %, and 50 % when describing new species.
PERCENT = Terms(share_kept=Fraction(33, 100), share_kept_describing=Fraction(1, 2))


@pytest.mark.parametrize(("identified", "kept"), [(100, (33, 33, 50)), (10, (3, 3, 5)), (2, (0, 0, 1))])
def test_the_share_that_may_be_kept_is_rounded_down(identified: int, kept: tuple[int, int, int]) -> None:
    """The shares are the policies'; that they are rounded down is this service's choice, no policy says."""
    found = (
        most_kept(THIRD, identified),
        most_kept(PERCENT, identified),
        most_kept(PERCENT, identified, describing=True),
    )
    assert found == kept


def test_a_lender_who_states_no_share_leaves_it_unknown() -> None:
    assert most_kept(Terms(), 100) is None
    notice = keeping(Terms(), line(), 1)
    assert notice is not None
    assert notice.weight is Weight.UNKNOWN


@pytest.mark.parametrize("status", sorted(TypeStatus))
def test_primary_types_are_never_kept_and_allotypes_not_where_the_lender_lists_them(status: TypeStatus) -> None:
    """UC Riverside Entomology Research Museum, loan policy: primary types and allotypes are returned."""
    terms = Terms(share_kept=Fraction(1, 1), must_return=frozenset({TypeStatus.ALLOTYPE}))
    notice = keeping(terms, line(type_status=status), 1)
    refused = notice is not None and notice.weight is Weight.REFUSED
    assert refused == (status.is_primary or status is TypeStatus.ALLOTYPE)


def test_of_uniques_one_comes_back() -> None:
    """UC Riverside Entomology Research Museum, loan policy: what is kept is duplicate in every respect."""
    terms = Terms(share_kept=Fraction(1, 1), uniques_return=True)
    assert keeping(terms, line(count=3), 2) is None
    notice = keeping(terms, line(count=3), 1, already_kept=2)
    assert notice is not None
    assert notice.code == "unique"


def test_a_share_above_one_is_no_share() -> None:
    with pytest.raises(Invalid, match="between 0 and 1"):
        Terms(share_kept=Fraction(33))


def test_two_lengths_for_one_class_are_refused() -> None:
    with pytest.raises(Invalid, match="Two lengths"):
        Terms(lengths=TWO_YEARS.lengths + FROM_MAILING.lengths)
