"""Long work in the store: with its job or not at all, told by its latest worker alone, seen by its owner alone."""

from collections.abc import Iterator
from datetime import timedelta
from uuid import UUID

import pytest
from procrastinate.schema import SchemaManager
from sqlalchemy import Engine, create_engine, pool, text

from service.actions import operations as actions
from service.core.actor import Actor
from service.core.errors import Conflict, NotFound, TooManyAtOnce
from service.core.operations import Kind, Problem, Progress, State
from service.store import operations
from service.store.ids import new_id
from service.store.operations import Operation
from service.store.session import open_session
from service.store.urls import database_url

SOME_PROGRESS = Progress("rules", 1, 7, 14, 12)
JOBS = text("SELECT lock, priority FROM procrastinate_jobs ORDER BY priority DESC, id")


def begin(engine: Engine, owner: UUID) -> Operation:
    with open_session(engine, owner) as session:
        begun = actions.begin(session, Actor(owner, "north"), Kind.HOUSING_PLAN, {"what": "to do"})
        session.commit()
    return begun


def take_up(engine: Engine, begun: Operation) -> Operation:
    with open_session(engine, begun.institution_id) as session:
        mine = operations.take_up(session, begun.institution_id, begun.id)
        session.commit()
    assert mine is not None
    return mine


def jobs(engine: Engine, owner: UUID) -> list[tuple[str, int]]:
    with open_session(engine, owner) as session:
        return [(lock, priority) for lock, priority in session.execute(JOBS)]


def test_an_operation_and_its_job_are_both_there_or_neither(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        actions.begin(session, Actor(north, "north"), Kind.HOUSING_PLAN, {})
        session.rollback()
    assert jobs(engine, north) == []
    begun = begin(engine, north)
    assert begun.state is State.PENDING
    assert len(jobs(engine, north)) == 1


def test_an_institutions_operations_run_in_two_lanes_and_wait_a_turn_for_each_other(
    engine: Engine, north: UUID, south: UUID
) -> None:
    many = [begin(engine, north) for _ in range(4)]
    assert [each.lane for each in many] == [0, 1, 0, 1]
    turns = [each.turn_at - many[0].turn_at for each in many]
    assert turns == [timedelta(minutes=at) for at in range(4)]
    others = begin(engine, south)
    assert many[0].turn_at <= others.turn_at < many[1].turn_at
    assert [lock.partition("/")[0] for lock, _ in jobs(engine, north)] == [str(north), str(south), *[str(north)] * 3]


def test_more_than_an_institution_may_have_under_way_is_refused(engine: Engine, north: UUID, south: UUID) -> None:
    for _ in range(actions.MOST_UNFINISHED):
        begin(engine, north)
    with pytest.raises(TooManyAtOnce, match="under way"):
        begin(engine, north)
    begin(engine, south)


def test_only_the_latest_worker_tells_how_it_goes_and_how_it_ended(engine: Engine, north: UUID) -> None:
    begun = begin(engine, north)
    lost, latest = take_up(engine, begun), take_up(engine, begun)
    assert (lost.attempt, latest.attempt) == (1, 2)
    with open_session(engine, north) as session:
        assert not operations.report(session, lost, SOME_PROGRESS)
        assert operations.report(session, latest, SOME_PROGRESS)
        assert not operations.succeed(session, lost, new_id())
        operations.fail(session, lost, Problem("took-too-long", "It did not end."))
        result = new_id()
        assert operations.succeed(session, latest, result)
        session.commit()
        done = operations.by_id(session, north, begun.id)
    assert (done.state, done.result_id, done.progress) == (State.SUCCEEDED, result, SOME_PROGRESS)
    assert done.finished_at is not None


def test_what_waits_is_over_when_it_is_cancelled_and_what_runs_when_its_worker_hears(
    engine: Engine, north: UUID
) -> None:
    waits, runs = begin(engine, north), begin(engine, north)
    mine = take_up(engine, runs)
    with open_session(engine, north) as session:
        assert actions.cancel(session, Actor(north, "north"), waits.id).state is State.CANCELLED
        assert actions.cancel(session, Actor(north, "north"), runs.id).state is State.RUNNING
        assert not operations.report(session, mine, SOME_PROGRESS), "it should stop"
        operations.stopped(session, mine)
        assert operations.by_id(session, north, runs.id).state is State.CANCELLED
        session.commit()
        assert operations.take_up(session, north, waits.id) is None
        with pytest.raises(Conflict, match="nothing to cancel"):
            actions.cancel(session, Actor(north, "north"), runs.id)


def test_an_operation_is_nobody_elses(engine: Engine, north: UUID, south: UUID) -> None:
    begun = begin(engine, north)
    with open_session(engine, south) as session:
        with pytest.raises(NotFound):
            operations.by_id(session, south, begun.id)
        assert operations.take_up(session, north, begun.id) is None
        assert operations.cancel(session, north, begun.id) is None


def test_an_operation_that_is_over_does_not_change(engine: Engine, north: UUID) -> None:
    begun = begin(engine, north)
    mine = take_up(engine, begun)
    with open_session(engine, north) as session:
        operations.fail(session, mine, Problem("took-too-long", "It did not end."))
        session.commit()
        with pytest.raises(Conflict, match="over"):
            session.execute(text("UPDATE operation SET best = 1"))


SHAPE = text(
    """
    SELECT 'column', table_name || '.' || column_name, data_type, is_nullable FROM information_schema.columns
     WHERE table_schema = :schema
    UNION ALL
    SELECT 'function', p.proname, pg_get_function_identity_arguments(p.oid), regexp_replace(prosrc, '\\s', '', 'g')
      FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace WHERE n.nspname = :schema
    UNION ALL
    SELECT 'trigger', tgname, tgrelid::regclass::text, '' FROM pg_trigger
      JOIN pg_class c ON c.oid = tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE n.nspname = :schema AND NOT tgisinternal
    UNION ALL
    SELECT 'index', indexname, '', '' FROM pg_indexes WHERE schemaname = :schema
    """
)


@pytest.fixture
def owner(database: str) -> Iterator[Engine]:
    engine = create_engine(database_url(database), poolclass=pool.NullPool)
    yield engine
    engine.dispose()


def test_the_queues_tables_are_those_that_the_library_makes_at_once(owner: Engine) -> None:
    """Ours come from its migrations, step by step."""
    with owner.begin() as connection:
        connection.execute(text("SET search_path = queue"))
        ours = {tuple(row) for row in connection.execute(SHAPE, {"schema": "queue"})}
    with owner.begin() as connection:
        connection.execute(text("CREATE SCHEMA at_once"))
        connection.execute(text("SET search_path = at_once"))
        connection.exec_driver_sql(SchemaManager.get_schema().replace("%", "%%"))
        theirs = {tuple(row) for row in connection.execute(SHAPE, {"schema": "at_once"})}
    assert ours == theirs
