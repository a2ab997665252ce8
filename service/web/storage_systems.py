"""Storage systems and their revisions: what cabinets take, drawers hold and rooms allow."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import naming, standards
from service.actions.standards import CoverSheet, Draft
from service.core.identifiers import Kind
from service.core.review import gaps_in
from service.store import systems as store
from service.store.paging import Age
from service.store.systems import Revision, State, System, Visibility
from service.web.kit import paging
from service.web.kit.auth import current_actor
from service.web.kit.conditions import expected_version
from service.web.kit.fields import Choice, Code, Instant, Int, List, Nested, Text, Uuid
from service.web.kit.operation import Blueprint, Reply
from service.web.kit.patching import offer_patch
from service.web.kit.paths import LARGEST_NUMBER
from service.web.kit.schema import Strict, takes_back
from service.web.names import all_named, named
from service.web.schemas.identifiers import GivenIdentifiers, Identifiers
from service.web.schemas.standards import StorageSystemContentSchema
from service.web.transaction import transaction

storage_systems = Blueprint(
    "storage-systems",
    __name__,
    url_prefix="/v1/storage-systems",
    description="Storage systems: a cover sheet that may change, and published revisions that never do.",
)
ONE = "/<uuid:system_id>"
REVISION = ONE + "/revisions/<number:number>"


class CoverSheetFields(Strict):
    name = Text(max_length=200, required=True)
    description = Text(
        max_length=10_000, min_length=0, metadata={"description": "what it is, in the owner's own words"}
    )
    visibility = Choice(
        Visibility,
        required=True,
        metadata={
            "description": "who sees what is published: everybody, members (any institution here) or its owner"
        },
    )


class NewStorageSystemSchema(CoverSheetFields):
    """A storage system to be."""

    code = Code(required=True, metadata={"description": "your own; each of your systems has another"})
    identifiers = Identifiers()


class StorageSystemSchema(CoverSheetFields):
    """A storage system's cover sheet."""

    id = Uuid(required=True)
    code = Code(required=True)
    institution_id = Uuid(required=True, metadata={"description": "its owner"})
    identifiers = GivenIdentifiers()
    published_since = Instant(metadata={"description": "when its first revision was published"})
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


@takes_back(StorageSystemSchema)
class CoverSheetSchema(CoverSheetFields):
    """What a storage system says of itself, apart from its revisions."""

    makes = CoverSheet


class GapSchema(Strict):
    """Something that is left unsaid, and what it costs."""

    field = Text(
        max_length=300, required=True, metadata={"description": "what is left unsaid, named as the request names it"}
    )
    consequence = Text(max_length=300, required=True, metadata={"description": "what cannot be answered without it"})


class RevisionSchema(Strict):
    """One revision of a storage system."""

    system_id = Uuid(required=True, metadata={"description": "the storage system that it is a revision of"})
    number = Int(
        min=1,
        max=LARGEST_NUMBER,
        required=True,
        metadata={"description": "counts the revisions of the system from 1"},
    )
    state = Choice(State, required=True)
    note = Text(
        max_length=10_000, min_length=0, required=True, metadata={"description": "what is new in it, and why"}
    )
    based_on = Int(
        min=1, max=LARGEST_NUMBER, metadata={"description": "number of the revision that it was made from"}
    )
    content = Nested(StorageSystemContentSchema, required=True, metadata={"description": "what it says"})
    content_sha256 = Text(max_length=64, required=True, metadata={"description": "digest of the contents as stored"})
    gaps = List(Nested(GapSchema), required=True, metadata={"description": "what it leaves unsaid"})
    published_at = Instant(metadata={"description": "when it was published; left out: it is a draft"})
    superseded_at = Instant(metadata={"description": "when a later revision took its place; left out: none has"})
    version = Int(min=1, required=True)
    created_at = Instant(required=True)
    updated_at = Instant(required=True)


class DraftFields(Strict):
    content = Nested(StorageSystemContentSchema, required=True, metadata={"description": "what it says"})
    note = Text(max_length=10_000, min_length=0, metadata={"description": "what is new in it, and why"})
    based_on = Int(
        min=1, max=LARGEST_NUMBER, metadata={"description": "number of the revision that it was made from"}
    )


class NewDraftSchema(DraftFields):
    """What a new draft says."""

    makes = Draft


@takes_back(RevisionSchema)
class DraftSchema(DraftFields):
    """What a draft says."""

    makes = Draft


class RevisionSummarySchema(RevisionSchema):
    """One revision, without its contents."""

    class Meta(RevisionSchema.Meta):
        exclude = ("content", "gaps")


class SystemsQuery(paging.PageQuery):
    """Which storage systems to list."""

    institution_id = Uuid(metadata={"description": "only those of this institution"})


@storage_systems.operation("GET", "", scope="public", query=SystemsQuery, returns=paging.page_of(StorageSystemSchema))
def list_storage_systems(query: dict[str, Any]) -> Reply:
    """List the storage systems that you may see.

    The newest first: your own, and of others what their visibility allows.
    """
    page = paging.page(query, paging.BY_AGE)
    with transaction() as session:
        found = store.page(session, page.position(Age), page.size, query.get("institution_id"))
        return page.answer(all_named(session, found))


@storage_systems.operation(
    "POST", "", scope="write", body=NewStorageSystemSchema, returns=StorageSystemSchema, creates=True,
    errors=["code-taken", "identifier-taken"],
)  # fmt: skip
def create_storage_system(body: dict[str, Any]) -> Reply:
    """Begin a storage system.

    It stays yours alone until its first revision is published.
    """
    code, identifiers = body.pop("code"), body.pop("identifiers", ())
    with transaction() as session:
        made = standards.make_system(session, current_actor(), code, CoverSheet(**body))
        naming.name(session, current_actor(), Kind.STORAGE_SYSTEM, made.id, identifiers)
        return _system(session, made)


@storage_systems.operation("GET", ONE, scope="public", returns=StorageSystemSchema, conditional=True)
def get_storage_system(system_id: UUID) -> Reply:
    """Read a storage system's cover sheet.

    What it is called, whose it is and who sees it; what it says is in its revisions. One that its visibility hides
    from you is not found.
    """
    with transaction() as session:
        return _system(session, store.by_id(session, system_id))


@storage_systems.operation(
    "PUT", ONE, scope="write", body=CoverSheetSchema, returns=StorageSystemSchema, conditional=True,
    errors=["forbidden"],
)  # fmt: skip
def change_storage_system(system_id: UUID, body: CoverSheet) -> Reply:
    """Change a storage system's cover sheet.

    What was published stays as it is; a narrower visibility hides it from others from now on.
    """
    with transaction() as session:
        return _system(session, standards.change_system(session, system_id, expected_version(), body))


@storage_systems.operation(
    "DELETE", ONE, scope="write", conditional=True, errors=["forbidden", "revision-is-published"]
)
def delete_storage_system(system_id: UUID) -> None:
    """Remove a storage system of which nothing was ever published.

    Its draft goes with it. Once something was published, it stays for good, because fit checks rest on it: hide it by
    its visibility instead.
    """
    with transaction() as session:
        standards.remove_system(session, system_id, expected_version())


@storage_systems.operation(
    "GET", ONE + "/revisions", scope="public", query=paging.PageQuery, returns=paging.page_of(RevisionSummarySchema)
)
def list_revisions(system_id: UUID, query: dict[str, Any]) -> Reply:
    """List a storage system's revisions.

    The oldest first, without their contents. Drafts are shown to their owner only.
    """
    page = paging.page(query, (int,))
    with transaction() as session:
        return page.answer(store.revisions(session, store.by_id(session, system_id), page.at(0), page.size))


@storage_systems.operation(
    "POST", ONE + "/revisions", scope="write", body=NewDraftSchema, returns=RevisionSchema, creates=True,
    errors=["forbidden", "draft-exists", "revision-exists"],
)  # fmt: skip
def create_revision(system_id: UUID, body: Draft) -> Reply:
    """Begin the next revision as a draft.

    The answer's `gaps` name what the contents leave unsaid, and which answers will be unknown for it.
    """
    with transaction() as session:
        return revision_reply(standards.begin_draft(session, system_id, body))


@storage_systems.operation("GET", REVISION, scope="public", returns=RevisionSchema, conditional=True)
def get_revision(system_id: UUID, number: int) -> Reply:
    """Read a revision.

    A published or superseded one never changes. `gaps` names what it leaves unsaid, and which answers are unknown for
    it. A draft is found by its owner only.
    """
    with transaction() as session:
        return revision_reply(store.revision(session, store.by_id(session, system_id), number))


@storage_systems.operation(
    "GET", ONE + "/published-revision", scope="public", returns=RevisionSchema, conditional=True,
    errors=["nothing-published"],
)  # fmt: skip
def get_published_revision(system_id: UUID) -> Reply:
    """Read the revision that holds today.

    It is what fit checks and housing plans take where they name no revision. Refused where nothing was published yet.
    """
    with transaction() as session:
        return revision_reply(standards.published(session, system_id)[1])


@storage_systems.operation(
    "PUT", REVISION, scope="write", body=DraftSchema, returns=RevisionSchema, conditional=True,
    errors=["forbidden", "revision-is-published"],
)  # fmt: skip
def change_revision(system_id: UUID, number: int, body: Draft) -> Reply:
    """Write a draft anew.

    Refused once it is published: begin the next revision then. What it leaves unsaid is unknown, and named in `gaps`.
    """
    with transaction() as session:
        return revision_reply(standards.revise_draft(session, system_id, number, expected_version(), body))


@storage_systems.operation(
    "DELETE", REVISION, scope="write", conditional=True, errors=["forbidden", "revision-is-published"]
)
def delete_revision(system_id: UUID, number: int) -> None:
    """Discard a draft.

    Its number is free again. A published revision is never removed, because fit checks rest on it.
    """
    with transaction() as session:
        standards.discard_draft(session, system_id, number, expected_version())


@storage_systems.operation(
    "POST", REVISION + "/publication", scope="write", returns=RevisionSchema, conditional=True, status=200,
    errors=["forbidden", "revision-is-published", "published-meanwhile"],
)  # fmt: skip
def publish_revision(system_id: UUID, number: int) -> Reply:
    """Publish a draft.

    From now on it never changes; the revision that held until now is superseded and stays readable.
    """
    with transaction() as session:
        return revision_reply(standards.publish(session, system_id, number, expected_version(), datetime.now(UTC)))


def _system(session: Session, system: System) -> Reply:
    return Reply(named(session, system), version=system.version, location=f"/v1/storage-systems/{system.id}")


def revision_reply(revision: Revision) -> Reply:
    """A revision as it is answered."""
    shown = {name: getattr(revision, name) for name in RevisionSchema._declared_fields if hasattr(revision, name)}
    address = f"/v1/storage-systems/{revision.system_id}/revisions/{revision.number}"
    return Reply(shown | {"gaps": gaps_in(revision.content)}, version=revision.version, location=address)


offer_patch(storage_systems, "get_storage_system", "change_storage_system")
offer_patch(storage_systems, "get_revision", "change_revision")
