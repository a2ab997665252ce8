"""Permits and letters: warnings and gaps, never a judgement."""

from datetime import date

import pytest
from transfer_builders import BORROWING, LENDING, gift, line, loan

from service.core.handbook.listed_taxa import ListedTaxon, listed_taxa
from service.core.transfers.notices import Notice, Weight
from service.core.transfers.parties import Party, Person
from service.core.transfers.permits import Permit, PermitKind, PermitStatus, is_cites_code, permit_notices
from service.core.transfers.terms import Terms, ThirdParties
from service.core.transfers.transfer import Transfer

FERRY = Permit(PermitKind.EXPORT, PermitStatus.AVAILABLE, "E-17", valid_until=date(2027, 1, 31))
AT_HOME = Party("west", "West Museum", country="NO")


def notices(
    transfer: Transfer, *permits: Permit, back: date | None = None, to: str | None = None
) -> dict[str, Notice]:
    found = permit_notices(transfer, permits, listed_taxa(), planned_return=back, third_party=to)
    return {notice.code: notice for notice in found}


def test_over_a_border_without_papers_the_permit_is_unknown() -> None:
    assert notices(loan())["permit-unknown"].weight is Weight.UNKNOWN
    assert "permit-unknown" in notices(loan(), Permit(PermitKind.EXPORT))
    assert "permit-unknown" in notices(loan(), Permit(PermitKind.COLLECTING, PermitStatus.AVAILABLE))
    assert notices(loan(), FERRY) == {}


def test_within_one_country_no_border_is_crossed_and_without_a_country_nobody_knows() -> None:
    assert notices(loan(borrower=AT_HOME)) == {}
    assert notices(loan(borrower=Party("x", "X")))["country-unknown"].weight is Weight.UNKNOWN


@pytest.mark.parametrize(
    ("code", "country", "good"),
    [
        ("US001", "US", True),
        ("GB012", "GB", True),
        ("GB012", None, True),
        ("GB012", "US", False),
        ("USA01", "US", False),
        ("us001", "US", False),
        ("US1", "US", False),
        ("US٠٠١", "US", False),
    ],
)
def test_a_registration_code_is_the_country_and_three_figures(code: str, country: str | None, good: bool) -> None:
    """Form of the code from memory: CITES Resolution Conf. 11.15 (Rev. CoP18)."""
    assert is_cites_code(code, country) is good


def test_a_listed_birdwing_asks_both_sides_for_a_registration_code() -> None:
    sent = loan(line(taxon="Ornithoptera priamus"), line("2"))
    notice = notices(sent, FERRY)["listed-taxon"]
    assert (notice.weight, notice.lines) == (Weight.CAUTION, ("1",))
    assert "North Museum and South Museum" in notice.sentence
    assert "2023-05-21" in notice.sentence
    registered = {"lender": Party("n", "N", country="NO", cites_code="NO001"),
                  "borrower": Party("s", "S", country="SE", cites_code="SE002")}  # fmt: skip
    assert (
        "missing"
        not in notices(loan(line(taxon="Ornithoptera priamus"), **registered), FERRY)["listed-taxon"].sentence
    )


def test_a_code_of_another_country_counts_as_none() -> None:
    wrong = loan(line(taxon="Troides helena"), lender=Party("n", "N", country="NO", cites_code="SE001"))
    assert "missing: N and South Museum" in notices(wrong, FERRY)["listed-taxon"].sentence


def test_a_line_without_a_name_may_be_listed() -> None:
    sent = loan(line(taxon=None, remarks="mixed butterflies"))
    assert notices(sent, FERRY)["taxon-unknown"].weight is Weight.UNKNOWN


def test_a_permit_that_ends_before_the_return_is_named_with_both_days() -> None:
    notice = notices(loan(), FERRY, back=date(2027, 2, 1))["permit-ends-first"]
    assert notice.sentence == "Export Permit E-17 ends on 2027-01-31, before the return on 2027-02-01."
    assert notices(loan(), FERRY, back=date(2027, 1, 31)) == {}


def test_a_permit_without_an_end_is_a_gap() -> None:
    endless = Permit(PermitKind.IMPORT, PermitStatus.AVAILABLE, "I-3")
    assert notices(loan(), endless)["permit-end-unknown"].weight is Weight.UNKNOWN


BEES = line(taxon="Bombus terrestris", groups=("Hymenoptera", "Apidae"))
AMERICAN = Party("us", "East Museum", country="US")


def test_bees_bound_for_the_united_states_want_papers() -> None:
    """7 CFR 322.28(a)(1): dead bees of any genus are restricted articles."""
    notice = notices(gift(BEES, borrower=AMERICAN), FERRY)["letter-wanted"]
    assert "7 CFR 322.28" in (notice.source or "")
    assert "letter-wanted" in notices(loan(BEES, lender=AMERICAN), FERRY), "a loan from there goes back there"
    assert "letter-wanted" not in notices(gift(BEES, lender=AMERICAN), FERRY), "a gift from there does not"
    assert "letter-wanted" not in notices(loan(BEES), FERRY)


def test_beetles_want_none_and_lines_without_a_family_may_be_bees() -> None:
    assert notices(gift(line(groups=("Carabidae",)), borrower=AMERICAN), FERRY) == {}
    assert notices(gift(line(), borrower=AMERICAN), FERRY)["group-unknown"].weight is Weight.UNKNOWN


def test_a_third_party_that_a_permit_forbids_is_named() -> None:
    strict = Permit(
        PermitKind.MATERIAL_TRANSFER, PermitStatus.AVAILABLE, "M-1", valid_until=date(2029, 1, 1), third_parties=False
    )
    found = notices(loan(terms=Terms(third_parties=ThirdParties.ALLOWED)), FERRY, strict, to="Third House")
    assert set(found) == {"third-party-forbidden"}


@pytest.mark.parametrize(
    ("ruling", "weight"),
    [
        (None, Weight.UNKNOWN),
        (ThirdParties.FORBIDDEN, Weight.AGAINST_TERMS),
        (ThirdParties.WITH_APPROVAL, Weight.AGAINST_TERMS),
    ],
)
def test_a_user_from_another_house_is_a_third_party(ruling: ThirdParties | None, weight: Weight) -> None:
    elsewhere = Person("V. Visitor", institution="Third House")
    lent = loan(user=elsewhere, terms=Terms(third_parties=ruling))
    assert notices(lent, FERRY)["third-party"].weight is weight
    at_home = Person("S. Student", institution=BORROWING.key)
    assert notices(loan(user=at_home, terms=Terms(third_parties=ruling)), FERRY) == {}


def test_no_notice_ever_says_that_anything_is_legal() -> None:
    worst = loan(line(taxon="Papilio homerus"), BEES.__class__("2", 1, "Apis"), lender=AMERICAN, borrower=LENDING)
    said = " ".join(notice.sentence for notice in notices(worst, Permit(PermitKind.EXPORT), to="X").values())
    assert len(said) > 200
    assert not any(word in said.lower() for word in ("legal", "allowed", "lawful", "permitted"))


@pytest.mark.parametrize(
    ("name", "appendix"),
    [
        ("Ornithoptera alexandrae", "I"),
        ("Ornithoptera (Schoenbergia) goliath", "II"),
        ("ornithoptera priamus", "II"),
        ("Papilio homerus", "I"),
        ("Papilio hospiton", "II"),
        ("Achillides chikae hermeli", "I"),
        ("Parnassius apollo vinningensis", "II"),
        ("Colophon primosi", "III"),
        ("Agrias amydon boliviensis", "III"),
    ],
)
def test_the_longest_listed_name_decides(name: str, appendix: str) -> None:
    """Names: CITES Appendices 2004, insect part, as quoted by entomo.pl; hospiton in II: CoP16 Prop. 49 (2013);
    hermeli in I: CoP18 Prop. 47 (2019). The rest of the appendix numbers are from memory, and the list says so."""
    found = listed_taxa().find(name)
    assert found is not None
    assert found.appendix == appendix


@pytest.mark.parametrize("name", ["Papilio machaon", "Agrias amydon", "Parnassius", "Ornithopterax", ""])
def test_a_name_beside_or_above_a_listed_one_is_not_listed(name: str) -> None:
    assert listed_taxa().find(name) is None


def test_an_institution_adds_to_the_list_and_strikes_from_it() -> None:
    own = listed_taxa().with_changes([ListedTaxon("Lucanus", "own")], removed=["troides"])
    assert own.find("Lucanus cervus") == ListedTaxon("Lucanus", "own")
    assert own.find("Troides helena") is None
    raised = own.with_changes([ListedTaxon("Parnassius apollo", "I")])
    assert raised.find("Parnassius apollo") == ListedTaxon("Parnassius apollo", "I")
    assert listed_taxa().find("Troides helena") is not None
