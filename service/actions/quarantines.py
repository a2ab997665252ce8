"""Quarantines: writing them down, adding logs, inspections and releases, and asking whether something may be placed.

The pure module reads every standing off what was written down; nothing here sets one.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from sqlalchemy.orm import Session

from service.core.actor import Actor
from service.core.care.cautions import HandlingCaution
from service.core.care.forecast import Forecast, forecast
from service.core.care.placing import PLACES_OWN, InQuarantine, Keeping, keeps, shares_material
from service.core.care.quarantine import (
    Inspection,
    Known,
    Quarantine,
    Released,
    Standing,
    State,
    Subject,
    standing,
    treated,
)
from service.core.care.quarantine_cautions import quarantine_cautions
from service.core.care.regimes import QuarantineRules
from service.core.care.temperature_log import Reading, merged
from service.core.consignment import Line as ConsignmentLine
from service.core.errors import Invalid, NotAllowed, NotFound
from service.core.materials import Treatment
from service.core.transfers.facts import Fact, Step
from service.core.transfers.lines import Line
from service.core.transfers.parties import Side
from service.store import consignments, quarantine_rules, quarantines, transfers
from service.store.inventory import trays
from service.store.quarantines import Kept, KeptLog
from service.store.transfers import Kept as KeptTransfer

#: The steps by which something arrives, and whose quarantine it then is.
ARRIVES_AT = {Step.RECEIVED: Side.BORROWER, Step.RECEIVED_BACK: Side.LENDER}
_LONGEST_OF_TRANSFER = 50


@dataclass(frozen=True, slots=True)
class View:
    """A quarantine as it stands at a moment, with everything that an answer shows of it."""

    kept: Kept
    rules: QuarantineRules
    known: Known
    readings: tuple[Reading, ...]
    standing: Standing
    forecast: Forecast | None
    logs: tuple[KeptLog, ...]
    cautions: tuple[HandlingCaution, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """A quarantine as it stands at a moment, as lists show it."""

    kept: Kept
    standing: Standing


def make(session: Session, actor: Actor, code: str, quarantine: Quarantine, now: datetime) -> View:
    """Write a quarantine down, as the institution that holds the material."""
    _check_subject(session, actor, quarantine.subject)
    return _view(session, quarantines.make(session, actor.own_institution(), code, quarantine), now)


def change(
    session: Session, actor: Actor, quarantine_id: UUID, version: int, quarantine: Quarantine, now: datetime
) -> View:
    """Write its text anew."""
    before = _own(session, actor, quarantine_id)
    _check_subject(session, actor, quarantine.subject)
    return _view(session, quarantines.change(session, before, version, quarantine), now)


def add_log(
    session: Session, actor: Actor, quarantine_id: UUID, code: str, readings: tuple[Reading, ...], now: datetime
) -> View:
    """Add the readings of a logger. A log is never changed; a second one adds to the first."""
    kept = _own(session, actor, quarantine_id)
    quarantines.add_log(session, kept, code, readings)
    return _view(session, quarantines.touch(session, kept), now)


def add_inspection(session: Session, actor: Actor, quarantine_id: UUID, seen: Inspection, now: datetime) -> View:
    """Write down that somebody looked. Live pests begin the quarantine anew."""
    kept = _own(session, actor, quarantine_id)
    if seen.on > now.date():
        raise Invalid("on", f"{seen.on.isoformat()} has not come yet; today is {now.date().isoformat()}.")
    quarantines.add_inspection(session, kept, seen)
    return _view(session, quarantines.touch(session, kept), now)


def release(session: Session, actor: Actor, quarantine_id: UUID, by: str, reason: str, now: datetime) -> View:
    """Let the material go before its quarantine is over. Who and why stays visible for good."""
    kept = _own(session, actor, quarantine_id)
    quarantines.add_release(session, kept, Released(by, reason, now))
    return _view(session, quarantines.touch(session, kept), now)


def view(session: Session, quarantine_id: UUID, now: datetime) -> View:
    """A quarantine as it stands; the other side of its transfer may ask too."""
    return _view(session, quarantines.by_id(session, quarantine_id), now)


def listed(session: Session, kept: Collection[Kept], now: datetime) -> tuple[Listed, ...]:
    """Some quarantines as they stand: all their logs in one statement, and all that was written beside in another."""
    known, owners = quarantines.known(session, kept), {one.institution_id for one in kept}
    rules = {owner: quarantine_rules.of(session, owner).content for owner in owners}
    return tuple(Listed(one, standing(one.quarantine, rules[one.institution_id], known[one.id], now)) for one in kept)


def refuse_placing(session: Session, institution_id: UUID, placed: Collection[str], now: datetime) -> None:
    """Refuse to put trays into drawers that an institution's quarantines still keep. Whoever puts something in its
    place asks this.

    :raises InQuarantine: naming each quarantine that is not over, and what is missing.
    """
    if placed and (held := _keeping(session, quarantines.of_trays(session, institution_id, placed), now)):
        raise InQuarantine(
            replace(one, trays=tuple(code for code in one.trays if code in set(placed))) for one in held
        )


def against_step(session: Session, transfer: KeptTransfer, fact: Fact, now: datetime) -> tuple[Keeping, ...]:
    """The quarantines that speak against a step: of what enters a collection or goes on to others by it, or of the
    same specimens, known by a number, from an earlier transfer or in the lender's own house.
    """
    moved = fact.lines_named or frozenset(line.key for line in transfer.transfer.lines)
    if fact.step in PLACES_OWN:
        holder = transfer.institution(Side.BORROWER)
        found = [one for one in quarantines.of_transfer(session, transfer.id) if one.institution_id == holder]
        return tuple(one for one in _keeping(session, found, now) if keeps(one.lines, moved))
    if fact.step is Step.PACKED and transfer.lender_id is not None:
        packed = [line for line in transfer.transfer.lines if line.key in moved]
        return tuple(_keeping(session, _with_same_material(session, transfer.lender_id, packed), now))
    return ()


def after_step(session: Session, actor: Actor, transfer: KeptTransfer, fact: Fact, seq: int) -> None:
    """What arrives goes into quarantine, if the institution's rules say so."""
    me = actor.own_institution()
    arrives = ARRIVES_AT.get(fact.step) is fact.side and transfer.institution(fact.side) == me and bool(fact.moves)
    if arrives and quarantine_rules.of(session, me).content.on_arrival:
        _begin_on_arrival(session, me, transfer, fact, seq)


def note_release(
    session: Session, actor: Actor, held: Iterable[Keeping], by: str, reason: str, now: datetime
) -> None:
    """Write down beside one's own quarantines that somebody went over them in a step of a transfer."""
    for one in held:
        kept = quarantines.by_id(session, one.id)
        if kept.institution_id == actor.institution_id:
            quarantines.add_release(session, kept, Released(by, reason, now))
            quarantines.touch(session, kept)


def to_inspect(session: Session, institution_id: UUID, until: date, now: datetime) -> tuple[Listed, ...]:
    """The institution's quarantines whose material is to be looked at by a day, the most urgent first."""
    found = listed(session, quarantines.of_owner(session, institution_id), now)
    due = [one for one in found if one.standing.inspect_on is not None and one.standing.inspect_on <= until]
    return tuple(sorted(due, key=lambda one: (one.standing.inspect_on or date.max, one.kept.code)))


def _own(session: Session, actor: Actor, quarantine_id: UUID) -> Kept:
    kept = quarantines.by_id(session, quarantine_id)
    if kept.institution_id != actor.own_institution():
        raise NotAllowed("This quarantine is another institution's, and only that one writes to it.")
    return kept


def _check_subject(session: Session, actor: Actor, subject: Subject) -> None:
    """What is in quarantine is known to whoever writes it down, line by line."""
    if subject.transfer_id is not None:
        try:
            known = {line.key for line in transfers.whole(session, subject.transfer_id).transfer.lines}
        except NotFound as error:
            raise Invalid("subject.transfer_id", "There is no such transfer that you are a side of.") from error
        if strangers := sorted(set(subject.lines) - known):
            raise Invalid("subject.lines", f"The transfer has no line {', '.join(strangers)}.")
    known_trays = trays.of_codes(session, actor.own_institution(), subject.trays) if subject.trays else {}
    if strangers := sorted(set(subject.trays) - set(known_trays)):
        raise Invalid("subject.trays", f"You have no tray {', '.join(strangers)}.")
    if subject.consignment_id is not None:
        try:
            consignments.by_id(session, subject.consignment_id)
        except NotFound as error:
            raise Invalid("subject.consignment_id", "There is no such consignment that you may read.") from error


def _view(session: Session, kept: Kept, now: datetime) -> View:
    rules = quarantine_rules.of(session, kept.institution_id).content
    known = quarantines.known(session, [kept])[kept.id]
    stands = standing(kept.quarantine, rules, known, now)
    readings = treated(kept.quarantine, known.readings, stands.live_seen_on)
    return View(
        kept,
        rules,
        known,
        readings,
        stands,
        forecast(kept.quarantine, rules, readings),
        quarantines.logs(session, kept),
        quarantine_cautions(
            kept.quarantine,
            rules,
            merged(known.readings, kept.quarantine.method),
            used_on(session, kept.quarantine),
            is_over=stands.state is State.OVER,
        ),
    )


def used_on(session: Session, quarantine: Quarantine) -> list[tuple[Treatment, ...] | None]:
    """What was used before on each lot in a quarantine; what its own text says stands beside it."""
    subject = quarantine.subject
    lines: Iterable[Line | ConsignmentLine] = ()
    if subject.transfer_id is not None:
        every = transfers.lines(session, subject.transfer_id)
        lines = [line for line in every if not subject.lines or line.key in subject.lines]
    elif subject.consignment_id is not None:
        try:
            lines = consignments.lines(session, consignments.by_id(session, subject.consignment_id))
        except NotFound:  # it was removed, or is no longer offered
            lines = ()
    own = quarantine.treatments_used
    told: list[tuple[Treatment, ...] | None] = [line.treatments_used for line in lines]
    return [*told, *([own] if own is not None or not told else [])]


def _keeping(session: Session, found: Collection[Kept], now: datetime) -> list[Keeping]:
    """Those of some quarantines that are neither over nor released."""
    return [
        Keeping(one.kept.id, one.kept.code, subject.lines, one.standing, subject.trays)
        for one in listed(session, found, now)
        if not one.standing.is_free
        for subject in (one.kept.quarantine.subject,)
    ]


def _with_same_material(session: Session, institution_id: UUID, packed: list[Line]) -> list[Kept]:
    numbered = [line for line in packed if line.catalogue_numbers or line.identifiers]
    if not numbered:
        return []
    found = []
    for kept in quarantines.of_owner(session, institution_id):
        subject = kept.quarantine.subject
        if subject.transfer_id is not None:
            every = transfers.lines(session, subject.transfer_id)
            inside = [line for line in every if not subject.lines or line.key in subject.lines]
            if shares_material(numbered, inside):
                found.append(kept)
    return found


def _begin_on_arrival(session: Session, me: UUID, transfer: KeptTransfer, fact: Fact, seq: int) -> None:
    moved = tuple(sorted(fact.lines_named))
    every = len(moved) == len(transfer.transfer.lines)
    subject = Subject(transfer_id=transfer.id, lines=() if every else moved)
    code = f"{transfer.code[:_LONGEST_OF_TRANSFER]}-q{seq}"
    quarantines.make(session, me, code, Quarantine(subject, fact.on))
