"""The feed: written with the fact or not at all, told to whom it concerns, and nothing of it ever skipped.

The transactions are real and run at the same time, each on a connection of its own.
"""

import random
import threading
from collections.abc import Iterable
from datetime import date
from uuid import UUID

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError, ProgrammingError
from transfer_clerks import Clerks, two_museums

from service.actions.operations import begin
from service.core.actor import Actor
from service.core.care.quarantine import Quarantine, Subject
from service.core.consignment import ConsignmentKind
from service.core.events import Event, EventType
from service.core.operations import Kind, Problem
from service.core.transfers.facts import Step
from service.core.transfers.parties import Side
from service.store import consignments, events, operations, quarantines
from service.store.consignments import Consignment, Cover, Sender
from service.store.ids import new_id
from service.store.session import app_engine, open_session

SOMEBODY = Sender(name="Orla Fennimore")


def feed(engine: Engine, owner: UUID, after: int = 0, limit: int = 1_000) -> tuple[Event, ...]:
    with open_session(engine, owner) as session:
        events.catch_up(session, owner)
        found = events.after(session, owner, after, limit)
        session.commit()
    return found


def types(found: Iterable[Event]) -> list[str]:
    return [event.type.value for event in found]


def write(session, owner: UUID, code: str, *offered_to: UUID) -> Consignment:
    return consignments.make(session, owner, code, Cover(ConsignmentKind.GIFT, SOMEBODY, offered_to))


def test_what_commits_late_comes_late_and_is_not_skipped(engine: Engine, north: UUID) -> None:
    """The case that a reader by ids in their order gets wrong: the first to write is the last to commit."""
    with open_session(engine, north) as early, open_session(engine, north) as late:
        first = write(early, north, "A")
        second = write(late, north, "B")
        late.commit()
        (seen,) = feed(engine, north)
        assert seen.subject_id == second.id
        assert feed(engine, north, seen.position) == (), "the other one is not committed"
        early.commit()
    (then,) = feed(engine, north, seen.position)
    assert then.subject_id == first.id
    assert then.position > seen.position
    assert then.recorded_at < seen.recorded_at, "it was written first all the same"


def test_an_event_is_there_if_its_fact_is_and_not_otherwise(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        write(session, north, "A")
        session.rollback()
    assert feed(engine, north) == ()


class Crowd:
    """Writers whose transactions overlap, end in any order and roll back now and then, and readers who follow."""

    WRITERS, READERS, WRITES = 8, 4, 25

    def __init__(self, engine: Engine, owner: UUID) -> None:
        self.engine, self.owner = engine, owner
        self.committed: list[UUID] = []
        self.seen: list[list[UUID]] = [[] for _ in range(self.READERS)]
        self.over, self.all_have_written = threading.Event(), threading.Barrier(self.WRITERS)

    def run(self) -> None:
        writers = [threading.Thread(target=self._write, args=(seed,)) for seed in range(self.WRITERS)]
        readers = [threading.Thread(target=self._read, args=(seen,)) for seen in self.seen]
        for thread in [*readers, *writers]:
            thread.start()
        for thread in writers:
            thread.join()
        self.over.set()
        for thread in readers:
            thread.join()

    def _write(self, seed: int) -> None:
        chance = random.Random(seed)  # noqa: S311 - chance, not secrecy
        for number in range(self.WRITES):
            with open_session(self.engine, self.owner) as session:
                made = write(session, self.owner, f"W{seed}-{number}")
                if number == 0:
                    self.all_have_written.wait()  # and none has committed
                session.execute(text("SELECT pg_sleep(:pause)"), {"pause": chance.choice([0, 0.001, 0.01])})
                if chance.random() < 0.2:
                    session.rollback()
                    continue
                session.commit()
            self.committed.append(made.id)

    def _read(self, seen: list[UUID]) -> None:
        position, last_look = 0, False
        while not last_look:
            last_look = self.over.is_set()
            while found := feed(self.engine, self.owner, position, limit=7):
                seen += [event.subject_id for event in found]
                position = found[-1].position


def test_readers_who_follow_at_any_pace_all_see_everything_once_and_in_one_order(database: str, north: UUID) -> None:
    engine = app_engine(database, pool_size=Crowd.WRITERS + Crowd.READERS)
    crowd = Crowd(engine, north)
    crowd.run()
    everything = feed(engine, north)
    engine.dispose()
    first = crowd.seen[0]
    assert len(crowd.committed) > 100
    assert sorted(first) == sorted(crowd.committed), "everything, and nothing twice"
    assert all(seen == first for seen in crowd.seen), "one order for all"
    assert [event.subject_id for event in everything] == first, "and for ever"
    moments = [event.recorded_at for event in everything]
    assert moments != sorted(moments), "some did commit out of order, or this has proved nothing"


def test_both_sides_of_a_transfer_are_told_of_each_fact_and_nobody_else_is(engine: Engine, north: UUID) -> None:
    clerks: Clerks = two_museums(engine, "-of-the-loan")
    clerks.in_use()
    lenders, borrowers = feed(engine, clerks.north.id), feed(engine, clerks.south.id)
    steps = ["written", "signed", "signed", "packed", "dispatched", "received", "acknowledged"]
    assert types(lenders) == types(borrowers) == [f"transfer.{step}" for step in steps]
    assert [event.number for event in lenders] == [1, 2, 3, 4, 5, 6, 7]
    assert [event.id for event in lenders] == [event.id for event in borrowers], "the same events"
    by_borrower = {event.type for event in lenders if event.made_by == clerks.south.id}
    assert by_borrower == {"transfer.signed", "transfer.received", "transfer.acknowledged"}
    assert feed(engine, north) == ()


def test_a_refused_step_is_told_to_nobody(engine: Engine) -> None:
    clerks = two_museums(engine)
    clerks.write()
    with pytest.raises(Exception, match="sign"):
        clerks.add(Step.PACKED, everything=True)
    assert types(feed(engine, clerks.north.id)) == ["transfer.written"]


def test_a_private_person_is_told_nothing(engine: Engine) -> None:
    from service.actions.transfers import PartyNamed

    clerks = two_museums(engine)
    clerks.write(borrower=PartyNamed(name="Wenna Tregear"))
    assert types(feed(engine, clerks.north.id)) == ["transfer.written"]
    assert feed(engine, clerks.south.id) == ()


def test_those_whom_a_consignment_is_offered_to_are_told_of_it(engine: Engine, north: UUID, south: UUID) -> None:
    west = new_id()  # an institution that nobody has entered
    with open_session(engine, north) as session:
        made = write(session, north, "A", west)
        cover = Cover(ConsignmentKind.GIFT, SOMEBODY, (south, west))
        made = consignments.change(session, made, 1, cover)
        made = consignments.change(session, made, 2, cover)
        consignments.remove(session, made, 3)
        session.commit()
    said = ["written", "changed", "changed", "removed"]
    assert types(feed(engine, north)) == [f"consignment.{each}" for each in said]
    assert types(feed(engine, south)) == [f"consignment.{each}" for each in ("offered", "changed", "removed")]


def test_an_institution_is_told_when_long_work_comes_to_nothing(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        begun = begin(session, Actor(north, "north"), Kind.HOUSING_PLAN, {})
        mine = operations.take_up(session, north, begun.id)
        assert mine is not None
        operations.fail(session, mine, Problem("took-too-long", "It did not end."))
        session.commit()
    (event,) = feed(engine, north)
    assert (event.type, event.href) == (EventType.OPERATION_FAILED, f"/v1/operations/{begun.id}")


def test_every_step_of_a_transfer_has_a_type_of_event() -> None:
    assert {one.value for one in EventType if one.subject == "transfer"} == {f"transfer.{step}" for step in Step}


FORGED = text(
    "INSERT INTO event (institution_id, id, type, subject_id, made_by)"
    " VALUES (:whom, :id, 'fit_check.made', :id, :by)"
)


def test_nobody_writes_into_a_feed_that_is_not_concerned(engine: Engine, north: UUID, south: UUID) -> None:
    with open_session(engine, north) as session:
        for by in (north, south):
            with pytest.raises(ProgrammingError, match="row-level security"):
                session.execute(FORGED, {"whom": south, "id": new_id(), "by": by})
            session.rollback()


ABOUT_QUARANTINE = text(
    "INSERT INTO event (institution_id, id, type, subject_id, made_by)"
    " VALUES (:whom, :id, 'quarantine.begun', :about, :by)"
)


def test_a_quarantine_of_ones_own_house_is_told_to_nobody_else(engine: Engine, north: UUID, south: UUID) -> None:
    with open_session(engine, north) as session:
        said = Quarantine(Subject(description="twelve drawers"), date(2026, 11, 1))
        made = quarantines.make(session, north, "q-1", said)
        session.commit()
        with pytest.raises(ProgrammingError, match="row-level security"):
            session.execute(ABOUT_QUARANTINE, {"whom": south, "id": new_id(), "about": made.id, "by": north})
        session.rollback()
    assert types(feed(engine, north)) == ["quarantine.begun"]
    assert feed(engine, south) == ()


def test_nobody_reads_or_places_in_the_feed_of_another(engine: Engine, north: UUID, south: UUID) -> None:
    with open_session(engine, north) as session:
        write(session, north, "A")
        session.commit()
    with open_session(engine, south) as session:
        events.catch_up(session, north)
        assert events.after(session, north, 0, 10) == ()
        session.commit()
    assert len(feed(engine, north)) == 1


def test_an_event_is_kept_as_it_is(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        write(session, north, "A")
        session.commit()
        events.catch_up(session, north)
        session.commit()
        for change in ("UPDATE event SET position = 7", "UPDATE event SET type = 'a.b'", "DELETE FROM event"):
            with pytest.raises(DBAPIError, match=r"is kept|permission denied"):
                session.execute(text(change))
            session.rollback()


def test_a_clerk_of_the_other_side_may_be_told_first(engine: Engine) -> None:
    """Each feed is placed by itself: that one institution never looks keeps nobody else from looking."""
    clerks = two_museums(engine)
    clerks.write()
    assert types(feed(engine, clerks.south.id)) == ["transfer.written"]
    clerks.add(Step.SIGNED, Side.LENDER, agreement=clerks.view().kept.standing.agreement)
    assert types(feed(engine, clerks.south.id)) == types(feed(engine, clerks.north.id))
