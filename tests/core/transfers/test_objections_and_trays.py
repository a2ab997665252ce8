"""What the lender's rules speak against, and the trays of a loan as a fit check sees them."""

from datetime import date
from fractions import Fraction

import pytest
from builders import a_system
from transfer_builders import agreed, everything, fact, in_use, line, loan, moving

from service.core.consignment import Container
from service.core.materials import Treatment
from service.core.transfers.calendar import YearlyWindow
from service.core.transfers.facts import Override, Step
from service.core.transfers.objections import check_objections, share_notices
from service.core.transfers.permits import Permit, PermitKind
from service.core.transfers.refusals import NeedsOverride
from service.core.transfers.terms import Terms, ThirdParties
from service.core.transfers.trays import containers_of, lines_without_storage


def test_what_is_out_in_other_loans_counts_into_the_share_lent() -> None:
    """Ohio State University, Fish Division, loan policy: no more than one half; of 20, ten, and eight are out."""
    lent = loan(line("1", 2, held=20), line("2", 1), terms=Terms(largest_share_lent=Fraction(1, 2)))
    (notice,) = share_notices(lent, {"Carabus hortensis": 8})
    assert "8 are out and 3 more are asked for" in notice.sentence
    assert notice.lines == ("1", "2")
    assert not list(share_notices(lent, {"Carabus hortensis": 7}))


def test_an_override_counts_for_the_rules_that_it_names_and_for_no_other() -> None:
    terms = Terms(no_post=(YearlyWindow((12, 1), (12, 31)),))
    lent = loan(terms=terms)
    facts = agreed(lent, "2025-11-01")
    posted = everything(Step.DISPATCHED, lent, "2025-12-24")
    with pytest.raises(NeedsOverride) as refused:
        check_objections(lent, facts, posted)
    assert refused.value.codes == ("no-post",)
    for codes, taken in ((("share-lent",), False), (("no-post",), True)):
        override = Override("Director", "by hand", codes)
        again = everything(Step.DISPATCHED, lent, "2025-12-24", override=override)
        if taken:
            check_objections(lent, facts, again)
        else:
            with pytest.raises(NeedsOverride):
                check_objections(lent, facts, again)


def test_a_permit_that_forbids_third_parties_stops_passing_on_until_somebody_answers_for_it() -> None:
    lent = loan(terms=Terms(third_parties=ThirdParties.ALLOWED))
    permit = Permit(PermitKind.MATERIAL_TRANSFER, third_parties=False)
    passed = moving(Step.PASSED_ON, 1, "2026-05-01", third_party="Third House")
    with pytest.raises(NeedsOverride, match="lets nothing go to a third party"):
        check_objections(lent, in_use(lent), passed, [permit])


def test_a_step_that_the_rules_say_nothing_to_is_not_objected_to() -> None:
    lent = loan(terms=Terms(no_post=(YearlyWindow((12, 1), (12, 31)),)))
    check_objections(lent, (), fact(Step.RECALLED, "2025-12-24", until=date(2026, 3, 1)))


def test_like_trays_of_a_loan_are_one_line_with_the_sizes_of_the_lenders_series() -> None:
    system = a_system()
    series = system.tray_series[0]
    code = series.trays[0].code
    lent = loan(
        line("1", storage=Container.UNIT_TRAY, storage_count=2, tray=code),
        line("2", storage=Container.UNIT_TRAY, storage_count=3, tray=code),
        line("3", storage=Container.UNIT_TRAY),
        line("4"),
        line("5", storage=Container.UNIT_TRAY, tray=code, treatments_used=(Treatment.NAPHTHALENE,)),
    )
    known, unknown, treated = containers_of(lent, system)
    assert (known.count, known.outer) == (5, series.trays[0].outer)
    assert known.description.endswith(", of lines 1, 2")
    # What somebody said of one tray is said of none of the others.
    assert (known.treatments_used, treated.treatments_used) == (None, (Treatment.NAPHTHALENE,))
    assert (unknown.count, unknown.outer.width) == (1, None)
    assert lines_without_storage(lent) == ("4",)
