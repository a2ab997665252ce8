"""Publishing a storage system: a draft that its owner works on, and revisions that never change."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.builder.acceptance import acceptances as sizes_taken
from service.core.errors import Conflict, Fault, Faults
from service.core.review import faults_in
from service.core.standards import StorageSystem
from service.store import acceptances, systems
from service.store.session import ANONYMOUS, open_session
from service.store.systems import Revision, State, System, Visibility


@dataclass(frozen=True, slots=True)
class CoverSheet:
    """What a storage system says of itself, apart from its revisions."""

    name: str
    visibility: Visibility
    description: str = ""


@dataclass(frozen=True, slots=True)
class Draft:
    """What a draft says. ``based_on`` names the revision that it was made from."""

    content: StorageSystem
    note: str = ""
    based_on: int | None = None


def make_system(session: Session, actor: Actor, code: str, cover: CoverSheet) -> System:
    """A storage system of the actor's institution, with no revision yet."""
    return systems.make(session, actor.own_institution(), code, cover.name, cover.description, cover.visibility)


def change_system(session: Session, system_id: UUID, version: int, cover: CoverSheet) -> System:
    """Change the cover sheet. What was published stays as it is, and everybody may search it or nobody any more."""
    before = systems.by_id(session, system_id)
    system = systems.change(session, before, version, cover.name, cover.description, cover.visibility)
    if system.visibility is not before.visibility:
        open_to_search(session, system)
    return system


def remove_system(session: Session, system_id: UUID, version: int) -> None:
    """Remove a storage system of which nothing was ever published."""
    systems.remove(session, systems.by_id(session, system_id), version)


def begin_draft(session: Session, system_id: UUID, draft: Draft) -> Revision:
    """Begin the next revision.

    :raises Faults: when the contents contradict themselves.
    """
    _check(draft.content)
    return systems.begin_draft(session, systems.by_id(session, system_id), draft.content, draft.note, draft.based_on)


def revise_draft(session: Session, system_id: UUID, number: int, version: int, draft: Draft) -> Revision:
    """Write a draft anew.

    :raises Faults: when the contents contradict themselves.
    """
    _check(draft.content)
    before = _draft(session, system_id, number)
    return systems.revise_draft(session, before, version, draft.content, draft.note)


def discard_draft(session: Session, system_id: UUID, number: int, version: int) -> None:
    """Throw a draft away."""
    systems.discard_draft(session, _draft(session, system_id, number), version)


def publish(session: Session, system_id: UUID, number: int, version: int, at: datetime) -> Revision:
    """Publish a draft; the revision that held until now is superseded, and stays readable."""
    revision = systems.publish(session, _draft(session, system_id, number), version, at)
    open_to_search(session, systems.by_id(session, system_id))
    return revision


def open_to_search(session: Session, system: System) -> None:
    """Let everybody search what a system takes today, if it is published to everybody; and else nobody."""
    holds = systems.in_state(session, system, State.PUBLISHED)
    if holds is None or system.visibility is not Visibility.EVERYBODY:
        acceptances.withdraw(session, system.institution_id, system.id)
    else:
        acceptances.write(session, system.institution_id, system.id, holds.number, sizes_taken(holds.content))


def catch_up_with_search(engine: Engine) -> int:
    """Let everybody search what was published before this version knew how to; how many systems that were."""
    with open_session(engine, ANONYMOUS) as session:
        behind = acceptances.behind(session)
    for institution_id, system_id in behind:
        with open_session(engine, institution_id) as session:
            open_to_search(session, systems.locked(session, system_id))
            session.commit()
    return len(behind)


def published(session: Session, system_id: UUID, number: int | None = None) -> tuple[System, Revision]:
    """A storage system with one of its revisions, or with the one that holds today.

    :raises Conflict: when nothing has been published yet.
    """
    system = systems.by_id(session, system_id)
    if number is not None:
        return system, systems.revision(session, system, number)
    revision = systems.in_state(session, system, State.PUBLISHED)
    if revision is None:
        raise Conflict("nothing_published", f"Nothing of the storage system {system.code} has been published yet.")
    return system, revision


def _draft(session: Session, system_id: UUID, number: int) -> Revision:
    revision = systems.revision(session, systems.by_id(session, system_id), number)
    if revision.state is not State.DRAFT:
        raise Conflict(
            "revision_is_published",
            f"Revision {number} is {revision.state.value} and never changes; begin a new draft from it instead.",
        )
    return revision


def _check(content: StorageSystem) -> None:
    faults = faults_in(content)
    if faults:
        raise Faults(tuple(Fault(f"/content{fault.pointer}", fault.detail) for fault in faults))
