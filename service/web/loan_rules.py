"""Loan rules: what each institution publishes about its loans, for everybody to read before asking."""

from uuid import UUID

from service.core.errors import NotAllowed
from service.core.transfers.rules import LoanRules
from service.store import institutions
from service.store import loan_rules as store
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.schemas.transfers import ListedTaxaSchema, LoanRulesSchema, PublishedRulesSchema
from service.web.settled_answers import settled_reply
from service.web.transaction import transaction

loan_rules = Blueprint(
    "loan-rules",
    __name__,
    url_prefix="/v1/loan-rules",
    description="How long an institution lends, from which day, what it wants back, and when it posts nothing.",
)
ONE = "/<uuid:institution_id>"


@loan_rules.operation("GET", ONE, scope="public", returns=PublishedRulesSchema, conditional=True)
def get_loan_rules(institution_id: UUID) -> Reply:
    """Read an institution's loan rules. What it has not stated is left out, and is unknown.

    Everybody may read them, without a key as well. Version 0 says that nothing was stated yet.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        found = store.of(session, institution_id)
    return settled_reply(found)


@loan_rules.operation("GET", ONE + "/listed-taxa", scope="public", returns=ListedTaxaSchema)
def get_listed_taxa(institution_id: UUID) -> Reply:
    """Read the listed taxa that an institution is warned about: the handbook's starter list with its own changes.

    A list of one day and in part from memory; it says where to look, and never what is allowed.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        found = store.of(session, institution_id)
    listed = found.content.listed()
    return Reply({"as_of": listed.as_of, "source": listed.source, "grade": listed.grade, "taxa": listed.taxa})


@loan_rules.operation(
    "PUT", ONE, scope="write", body=LoanRulesSchema, returns=PublishedRulesSchema, conditional=True,
    errors=["forbidden"],
)  # fmt: skip
def change_loan_rules(institution_id: UUID, body: LoanRules) -> Reply:
    """Publish your loan rules. Transfers that were written before keep the terms that they were written with.

    Rules that were never published have the ETag `"0"`.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        if institution_id != current_actor().own_institution():
            raise NotAllowed("These are the rules of another institution, and only that one can change them.")
        return settled_reply(store.publish(session, institution_id, expected_version(), body))


offer_patch(loan_rules, "get_loan_rules", "change_loan_rules")
