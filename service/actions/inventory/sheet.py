"""Taking an inventory in, row by row: what is new is made, what is known is changed where a row says so.

Nothing is removed, and what is left empty stays as it is. All of it, or nothing.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from sqlalchemy.orm import Session

from service.actions.inventory.places import Places, carried
from service.core.actor import Actor
from service.core.arrangement.inventory_row import InventoryRow
from service.core.arrangement.told_rows import Told, at, hear_all
from service.core.errors import Fault, Faults
from service.store.ids import new_id
from service.store.inventory import many, moves, trays
from service.store.inventory.many import Many
from service.store.inventory.rooms import lay_out

#: What a thing that is new has, where its row does not say.
_USUAL: Final[Mapping[str, Mapping[str, Any]]] = {
    "room": {"walk_order": 0},
    "cabinet": {"walk_order": 0, "column_count": 1, "takes": [], "opening_width_nm": None, "pitch_nm": None},
    "drawer": {"label": "", "positions": 1, "clear_height_nm": None, "reserve_percent": None},
    "tray": {"taxon": "", "label": "", "specimens": None, "curation_level": None, "height_nm": None},
}
#: What a thing that is new cannot do without.
_NEEDED: Final[Mapping[str, Sequence[str]]] = {
    "room": (),
    "cabinet": ("room", "positions_per_column"),
    "drawer": ("style", "inner_width_nm", "inner_depth_nm"),
    "tray": ("width_nm", "depth_nm"),
}


@dataclass(frozen=True, slots=True)
class Receipt:
    """How many things were new, how many known ones changed, and how many trays stand elsewhere now."""

    rooms_made: int
    cabinets_made: int
    drawers_made: int
    trays_made: int
    changed: int
    moved: int


@dataclass(frozen=True, slots=True)
class _Written:
    """What became of the things of one kind; ``ids`` of all that were told of."""

    ids: Mapping[str, UUID]
    made: int
    changed: int


def take_in(session: Session, actor: Actor, by: str, rows: Sequence[InventoryRow]) -> Receipt:
    """Take rows in.

    :raises Faults: naming every row and column that cannot be taken (pointers ``/rows/0/column``).
    :raises Conflict: when two trays would have one place, or two drawers one position.
    """
    asker = actor.own_institution()
    told, faults = hear_all(rows)
    taking = _Taking(session, asker, told, faults)
    rooms = taking.write("room", many.ROOMS)
    cabinets = taking.write("cabinet", many.CABINETS, {"room": ("room_id", many.ROOMS, rooms.ids)})
    lay_out(session, asker, *cabinets.ids.values())
    drawers = taking.write("drawer", many.DRAWERS, {"cabinet": ("cabinet_id", many.CABINETS, cabinets.ids)})
    written, moved = _take_trays(taking, by)
    return Receipt(
        rooms.made, cabinets.made, drawers.made, written.made,
        sum(each.changed for each in (rooms, cabinets, drawers, written)), moved,
    )  # fmt: skip


def _take_trays(taking: "_Taking", by: str) -> tuple[_Written, int]:
    """The trays as they are, without their places; and then the places."""
    session, asker, told = taking.session, taking.asker, taking.told["tray"]
    wanted = {code: (said.pop("drawer", None), said.pop("place", None)) for code, said in told.said.items()}
    known = trays.of_codes(session, asker, told.said)
    stood = {code: tray.drawer for code, tray in known.items()}
    codes = {drawer for drawer, _ in wanted.values() if drawer} | {drawer for drawer in stood.values() if drawer}
    places = Places.held(session, asker, codes)
    taking.faults += _misplaced(told, wanted, stood, places)
    written = taking.write("tray", many.TRAYS)
    for code, tray_id in written.ids.items():
        places.know(code, tray_id)
    moved = [code for code, (drawer, place) in wanted.items() if _goes_elsewhere(places, code, drawer, place)]
    for code in moved:
        places.take_out(code)
    for code in moved:
        drawer, place = wanted[code]
        places.put(code, drawer or stood[code] or "", place)
    places.write(session, asker)
    moves.write(session, asker, [carried(places, code, by) for code in moved])
    return written, len(moved)


def _goes_elsewhere(places: Places, code: str, drawer: str | None, place: int | None) -> bool:
    if drawer is None and place is None:
        return False
    stands, here = places.was(code)
    return (drawer is not None and drawer != stands) or (place is not None and place != here)


def _misplaced(
    told: Told, wanted: Mapping[str, tuple[str | None, int | None]], stood: Mapping[str, str | None], places: Places
) -> Iterator[Fault]:
    for code, (drawer, place) in wanted.items():
        if drawer is not None and drawer not in places.ids:
            yield Fault(at(told.row[code], "drawer"), f"You have no drawer with the code {drawer}.")
        if drawer is None and place is not None and stood.get(code) is None:
            yield Fault(at(told.row[code], "place"), "A place is in a drawer; name the drawer.")


class _Taking:
    """One taking in, kind by kind, with the faults found so far."""

    def __init__(self, session: Session, asker: UUID, told: dict[str, Told], faults: list[Fault]) -> None:
        self.session, self.asker, self.told, self.faults = session, asker, told, faults

    def write(
        self, kind: str, table: Many, within: Mapping[str, tuple[str, Many, Mapping[str, UUID]]] | None = None
    ) -> _Written:
        """Make and change the things of one kind. ``within`` says what a code among them is the code of.

        :raises Faults: once all that can be wrong with them is known.
        """
        told = self.told[kind]
        known = table.known(self.session, self.asker, told.said)
        for name, (column, parents, new) in (within or {}).items():
            self._resolve(told, name, column, parents, new)
        whole = {code: self._whole(told, table, code, known.get(code)) for code in told.said}
        if self.faults:
            raise Faults(tuple(self.faults))
        changed = [code for code in known if whole[code] != known[code]]
        table.write(self.session, self.asker, [row for code, row in whole.items() if whole[code] != known.get(code)])
        return _Written({code: row["id"] for code, row in whole.items()}, len(whole) - len(known), len(changed))

    def _resolve(self, told: Told, name: str, column: str, parents: Many, new: Mapping[str, UUID]) -> None:
        """Codes of what things stand in become ids; those without a thing of that code are faults."""
        named = {said[name] for said in told.said.values() if name in said} - new.keys()
        ids = {**new, **{code: row["id"] for code, row in parents.known(self.session, self.asker, named).items()}}
        for code, said in told.said.items():
            if name not in said:
                continue
            if said[name] in ids:
                said[column] = ids[said[name]]
            else:
                self.faults.append(Fault(at(told.row[code], name), f"You have no {name} with the code {said[name]}."))

    def _whole(self, told: Told, table: Many, code: str, known: dict[str, Any] | None) -> dict[str, Any]:
        """All columns of one thing: what is kept of it, or what is usual, and over it what its rows say."""
        said, row = told.said[code], told.row[code]
        if known is None:
            self.faults += [
                Fault(at(row, name), f"A new {told.kind} needs this.")
                for name in _NEEDED[told.kind]
                if name not in said
            ]
        nothing = dict.fromkeys(table.columns)
        usual = {"id": new_id(), "code": code, **nothing, **_USUAL[told.kind]}
        if "name" in table.columns:
            usual["name"] = code
        stated = {name: _as_kept(value) for name, value in said.items() if name in table.columns}
        whole = {**(known or usual), **stated}
        if told.kind == "drawer" and (whole["cabinet_id"] is None) != (whole["position"] is None):
            self.faults.append(Fault(at(row, "position"), "Give a cabinet and a position together, or neither."))
        return whole


def _as_kept(value: Any) -> Any:
    """A value as the database hands it back."""
    return list(value) if isinstance(value, tuple) else value
