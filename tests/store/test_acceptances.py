"""Which sizes the published systems take: in step with every publication, and nobody else's to see."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

import pytest
from builders import a_cabinet, a_drawer_standard, a_system, mm, size
from sqlalchemy import Engine, func, select, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from service.actions import builder, standards
from service.actions.standards import CoverSheet, Draft
from service.core.actor import Actor
from service.core.builder.acceptance import acceptances as sizes_taken
from service.core.builder.cut import Cut
from service.core.builder.takers import Found
from service.core.fit.findings import Verdict
from service.core.standards import StorageSystem, Support
from service.store import acceptances, institutions, systems
from service.store.ids import new_id
from service.store.session import ANONYMOUS, open_session
from service.store.systems import Visibility
from service.store.tables import acceptance

DRAWER = (482_600_000, 419_100_000, 76_200_000)
TRAY = (99_500_000, 96_500_000, 41_000_000)
AROUND = builder.box_around(DRAWER, 25_400_000)
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def publish(
    engine: Engine,
    owner: UUID,
    code: str,
    content: StorageSystem,
    visibility: Visibility = Visibility.EVERYBODY,
) -> UUID:
    with open_session(engine, owner) as session:
        system = standards.make_system(session, Actor(owner), code, CoverSheet(code, visibility))
        draft = standards.begin_draft(session, system.id, Draft(content))
        standards.publish(session, system.id, draft.number, draft.version, NOW)
        session.commit()
    return system.id


def publish_next(engine: Engine, owner: UUID, system_id: UUID, content: StorageSystem) -> None:
    with open_session(engine, owner) as session:
        draft = standards.begin_draft(session, system_id, Draft(content))
        standards.publish(session, system_id, draft.number, draft.version, NOW)
        session.commit()


def show_to(engine: Engine, owner: UUID, system_id: UUID, visibility: Visibility) -> None:
    with open_session(engine, owner) as session:
        system = systems.by_id(session, system_id)
        standards.change_system(session, system_id, system.version, CoverSheet(system.name, visibility))
        session.commit()


def takers(engine: Engine, drawer: tuple[int, int, int] = DRAWER) -> list[str]:
    with open_session(engine, ANONYMOUS) as session:
        answer = builder.ask(session, builder.BuilderQuestion(drawer, Cut.SIXTEENTH_INCH))
    return [taker.system_code for taker in answer.as_it_is.takers]


def rows(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(acceptance)) or 0


NARROW = replace(a_system(), cabinets=(a_cabinet(opening=size(470, 425, 1985)),))


def test_what_is_published_to_everybody_is_found_by_anybody(engine: Engine, north: UUID) -> None:
    publish(engine, north, "main", a_system())
    assert takers(engine) == ["main"]


def test_what_is_for_members_or_for_its_owner_alone_is_not_searched(engine: Engine, north: UUID) -> None:
    publish(engine, north, "members", a_system(), Visibility.MEMBERS)
    publish(engine, north, "own", a_system(), Visibility.OWNER)
    assert takers(engine) == []
    with open_session(engine, north) as session:
        assert rows(session) == 0


def test_a_draft_is_not_searched_before_it_is_published(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = standards.make_system(session, Actor(north), "main", CoverSheet("Main", Visibility.EVERYBODY))
        standards.begin_draft(session, system.id, Draft(a_system()))
        session.commit()
    assert takers(engine) == []


def test_a_new_revision_takes_the_place_of_the_one_before_it(engine: Engine, north: UUID) -> None:
    system = publish(engine, north, "main", a_system())
    publish_next(engine, north, system, NARROW)
    assert takers(engine) == []
    assert takers(engine, (460_000_000, 419_100_000, 76_200_000)) == ["main"]
    publish_next(engine, north, system, a_system())
    assert takers(engine) == ["main"]


def test_hiding_a_system_takes_it_out_of_the_search_and_showing_it_brings_it_back(
    engine: Engine, north: UUID
) -> None:
    system = publish(engine, north, "main", a_system())
    for hidden in (Visibility.MEMBERS, Visibility.OWNER):
        show_to(engine, north, system, hidden)
        assert takers(engine) == []
    show_to(engine, north, system, Visibility.EVERYBODY)
    assert takers(engine) == ["main"]


def test_a_publication_that_is_rolled_back_leaves_no_trace(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = standards.make_system(session, Actor(north), "main", CoverSheet("Main", Visibility.EVERYBODY))
        draft = standards.begin_draft(session, system.id, Draft(a_system()))
        standards.publish(session, system.id, draft.number, draft.version, NOW)
        session.rollback()
    assert takers(engine) == []


def test_the_database_refuses_to_leave_a_hidden_system_open_to_search(engine: Engine, north: UUID) -> None:
    publish(engine, north, "main", a_system())
    with open_session(engine, north) as session:
        session.execute(text("UPDATE storage_system SET visibility = 'owner'"))
        with pytest.raises(DBAPIError, match="would stay open to all"):
            session.commit()


def test_the_database_refuses_sizes_of_what_is_not_open_to_everybody_or_is_anothers(
    engine: Engine, north: UUID, south: UUID
) -> None:
    system = publish(engine, north, "own", a_system(), Visibility.OWNER)
    taken = sizes_taken(a_system())
    with open_session(engine, north) as session, pytest.raises(DBAPIError, match="row-level security"):
        acceptances.write(session, north, system, 1, taken)
    shown = publish(engine, north, "main", a_system())
    with open_session(engine, south) as session, pytest.raises(DBAPIError, match="row-level security"):
        acceptances.write(session, north, shown, 1, taken)


def test_what_an_earlier_version_published_is_found_after_catching_up(engine: Engine, north: UUID) -> None:
    system = publish(engine, north, "main", a_system())
    publish(engine, north, "members", a_system(), Visibility.MEMBERS)
    with open_session(engine, north) as session:
        acceptances.withdraw(session, north, system)
        session.commit()
    assert takers(engine) == []
    assert standards.catch_up_with_search(engine) == 1
    assert takers(engine) == ["main"]
    assert standards.catch_up_with_search(engine) == 0


def test_a_row_says_the_same_in_its_columns_and_packed(engine: Engine, north: UUID) -> None:
    publish(engine, north, "main", a_system())
    with open_session(engine, ANONYMOUS) as session:
        field = acceptances.near(session, Verdict.AS_IT_IS, AROUND).field
        stored = session.execute(
            select(*(acceptance.c[side] for side in acceptances.SIDES)).where(acceptance.c.verdict == "as_it_is")
        ).all()
    assert {tuple(box) for box in field.boxes.T.tolist()} <= {tuple(row) for row in stored}
    assert len(field.within(DRAWER)) == 1


def test_the_boxes_of_one_system_have_one_number_and_those_of_two_have_two(engine: Engine, north: UUID) -> None:
    square = a_cabinet(code="square", opening=size(490, 490, 1985))
    publish(engine, north, "one", replace(a_system(), cabinets=(a_cabinet(), square)))
    publish(engine, north, "two", a_system())
    with open_session(engine, ANONYMOUS) as session:
        field = acceptances.near(session, Verdict.AS_IT_IS, AROUND).field
    assert len(field.owners) > 2
    assert len(set(field.owners.tolist())) == 2
    assert len(field.within(DRAWER)) == 2


def test_the_closest_fit_is_told_first_and_all_are_counted(engine: Engine, north: UUID) -> None:
    publish(engine, north, "loose", replace(a_system(), cabinets=(a_cabinet(opening=size(490, 425, 1985)),)))
    publish(engine, north, "close", replace(a_system(), cabinets=(a_cabinet(opening=size(483, 420, 1985)),)))
    with open_session(engine, ANONYMOUS) as session:
        found = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH)).as_it_is
    assert (found.total, [taker.system_code for taker in found.takers]) == (2, ["close", "loose"])


def test_a_roomy_shelf_that_takes_all_that_is_looked_at_is_counted_and_told_of(engine: Engine, north: UUID) -> None:
    shelf = a_cabinet(support=Support.SHELF, opening=size(900, 700, 1985))
    publish(engine, north, "shelf", replace(a_system(), cabinets=(shelf,)))
    publish(engine, north, "close", replace(a_system(), cabinets=(a_cabinet(opening=size(483, 420, 1985)),)))
    with open_session(engine, ANONYMOUS) as session:
        answer = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH))
        near = acceptances.near(session, Verdict.AS_IT_IS, builder.box_around(DRAWER, 6_000_000))
    assert near.field.everywhere == 1
    assert (answer.as_it_is.total, [taker.system_code for taker in answer.as_it_is.takers]) == (2, ["close", "shelf"])


def test_where_nothing_near_gains_the_search_goes_further(engine: Engine, north: UUID) -> None:
    publish(engine, north, "narrow", replace(a_system(), cabinets=(a_cabinet(opening=size(462, 425, 1985)),)))
    with open_session(engine, ANONYMOUS) as session:
        answer = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH))
        nearby = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH, reach=8))
    # 482.6 less 13 sixteenths (20.6375 mm) is 461.9625 mm: more than half an inch, less than one.
    assert [(change.cuts, change.taken_by) for change in answer.drawer_changes] == [((-13, 0, 0), 1)]
    assert answer.reach == 16
    assert (nearby.drawer_changes, nearby.reach) == ((), 8)


def test_by_the_tray_only_those_are_told_that_do_not_take_the_drawer_itself(engine: Engine, north: UUID) -> None:
    publish(engine, north, "both", a_system())
    publish(engine, north, "trays", NARROW)
    with open_session(engine, ANONYMOUS) as session:
        found = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH, TRAY)).by_the_tray
        assert found is not None
        assert found.total == 2, "both take the trays, and one of them the drawer as well"
        assert [(taker.system_code, taker.into, taker.verdict) for taker in found.takers] == [
            ("trays", "house", Verdict.BY_THE_TRAY)
        ]
        too_high = builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH, (99_500_000, 96_500_000, 90_000_000))
        assert builder.ask(session, too_high).by_the_tray == Found(0, ())


def test_a_change_that_is_suggested_and_made_is_taken(engine: Engine, north: UUID) -> None:
    """The promise of the whole path: publish, ask, change, ask again."""
    for code, width in (("a", 480), ("b", 479), ("c", 470)):
        publish(engine, north, code, replace(a_system(), cabinets=(a_cabinet(opening=size(width, 425, 1985)),)))
    with open_session(engine, ANONYMOUS) as session:
        answer = builder.ask(session, builder.BuilderQuestion(DRAWER, Cut.SIXTEENTH_INCH))
        assert (answer.systems_asked, answer.as_it_is.total) == (3, 0)
        for change in answer.drawer_changes:
            again = builder.ask(session, builder.BuilderQuestion(change.size, Cut.SIXTEENTH_INCH))
            assert again.as_it_is.total == change.taken_by == change.gained
    # 482.6 mm less 2 sixteenths is 479.425 mm and goes into 480; less 3 it is 477.8375 mm and goes into 479 too.
    assert [(change.cuts, change.taken_by) for change in answer.drawer_changes] == [
        ((-2, 0, 0), 1),
        ((-3, 0, 0), 2),
        ((-8, 0, 0), 3),
    ]


def with_room(free: int | None, width: float = 486) -> StorageSystem:
    return replace(a_system(), cabinets=(a_cabinet(opening=size(width, 425, 1985), free_positions=free),))


def test_whoever_has_room_for_all_comes_first_then_by_room_and_who_says_nothing_last(
    engine: Engine, north: UUID, south: UUID
) -> None:
    some, silent = new_id(), new_id()
    for institution_id, code in ((some, "some"), (silent, "silent")):
        with open_session(engine, institution_id) as session:
            institutions.enter(session, institution_id, code, code.title())
            session.commit()
    publish(engine, north, "close", with_room(60, width=483))
    publish(engine, south, "wide-1", with_room(40))
    publish(engine, south, "wide-2", with_room(20))
    publish(engine, some, "few", with_room(10))
    publish(engine, silent, "unknown", with_room(None))
    with open_session(engine, ANONYMOUS) as session:
        answer = builder.homes_for(session, DRAWER, 60)
    ranked = [(home.systems[0].institution_id, home.room_for) for home in answer.homes]
    assert ranked == [(north, 60), (south, 60), (some, 10), (silent, None)]
    assert answer.institutions == 4
    assert [taker.system_code for taker in answer.homes[1].systems] == ["wide-1", "wide-2"]


def test_a_high_drawer_takes_several_positions_of_the_room_there_is(engine: Engine, north: UUID) -> None:
    stacks = a_cabinet(runners_removable=True, free_positions=9)
    publish(engine, north, "main", replace(a_system(), cabinets=(stacks,)))
    with open_session(engine, ANONYMOUS) as session:
        (home,) = builder.homes_for(session, (482_600_000, 419_100_000, 120_000_000), 4).homes
    assert (home.room_for, home.systems[0].positions_each, home.systems[0].free_positions) == (4, 2, 9)


def test_the_search_is_answered_from_the_index_of_sizes_even_behind_row_level_security(
    engine: Engine, north: UUID
) -> None:
    drawers = (a_drawer_standard(inner=size(450, 388, mm(61))),)
    for number in range(3):
        publish(engine, north, f"s{number}", replace(a_system(), drawers=drawers))
    with open_session(engine, ANONYMOUS) as session:
        session.execute(text("SET LOCAL enable_seqscan = off"))
        bound = acceptances._bound(Verdict.AS_IT_IS, AROUND)
        compiled = acceptances._BOXES.compile(session.connection().engine)
        plan = session.connection().exec_driver_sql(f"EXPLAIN {compiled}", compiled.construct_params(bound))
        told = "\n".join(row[0] for row in plan)
    assert "acceptance_by_size" in told
    assert "Index Cond: ((verdict" in told
    for side in acceptances.SIDES:
        assert side in told.split("Index Cond")[1].splitlines()[0]
