"""Trays on their way from place to place, on paper first: drawers that are held, and what stands in each."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.quarantines import refuse_placing
from service.core.errors import Conflict
from service.store.inventory import drawers, trays
from service.store.inventory.moves import Carried
from service.store.inventory.trays import KeptTray, Stand


@dataclass
class Places:
    """The places of some drawers, held so that nobody else changes them until the transaction is over."""

    ids: dict[str, UUID]
    before: dict[str, dict[str, int]]
    now: dict[str, dict[str, int]]
    where: dict[str, str] = field(default_factory=dict)
    tray_ids: dict[str, UUID] = field(default_factory=dict)

    @classmethod
    def held(cls, session: Session, asker: UUID, codes: Iterable[str]) -> "Places":
        """The places of these drawers, of those that there are."""
        ids = drawers.locked(session, asker, codes)
        standing = trays.in_drawers(session, asker, ids)
        before = {code: {tray.code: tray.place or 0 for tray in here} for code, here in standing.items()}
        held = cls(ids, before, {code: dict(here) for code, here in before.items()})
        for code, here in standing.items():
            for tray in here:
                held.know(tray.code, tray.id)
                held.where[tray.code] = code
        return held

    def know(self, tray: str, tray_id: UUID) -> None:
        """A tray that may be put somewhere."""
        self.tray_ids[tray] = tray_id

    def take_out(self, tray: str) -> None:
        """Lift a tray out of its place, which stays empty; a tray without one is at hand already."""
        drawer = self.where.pop(tray, None)
        if drawer is not None:
            del self.now[drawer][tray]

    def put(self, tray: str, drawer: str, place: int | None = None, *, make_room: bool = False) -> None:
        """Set a tray down: in ``place``, or behind what stands there. With ``make_room`` those behind move up."""
        here = self.now[drawer]
        at = place or max(here.values(), default=0) + 1
        if make_room:
            self._make_room(here, at)
        here[tray], self.where[tray] = at, drawer

    @staticmethod
    def _make_room(here: dict[str, int], at: int) -> None:
        taken = {place: tray for tray, place in here.items()}
        last = at
        while last in taken:
            last += 1
        for place in range(last - 1, at - 1, -1):
            here[taken[place]] = place + 1

    def place_of(self, tray: str) -> int | None:
        drawer = self.where.get(tray)
        return None if drawer is None else self.now[drawer][tray]

    def was(self, tray: str) -> tuple[str | None, int | None]:
        """Where a tray stood at first, of the drawers that are held."""
        return next(((code, here[tray]) for code, here in self.before.items() if tray in here), (None, None))

    def close_up(self, drawer: str) -> None:
        """Count the trays of a drawer anew, without holes."""
        here = self.now[drawer]
        self.now[drawer] = {tray: place for place, tray in enumerate(sorted(here, key=here.__getitem__), start=1)}

    def write(self, session: Session, asker: UUID) -> None:
        """Make it so, all at once.

        :raises Conflict: when two trays would have one place, or a drawer would hold more than it can.
        :raises InQuarantine: when a tray would go into a drawer whose quarantine is not over.
        """
        self._refuse_two_in_one_place()
        stood = {tray: (code, place) for code, here in self.before.items() for tray, place in here.items()}
        stands = {tray: (code, place) for code, here in self.now.items() for tray, place in here.items()}
        refuse_placing(session, asker, [tray for tray in stands if tray not in stood], datetime.now(UTC))
        gone = [Stand(self.tray_ids[tray], None, None) for tray in stood if tray not in stands]
        changed = [
            Stand(self.tray_ids[tray], self.ids[code], place)
            for tray, (code, place) in stands.items()
            if stood.get(tray) != (code, place)
        ]
        trays.put(session, asker, [*gone, *changed])

    def _refuse_two_in_one_place(self) -> None:
        for code, here in self.now.items():
            standing: dict[int, str] = {}
            for tray, place in here.items():
                if (other := standing.setdefault(place, tray)) != tray:
                    first, second = sorted((other, tray), key=lambda each: each not in self.before[code])
                    raise Conflict(
                        "place_taken", f"In place {place} of drawer {code} stands tray {first}; {second} cannot."
                    )


def carried(places: Places, tray: KeptTray | str, by: str) -> Carried:
    """One line of the book of moves, once the places are settled."""
    code = tray if isinstance(tray, str) else tray.code
    from_drawer, from_place = places.was(code)
    return Carried(
        tray=code,
        from_drawer=from_drawer,
        from_place=from_place,
        to_drawer=places.where.get(code),
        to_place=places.place_of(code),
        moved_by=by,
    )
