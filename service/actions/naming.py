"""Giving things the names that another database has for them."""

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.errors import Invalid, NotAllowed
from service.core.identifiers import Identifier, Kind
from service.store import consignments, identifiers, institutions, systems, transfers
from service.store.identifiers import Named


@dataclass(frozen=True, slots=True)
class LineName:
    """A name for a line of a transfer, by its key; without ``line``, for the transfer itself."""

    identifier: Identifier
    line: str | None = None


def names_of(session: Session, kind: Kind, thing_id: UUID) -> tuple[Named, ...]:
    """What a thing and its lines are called, as far as the asker may know.

    :raises NotFound: when the asker sees no such thing.
    """
    _look(session, kind, thing_id)
    return identifiers.of_one(session, thing_id)


def version_of(names: Sequence[Named]) -> int:
    """A number of at most nine digits for these names and, but for one chance in a thousand million, for no
    others: names have no row of their own that could count its changes.
    """
    told = [(str(one.given_by), one.kind, one.line or "", one.scheme, one.value) for one in names]
    return int.from_bytes(sha256(repr(sorted(told)).encode()).digest()) % 1_000_000_000


def take_turns(session: Session, actor: Actor, kind: Kind, thing_id: UUID) -> int:
    """The version of a thing's names, for whoever is to change them; nobody else of the actor's institution does so
    until the session ends.

    :raises NotFound: when the actor sees no such thing.
    :raises NotAllowed: when it is another institution.
    """
    identifiers.take_turns(session, actor.own_institution())
    names = names_of(session, kind, thing_id)
    if kind is Kind.INSTITUTION and thing_id != actor.institution_id:
        raise NotAllowed("Each institution names itself only.")
    return version_of(names)


def name(session: Session, actor: Actor, kind: Kind, thing_id: UUID, names: Sequence[Identifier]) -> None:
    """Let the actor's own names for a thing be these and no others; whoever sees a thing may name it.

    :raises Conflict: when the actor calls another thing so, or another institution goes by the name.
    """
    _look(session, kind, thing_id)
    identifiers.give(session, actor.own_institution(), kind, thing_id, names)


def name_transfer(session: Session, actor: Actor, transfer_id: UUID, names: Sequence[LineName]) -> None:
    """Name a transfer and its lines; each side does so for itself, and the text that was signed stays as it is."""
    _look(session, Kind.TRANSFER, transfer_id)
    keys = {line.key for line in transfers.lines(session, transfer_id)} if any(one.line for one in names) else set()
    for place, one in enumerate(names):
        if one.line is not None and one.line not in keys:
            raise Invalid(f"identifiers.{place}.line", f"The transfer has no line {one.line}.")
    whole = [one.identifier for one in names if one.line is None]
    lines = [(one.line, one.identifier) for one in names if one.line is not None]
    identifiers.give(session, actor.own_institution(), Kind.TRANSFER, transfer_id, whole, lines)


def _look(session: Session, kind: Kind, thing_id: UUID) -> None:
    {
        Kind.INSTITUTION: institutions.by_id,
        Kind.STORAGE_SYSTEM: systems.by_id,
        Kind.CONSIGNMENT: consignments.by_id,
        Kind.TRANSFER: transfers.by_id,
    }[kind](session, thing_id)
