"""The laws of the inventory, as the database itself holds them: tried by the statements that would break them."""

from collections.abc import Callable
from uuid import UUID

import pytest
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.orm import Session

from service.core.errors import Conflict, TraybridgeError
from service.store.ids import new_id
from service.store.inventory.drawers import drawers
from service.store.inventory.rooms import cabinets, lay_out, rooms
from service.store.inventory.trays import Stand, put, trays
from service.store.session import open_session
from service.store.urls import database_url

SIZE = {"inner_width_nm": 420_000_000, "inner_depth_nm": 400_000_000}
TRAY = {"width_nm": 130_000_000, "depth_nm": 190_000_000}


class Shelf:
    """One cabinet of five positions, with drawers at the first two."""

    def __init__(self, engine: Engine, owner: UUID) -> None:
        self.engine, self.owner = engine, owner
        with open_session(engine, owner) as session:
            room = rooms.make(session, owner, {"code": "hall", "name": "Hall"})
            said = {"code": "A1", "name": "A1", "room_id": room, "column_count": 1, "positions_per_column": 5}
            self.cabinet = cabinets.make(session, owner, said)
            lay_out(session, owner, self.cabinet)
            self.first, self.second = (self.drawer(session, f"D{at}", at) for at in (1, 2))
            session.commit()

    def drawer(self, session: Session, code: str, position: int | None, **more: object) -> UUID:
        at = {"cabinet_id": self.cabinet, "position": position} if position else {}
        return drawers.make(session, self.owner, {"code": code, "style": "amble"} | SIZE | at | more)

    def tray(self, session: Session, code: str, drawer: UUID | None = None, place: int | None = None) -> UUID:
        return trays.make(session, self.owner, {"code": code, "drawer_id": drawer, "place": place} | TRAY)

    def refused(self, attempt: Callable[[Session], object]) -> str:
        """The kind of refusal of what is tried, in a session of its own."""
        with open_session(self.engine, self.owner) as session:
            try:
                attempt(session)
                session.commit()
            except Conflict as refusal:
                return refusal.kind
        return "done"


@pytest.fixture
def shelf(engine: Engine, north: UUID) -> Shelf:
    return Shelf(engine, north)


def test_no_two_trays_have_one_place(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        shelf.tray(session, "T1", shelf.first, 1)
        session.commit()
    assert shelf.refused(lambda session: shelf.tray(session, "T2", shelf.first, 1)) == "place_taken"


def test_trays_change_places_in_one_statement(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        one, two = shelf.tray(session, "T1", shelf.first, 1), shelf.tray(session, "T2", shelf.second, 1)
        put(session, shelf.owner, [Stand(one, shelf.second, 1), Stand(two, shelf.first, 1)])
        session.commit()
        assert [trays.by_id(session, shelf.owner, tray).drawer for tray in (one, two)] == ["D2", "D1"]


@pytest.mark.parametrize("place", ["drawer_id = NULL", "place = NULL"])
def test_a_tray_has_a_drawer_and_a_place_in_it_or_neither(shelf: Shelf, place: str) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        shelf.tray(session, "T1", shelf.first, 1)
        with pytest.raises(TraybridgeError, match="or neither"):
            session.execute(text(f"UPDATE tray SET {place}"))  # noqa: S608


def test_no_two_drawers_share_a_position_even_of_a_high_one(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        shelf.drawer(session, "D3", 3, positions=2)
        session.commit()
    for position in (1, 3, 4):
        assert shelf.refused(lambda session, at=position: shelf.drawer(session, "D4", at)) == "place_taken"
    assert shelf.refused(lambda session: shelf.drawer(session, "D4", 5, positions=2)) == "place_taken"
    assert shelf.refused(lambda session: shelf.drawer(session, "D4", 6)) == "in_use", "there is no sixth position"


def test_two_drawers_change_positions_in_one_statement(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        session.execute(text("UPDATE drawer SET position = 3 - position"))
        session.commit()
        assert drawers.by_id(session, shelf.owner, shelf.first).position == 2


def test_trays_are_together_no_larger_than_their_drawer(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        for place in range(1, 7):
            shelf.tray(session, f"T{place}", shelf.first, place)
        session.commit()
    assert shelf.refused(lambda session: shelf.tray(session, "T7", shelf.first, 7)) == "outside_drawer"
    smaller = text("UPDATE drawer SET inner_depth_nm = inner_depth_nm / 2")
    assert shelf.refused(lambda session: session.execute(smaller)) == "outside_drawer"
    longer = text("UPDATE tray SET depth_nm = 430000000, width_nm = 1000")
    assert shelf.refused(lambda session: session.execute(longer)) == "outside_drawer"


def test_what_is_in_use_is_not_removed(shelf: Shelf) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        shelf.tray(session, "T1", shelf.first, 1)
        session.commit()
    for table in ("drawer", "cabinet", "room", "cabinet_position"):
        removal = text(f"DELETE FROM {table}")  # noqa: S608
        assert shelf.refused(lambda session, removal=removal: session.execute(removal)) == "in_use"


def test_what_was_carried_and_planned_is_never_changed_not_by_the_owner_of_the_tables_either(
    shelf: Shelf, database: str
) -> None:
    move = {"id": new_id(), "asker": shelf.owner}
    with open_session(shelf.engine, shelf.owner) as session:
        session.execute(
            text("INSERT INTO tray_move (id, institution_id, tray, moved_by) VALUES (:id, :asker, 'T1', 'Marta')"),
            move,
        )
        session.commit()
    owner = create_engine(database_url(database))
    for statement in (
        "UPDATE tray_move SET moved_by = 'Nobody'",
        "DELETE FROM tray_move",
        "DELETE FROM arrangement_step",
    ):
        with owner.connect() as connection, pytest.raises(Exception, match="is kept"):
            connection.execute(text(statement))
    owner.dispose()


def test_nothing_of_another_institution_is_seen_or_changed(shelf: Shelf, south: UUID) -> None:
    with open_session(shelf.engine, shelf.owner) as session:
        shelf.tray(session, "T1", shelf.first, 1)
        session.commit()
    with open_session(shelf.engine, south) as session:
        for table in ("room", "cabinet", "cabinet_position", "drawer", "tray"):
            assert session.scalar(text(f"SELECT count(*) FROM {table}")) == 0  # noqa: S608
            assert session.execute(text(f"DELETE FROM {table} RETURNING 1")).all() == []  # noqa: S608
        with pytest.raises(Exception, match="row-level security"):
            shelf.tray(session, "T9", shelf.first, 9)
