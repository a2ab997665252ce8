"""Who takes part."""

from uuid import UUID

from sqlalchemy.orm import Session

from service.core.errors import NotAllowed
from service.store import institutions as store
from service.store.institutions import Institution
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Code, Instant, Int, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.kit.schema import Strict, takes_back
from service.web.names import all_named, named
from service.web.schemas.identifiers import GivenIdentifiers
from service.web.transaction import transaction

institutions = Blueprint(
    "institutions", __name__, url_prefix="/v1/institutions", description="Who takes part. Everybody may look."
)


class InstitutionFields(Strict):
    name = Text(max_length=200, required=True)
    country_code = Text(
        max_length=2,
        min_length=2,
        pattern="^[A-Z]{2}$",
        like="a country's two letters, such as NZ",
        metadata={"description": "ISO 3166-1 alpha-2"},
    )


class InstitutionSchema(InstitutionFields):
    """An institution of this service."""

    id = Uuid(required=True)
    code = Code(required=True, metadata={"description": "Darwin Core institutionCode, in lower case"})
    identifiers = GivenIdentifiers()
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


@takes_back(InstitutionSchema)
class InstitutionChangeSchema(InstitutionFields):
    """What an institution says of itself."""


@institutions.operation("GET", "", scope="public", query=paging.PageQuery, returns=paging.page_of(InstitutionSchema))
def list_institutions(query: dict[str, object]) -> Reply:
    """List the institutions.

    In the order of their codes.
    """
    page = paging.page(query, (str,))
    with transaction() as session:
        return page.answer(all_named(session, store.page(session, page.at(0), page.size)))


@institutions.operation("GET", "/<uuid:institution_id>", scope="public", returns=InstitutionSchema, conditional=True)
def get_institution(institution_id: UUID) -> Reply:
    """Read one institution.

    Everybody may look, without a key as well. The version in its ETag is what a change of it asks for.
    """
    with transaction() as session:
        return _reply(session, store.by_id(session, institution_id))


@institutions.operation(
    "PUT",
    "/<uuid:institution_id>",
    scope="admin",
    body=InstitutionChangeSchema,
    returns=InstitutionSchema,
    conditional=True,
    errors=["forbidden"],
)
def change_institution(institution_id: UUID, body: dict[str, str]) -> Reply:
    """Change your own entry in the directory.

    Its name and its country are yours to change, with a key of the scope admin; the code stays for good. The entry of
    another institution is refused.
    """
    with transaction() as session:
        if store.by_id(session, institution_id).id != current_actor().institution_id:
            raise NotAllowed("Each institution changes its own entry only.")
        changed = store.change(session, institution_id, expected_version(), body["name"], body.get("country_code"))
        return _reply(session, changed)


def _reply(session: Session, institution: Institution) -> Reply:
    return Reply(named(session, institution), version=institution.version)


offer_patch(institutions, "get_institution", "change_institution")
