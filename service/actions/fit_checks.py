"""Asking whether a consignment fits a storage system, and keeping the answer for good."""

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy.orm import Session

from service import __version__
from service.actions import standards
from service.core.actor import Actor
from service.core.errors import Conflict
from service.core.fit.check import check
from service.store import consignments, fit_checks, institutions
from service.store.consignments import Consignment
from service.store.fit_checks import FitCheck, Inputs


@dataclass(frozen=True, slots=True)
class Question:
    """Which consignment against which storage system; without a ``revision``, the one that holds today."""

    consignment_id: UUID
    storage_system_id: UUID
    revision: int | None = None


def ask(session: Session, actor: Actor, question: Question) -> FitCheck:
    """Work the answer out and keep it with all that it was made from.

    :raises Conflict: when the consignment has no lines, or nothing was published to hold them against.
    """
    consignment = consignments.by_id(session, question.consignment_id)
    lines = consignments.lines(session, consignment)
    if not lines:
        raise Conflict("no_lines", f"The consignment {consignment.code} has no lines yet; there is nothing to check.")
    system, revision = standards.published(session, question.storage_system_id, question.revision)
    owner = institutions.by_id(session, system.institution_id)
    inputs = Inputs(
        lines,
        revision.content,
        revision.content_sha256,
        consignment=consignment.code,
        sender=sender_name(session, consignment),
        system=f"{system.name}, {owner.name}",
    )
    answer = check(lines, revision.content)
    return fit_checks.keep(
        session, actor.own_institution(), inputs, answer, system.id, revision.number, __version__, consignment.id
    )


def sender_name(session: Session, consignment: Consignment) -> str:
    """Who sends, by name: a private person as stated, an institution as the directory has it."""
    if consignment.sender.institution_id is None:
        return consignment.sender.name or ""
    return institutions.by_id(session, consignment.sender.institution_id).name
