"""Carrying trays by hand: several at once, all of them or none."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.inventory.places import Places, carried
from service.core.actor import Actor
from service.core.errors import Conflict, Fault, Faults
from service.store.inventory import moves, trays
from service.store.inventory.moves import Carried
from service.store.inventory.trays import KeptTray


@dataclass(frozen=True, slots=True)
class WantedMove:
    """A tray and where it goes: into a ``drawer``, in a ``place`` that is free or ``after`` another tray, or behind
    all; without a drawer, out onto a bench. ``from_drawer`` is where the asker believes it to stand.
    """

    tray: str
    drawer: str | None = None
    place: int | None = None
    after: str | None = None
    from_drawer: str | None = None


def move(session: Session, actor: Actor, by: str, wanted: Sequence[WantedMove]) -> list[Carried]:
    """Carry trays, one after the other, and write down who did.

    :raises Faults: naming every tray and drawer that is not there.
    :raises Conflict: when a place is taken, a tray stands elsewhere by now, or a drawer cannot hold it.
    """
    asker = actor.own_institution()
    known = trays.of_codes(session, asker, [each.tray for each in wanted])
    codes = {tray.drawer for tray in known.values() if tray.drawer} | {each.drawer for each in wanted if each.drawer}
    places = Places.held(session, asker, codes)
    # Read again, now that nobody else can move them: somebody may have before.
    known = trays.locked(session, asker, known)
    _refuse_the_unknown(wanted, known, places)
    _refuse_the_moved(wanted, known, places)
    for each in wanted:
        places.know(each.tray, known[each.tray].id)
        _carry(places, each)
    places.write(session, asker)
    told = [carried(places, each.tray, by) for each in wanted]
    moves.write(session, asker, told)
    return told


def _carry(places: Places, wanted: WantedMove) -> None:
    places.take_out(wanted.tray)
    if wanted.drawer is None:
        return
    if wanted.after is None:
        places.put(wanted.tray, wanted.drawer, wanted.place)
        return
    before = places.place_of(wanted.after)
    if before is None or places.where[wanted.after] != wanted.drawer:
        raise Conflict("tray_elsewhere", f"Tray {wanted.after} does not stand in drawer {wanted.drawer}.")
    places.put(wanted.tray, wanted.drawer, before + 1, make_room=True)


def _refuse_the_unknown(wanted: Sequence[WantedMove], known: dict[str, KeptTray], places: Places) -> None:
    faults = tuple(_unknown(wanted, known, places.ids))
    if faults:
        raise Faults(faults)


def _unknown(wanted: Sequence[WantedMove], known: dict[str, KeptTray], drawers: dict[str, UUID]) -> Iterator[Fault]:
    for at, each in enumerate(wanted):
        if each.tray not in known:
            yield Fault(f"/moves/{at}/tray", f"You have no tray with the code {each.tray}.")
        if each.drawer is not None and each.drawer not in drawers:
            yield Fault(f"/moves/{at}/drawer", f"You have no drawer with the code {each.drawer}.")


def _refuse_the_moved(wanted: Sequence[WantedMove], known: dict[str, KeptTray], places: Places) -> None:
    for each in wanted:
        stands = known[each.tray].drawer
        if each.from_drawer is not None and stands != each.from_drawer:
            where = f"in drawer {stands}" if stands else "in no drawer"
            raise Conflict("tray_elsewhere", f"Tray {each.tray} stands {where} by now, not in {each.from_drawer}.")
        if stands is not None and stands not in places.ids:
            raise Conflict("tray_elsewhere", f"Tray {each.tray} has just been moved by somebody else.")
