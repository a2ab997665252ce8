"""Many things at once, each found by what another database calls it: made, changed, or left as it is.

One bad thing does not spoil the others: each is written within a savepoint of its own. What is there already as it is
sent is left alone, so that the same batch again does nothing.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TypeAlias
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions import standards, transfers
from service.actions.standards import CoverSheet, Draft
from service.actions.transfers import NewTransfer, PartyNamed
from service.core.actor import Actor
from service.core.consignment import Line
from service.core.errors import Busy, Invalid, NotAllowed, StaleVersion, TraybridgeError
from service.core.identifiers import Identifier, Kind
from service.core.standards import StorageSystem
from service.store import codec, consignments, identifiers, systems
from service.store import transfers as transfers_kept
from service.store.consignments import Cover
from service.store.systems import State, System
from service.store.transfers import Kept


class Outcome(StrEnum):
    """What became of one thing of a batch."""

    MADE = "made"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Called:
    """How a thing is found: ``identifier``. ``also`` are its further names, ``None`` when nothing is said of them.
    With ``version``, it is changed only while it is at that one.
    """

    identifier: Identifier
    also: tuple[Identifier, ...] | None = None
    version: int | None = None

    def check(self, what: str, current: int) -> None:
        if self.version not in {None, current}:
            raise StaleVersion(what, self.version or 0, current)


@dataclass(frozen=True, slots=True)
class SystemItem:
    """A storage system, with the contents of its next revision where ``content`` is given."""

    called: Called
    code: str
    cover: CoverSheet
    content: StorageSystem | None = None
    note: str = ""
    publish: bool = False


@dataclass(frozen=True, slots=True)
class ConsignmentItem:
    """A consignment; without ``lines``, those that are there stay."""

    called: Called
    code: str
    cover: Cover
    lines: tuple[Line, ...] | None = None


@dataclass(frozen=True, slots=True)
class TransferItem:
    """A transfer's text."""

    called: Called
    new: NewTransfer


Item: TypeAlias = SystemItem | ConsignmentItem | TransferItem


@dataclass(frozen=True, slots=True)
class Done:
    """What became of one thing, and at which version it is."""

    outcome: Outcome
    kind: Kind
    id: UUID
    version: int


def write(session: Session, actor: Actor, items: Iterable[Item], now: datetime) -> list[Done | TraybridgeError]:
    """Write things one after the other; for each what became of it, or why it was refused.

    :raises Busy: when others hold what is needed, which a retry of the whole mends.
    """
    identifiers.take_turns(session, actor.own_institution())
    return [_written(session, lambda item=item: _write(session, actor, item, now)) for item in items]  # type: ignore[misc]


def _written(session: Session, work: Callable[[], Done]) -> Done | TraybridgeError:
    try:
        with session.begin_nested():
            return work()
    except Busy:
        raise
    except TraybridgeError as error:
        return error


def _write(session: Session, actor: Actor, item: Item, now: datetime) -> Done:
    match item:
        case SystemItem():
            return _system(session, actor, item, now)
        case ConsignmentItem():
            return _consignment(session, actor, item)
        case TransferItem():
            return _transfer(session, actor, item, now)


def _system(session: Session, actor: Actor, item: SystemItem, now: datetime) -> Done:
    found = identifiers.find(session, actor.own_institution(), Kind.STORAGE_SYSTEM, item.called.identifier)
    if found is None:
        made = standards.make_system(session, actor, item.code, item.cover)
        _name(session, actor, Kind.STORAGE_SYSTEM, made.id, item.called)
        _contents(session, made, item, now)
        return Done(Outcome.MADE, Kind.STORAGE_SYSTEM, made.id, systems.by_id(session, made.id).version)
    before = _own_system(session, actor, found)
    _check_code(item.code, before.code)
    item.called.check("storage system", before.version)
    same = (before.name, before.visibility, before.description) == (
        item.cover.name, item.cover.visibility, item.cover.description,
    )  # fmt: skip
    if not same:
        standards.change_system(session, found, before.version, item.cover)
    news = [_name(session, actor, Kind.STORAGE_SYSTEM, found, item.called), _contents(session, before, item, now)]
    outcome = Outcome.UNCHANGED if same and not any(news) else Outcome.CHANGED
    return Done(outcome, Kind.STORAGE_SYSTEM, found, systems.by_id(session, found).version)


def _own_system(session: Session, actor: Actor, system_id: UUID) -> System:
    system = systems.by_id(session, system_id)
    if system.institution_id != actor.institution_id:
        raise NotAllowed("By this identifier you call a storage system of another institution.")
    return system


def _contents(session: Session, system: System, item: SystemItem, now: datetime) -> bool:
    """The contents as a draft, or published; whether that was news."""
    if item.content is None:
        return False
    draft = systems.in_state(session, system, State.DRAFT)
    published = systems.in_state(session, system, State.PUBLISHED)
    digest, is_news = codec.sha256(item.content), False
    if draft is None and published is not None and published.content_sha256 == digest:
        return False
    said = Draft(item.content, item.note)
    if draft is None:
        draft, is_news = standards.begin_draft(session, system.id, said), True
    elif draft.content_sha256 != digest:
        draft = standards.revise_draft(session, system.id, draft.number, draft.version, said)
        is_news = True
    if item.publish:
        standards.publish(session, system.id, draft.number, draft.version, now)
    return is_news or item.publish


def _consignment(session: Session, actor: Actor, item: ConsignmentItem) -> Done:
    me = actor.own_institution()
    found = identifiers.find(session, me, Kind.CONSIGNMENT, item.called.identifier)
    if found is None:
        made = consignments.make(session, me, item.code, item.cover, item.lines or ())
        _name(session, actor, Kind.CONSIGNMENT, made.id, item.called)
        return Done(Outcome.MADE, Kind.CONSIGNMENT, made.id, made.version)
    before = consignments.by_id(session, found)
    if before.institution_id != me:
        raise NotAllowed("By this identifier you call a consignment that another institution wrote down.")
    _check_code(item.code, before.code)
    item.called.check("consignment", before.version)
    cover = Cover(before.kind, before.sender, before.offered_to, before.note)
    same = cover == item.cover and item.lines in (None, consignments.lines(session, before))
    after = before if same else consignments.change(session, before, before.version, item.cover, item.lines)
    is_named = _name(session, actor, Kind.CONSIGNMENT, found, item.called)
    outcome = Outcome.UNCHANGED if same and not is_named else Outcome.CHANGED
    return Done(outcome, Kind.CONSIGNMENT, found, after.version)


def _transfer(session: Session, actor: Actor, item: TransferItem, now: datetime) -> Done:
    found = identifiers.find(session, actor.own_institution(), Kind.TRANSFER, item.called.identifier)
    if found is None:
        made = transfers.make(session, actor, item.new, now).kept
        _name(session, actor, Kind.TRANSFER, made.id, item.called)
        return Done(Outcome.MADE, Kind.TRANSFER, made.id, made.head.seq)
    before = transfers_kept.whole(session, found)
    item.called.check("transfer", before.head.seq)
    _check_who_and_what(before, item.new)
    is_named = _name(session, actor, Kind.TRANSFER, found, item.called)
    if _says_the_same(before, item.new):
        outcome = Outcome.CHANGED if is_named else Outcome.UNCHANGED
        return Done(outcome, Kind.TRANSFER, found, before.head.seq)
    after = transfers.change_text(session, actor, found, before.head.seq, item.new.text, now).kept
    return Done(Outcome.CHANGED, Kind.TRANSFER, found, after.head.seq)


def _check_who_and_what(before: Kept, new: NewTransfer) -> None:
    """Its sides and its kind stand for good."""
    _check_code(new.code, before.code)
    if new.kind is not before.transfer.kind:
        raise Invalid("kind", f"It was made as {before.transfer.kind}, which never changes.")
    sides: tuple[tuple[str, PartyNamed, UUID | None, str], ...] = (
        ("lender", new.lender, before.lender_id, before.transfer.lender.name),
        ("borrower", new.borrower, before.borrower_id, before.transfer.borrower.name),
    )
    for side, named, own_id, called in sides:
        if named.institution_id != own_id or (own_id is None and named.name != called):
            raise Invalid(side, f"The {side} is {called}, and never changes.")


def _says_the_same(before: Kept, new: NewTransfer) -> bool:
    now, text = before.transfer, new.text
    return (
        (now.answerable, now.user, now.purpose) == (text.answerable, text.user, text.purpose)
        and text.terms in (None, now.terms)
        and text.lines in (None, now.lines)
    )


def _check_code(code: str, before: str) -> None:
    if code != before:
        raise Invalid("code", f"It was made with the code {before}, which never changes.")


def _name(session: Session, actor: Actor, kind: Kind, thing_id: UUID, called: Called) -> bool:
    """Let it have the names that are said, if it has others; whether that was news."""
    me = actor.own_institution()
    known = identifiers.of_things(session, [thing_id]).get(thing_id, ())
    own = {one.identifier for one in known if one.given_by == me}
    wanted = {called.identifier, *(own if called.also is None else called.also)}
    if wanted == own:
        return False
    identifiers.give_whole(session, me, kind, thing_id, sorted(wanted, key=lambda one: (one.scheme, one.value)))
    return True
