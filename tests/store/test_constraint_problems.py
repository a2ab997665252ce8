"""Every constraint that a request can break has a sentence."""

import re
import threading
from uuid import UUID

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DBAPIError

from service.core.errors import Busy, Conflict, Invalid, NotFound, TraybridgeError
from service.store import systems
from service.store.problems import PROBLEMS, UNREACHABLE
from service.store.session import app_engine, open_session
from service.store.systems import Visibility

NAMED = text(
    """
    SELECT conname FROM pg_constraint WHERE connamespace = 'public'::regnamespace AND contype NOT IN ('n', 't')
       AND conrelid <> 'alembic_version'::regclass
    UNION
    SELECT c.relname FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
     WHERE i.indisunique AND c.relnamespace = 'public'::regnamespace AND i.indrelid <> 'alembic_version'::regclass
    UNION
    SELECT (regexp_matches(prosrc, '(CONSTRAINT = |refuse_step\\()''(\\w+)''', 'g'))[2] FROM pg_proc
     WHERE pronamespace = 'public'::regnamespace
    """
)


def test_every_named_constraint_has_its_sentence_or_is_known_to_be_out_of_reach(engine: Engine) -> None:
    with engine.connect() as connection:
        named = set(connection.scalars(NAMED))
    assert named == set(PROBLEMS) | UNREACHABLE
    assert not set(PROBLEMS) & UNREACHABLE


@pytest.mark.parametrize("name", sorted(PROBLEMS))
def test_a_problem_is_told_in_sentences_without_the_words_of_the_database(name: str) -> None:
    problem = PROBLEMS[name]()
    assert isinstance(problem, Conflict | Invalid | NotFound)
    assert problem.message[0].isupper()
    assert problem.message.endswith(".")
    assert not re.search(r"constraint|_|violat|SQL|null", problem.message.replace("_unique", ""), re.IGNORECASE)


def test_the_words_for_programs_are_plain() -> None:
    kinds = [problem.kind for problem in (each() for each in PROBLEMS.values()) if isinstance(problem, Conflict)]
    assert all(re.fullmatch("[a-z]+(_[a-z]+)*", kind) for kind in kinds)


def test_a_row_that_somebody_else_is_changing_is_busy_and_not_an_error_of_ours(database: str, north: UUID) -> None:
    engine = app_engine(database, lock_timeout_ms=50)
    with open_session(engine, north) as one, open_session(engine, north) as other:
        system = systems.make(one, north, "DRY-1", "Dry collection", "", Visibility.OWNER)
        one.commit()
        systems.locked(one, system.id)
        with pytest.raises(Busy):
            systems.locked(other, system.id)
    engine.dispose()


def test_two_who_begin_a_draft_at_once_get_one_draft_between_them(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = systems.make(session, north, "DRY-1", "Dry collection", "", Visibility.OWNER)
        session.commit()
    outcomes: list[str] = []

    def begin() -> None:
        with open_session(engine, north) as session:
            try:
                systems.begin_draft(session, system, systems.StorageSystem())
                session.commit()
                outcomes.append("begun")
            except TraybridgeError as error:
                outcomes.append(getattr(error, "kind", "?"))

    threads = [threading.Thread(target=begin) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["begun", "draft_exists", "draft_exists", "draft_exists"]


def test_a_fault_of_our_own_stays_the_drivers_error(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session, pytest.raises(DBAPIError):
        session.execute(text("SELECT no_such_column FROM institution"))
