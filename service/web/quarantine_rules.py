"""Quarantine rules: each institution's own table of treatments, and how it reads a log."""

from uuid import UUID

from service.core.care.regimes import QuarantineRules
from service.core.errors import NotAllowed
from service.store import institutions
from service.store import quarantine_rules as store
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.operation import Blueprint, Reply
from service.web.schemas.quarantine import PublishedQuarantineRulesSchema, QuarantineRulesSchema
from service.web.settled_answers import settled_reply
from service.web.transaction import transaction

quarantine_rules = Blueprint(
    "quarantine-rules",
    __name__,
    url_prefix="/v1/quarantine-rules",
    description="Which treatments an institution goes by, with core temperature and time, and how it reads a log. It "
    "starts from published figures, each with its source.",
)
ONE = "/<uuid:institution_id>"


@quarantine_rules.operation("GET", ONE, scope="public", returns=PublishedQuarantineRulesSchema, conditional=True)
def get_quarantine_rules(institution_id: UUID) -> Reply:
    """Read an institution's quarantine rules. Where it has published none, they are the handbook's.

    Everybody may read them, without a key as well. Version 0 says that none were published.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        return settled_reply(store.of(session, institution_id))


@quarantine_rules.operation(
    "PUT", ONE, scope="write", body=QuarantineRulesSchema, returns=PublishedQuarantineRulesSchema, conditional=True,
    errors=["forbidden"],
)  # fmt: skip
def change_quarantine_rules(institution_id: UUID, body: QuarantineRules) -> Reply:
    """Publish your quarantine rules. Your quarantines are held to them from now on, those under way as well.

    What is left out is the handbook's. Rules that were never published have the ETag `"0"`.
    """
    with transaction() as session:
        institutions.by_id(session, institution_id)
        if institution_id != current_actor().own_institution():
            raise NotAllowed("These are the rules of another institution, and only that one can change them.")
        return settled_reply(store.publish(session, institution_id, expected_version(), body))
