"""Migrations: there and back again, in whatever order processes arrive, and never from a later version."""

import logging
import secrets
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from uuid import UUID

import pytest
from members import Member, enter
from sqlalchemy import create_engine, pool, text
from transfer_clerks import two_museums

from service.app import build
from service.store import changes_seen, migrate
from service.store.changes_seen import START, Kind, Place
from service.store.migrate import DatabaseIsBehind, DatabaseIsNewer, MigrationError
from service.store.session import app_engine, open_session, require_fence
from service.store.tables import metadata
from service.store.urls import database_url, written

#: What autogeneration does not compare: the bodies of checks and functions, policies, triggers and grants.
BY_HAND = text(
    """
    SELECT 'function', proname, pg_get_functiondef(oid) FROM pg_proc
     WHERE pronamespace = 'public'::regnamespace
    UNION ALL
    SELECT 'policy', tablename || '.' || policyname,
           concat_ws('|', permissive, roles, cmd, qual, with_check) FROM pg_policies WHERE schemaname = 'public'
    UNION ALL
    SELECT 'trigger', tgname, pg_get_triggerdef(oid) FROM pg_trigger WHERE NOT tgisinternal
    UNION ALL
    SELECT 'constraint', conrelid::regclass || '.' || conname, pg_get_constraintdef(oid) FROM pg_constraint
     WHERE connamespace = 'public'::regnamespace AND contype <> 't'
    UNION ALL
    SELECT 'index', indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'
    UNION ALL
    SELECT 'table', relname, concat_ws('|', relrowsecurity, relforcerowsecurity, array_to_string(relacl, ','))
      FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'
    UNION ALL
    SELECT 'column', attrelid::regclass || '.' || attname,
           concat_ws('|', atttypid::regtype, attnotnull, attcollation, array_to_string(attacl, ','))
      FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
     WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' AND attnum > 0 AND NOT attisdropped
    ORDER BY 1, 2, 3
    """
)


def shape(url: str) -> list[tuple[str, ...]]:
    engine = create_engine(database_url(url), poolclass=pool.NullPool)
    with engine.connect() as connection:
        return [tuple(row) for row in connection.execute(BY_HAND)]


def run(url: str, statement: str) -> None:
    engine = create_engine(database_url(url), poolclass=pool.NullPool)
    with engine.begin() as connection:
        connection.execute(text(statement))


def test_up_down_and_up_again_leads_to_the_same_place(empty_database: str) -> None:
    assert migrate.current(empty_database) is None
    migrate.upgrade(empty_database)
    first = shape(empty_database)
    assert migrate.current(empty_database) == migrate.head()
    migrate.downgrade(empty_database)
    left = {(kind, name) for kind, name, _ in shape(empty_database) if "alembic_version" not in name}
    assert left == set()
    migrate.upgrade(empty_database)
    assert shape(empty_database) == first
    assert {kind for kind, *_ in first} == {"function", "policy", "trigger", "constraint", "index", "table", "column"}


def test_the_migrations_lead_to_the_tables_that_the_statements_are_written_for(database: str) -> None:
    migrate.drift(database)


def test_the_checks_say_the_same_in_the_tables_and_in_the_migrations(database: str, empty_database: str) -> None:
    """Autogeneration compares checks by name only, so the tables are made both ways and asked."""
    engine = create_engine(database_url(empty_database), poolclass=pool.NullPool)
    with engine.begin() as connection:
        metadata.create_all(connection)
    written_down = {row for row in shape(empty_database) if row[0] in ("constraint", "index")}
    migrated = {
        row for row in shape(database) if row[0] in ("constraint", "index") and "alembic_version" not in row[1]
    }
    assert written_down == migrated


def test_processes_that_migrate_at_once_take_turns(empty_database: str) -> None:
    program = [sys.executable, "-c", "import sys; from service.store import migrate; migrate.upgrade(sys.argv[1])"]
    together = [subprocess.Popen([*program, empty_database]) for _ in range(3)]
    assert [process.wait() for process in together] == [0, 0, 0]
    migrate.check(empty_database)


def test_threads_that_migrate_at_once_take_turns(empty_database: str) -> None:
    with ThreadPoolExecutor(3) as together:
        list(together.map(migrate.upgrade, [empty_database] * 3))
    migrate.check(empty_database)


def test_a_database_made_by_a_later_version_is_left_alone(database: str) -> None:
    run(database, "UPDATE alembic_version SET version_num = '9999'")
    for step in (migrate.upgrade, migrate.check):
        with pytest.raises(DatabaseIsNewer, match="at revision 9999, which this version of the service"):
            step(database)
    assert migrate.current(database) == "9999"


def test_a_database_that_wants_migrating_is_said_to(empty_database: str) -> None:
    with pytest.raises(DatabaseIsBehind, match="is empty and this version needs"):
        migrate.check(empty_database)
    migrate.upgrade(empty_database)
    migrate.downgrade(empty_database, "0001")
    with pytest.raises(DatabaseIsBehind, match="is at revision 0001"):
        migrate.check(empty_database)


@pytest.fixture
def plain_login(empty_database: str) -> Iterator[str]:
    """The database by the URL of a login that owns it and may make no roles."""
    name = f"traybridge_test_{secrets.token_hex(6)}"
    run(empty_database, f"CREATE ROLE {name} LOGIN PASSWORD '{name}'")
    run(empty_database, f"GRANT {name} TO CURRENT_USER")
    database = database_url(empty_database).database
    run(empty_database, f"ALTER DATABASE {database} OWNER TO {name}")
    yield written(database_url(empty_database).set(username=name, password=name))
    run(empty_database, f"ALTER DATABASE {database} OWNER TO CURRENT_USER")
    run(empty_database, f"DROP OWNED BY {name} CASCADE")
    run(empty_database, f"DROP ROLE {name}")


@pytest.mark.usefixtures("template")  # by which the role is there already
def test_a_login_without_the_right_to_make_roles_is_told_what_to_ask_for(plain_login: str) -> None:
    with pytest.raises(MigrationError, match="let an administrator of the database server run: CREATE ROLE"):
        migrate.upgrade(plain_login)


@pytest.mark.usefixtures("template")
def test_a_login_that_was_given_the_role_needs_no_other_right(plain_login: str, empty_database: str) -> None:
    run(empty_database, f"GRANT traybridge_app TO {database_url(plain_login).username}")
    migrate.upgrade(plain_login)
    engine = app_engine(plain_login)
    require_fence(engine)
    engine.dispose()


def test_migrating_says_nothing(
    empty_database: str, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO):
        migrate.upgrade(f"{empty_database}".replace("postgresql+psycopg", "postgres"))
        migrate.drift(empty_database)
    assert capfd.readouterr() == ("", "")
    assert [record.name for record in caplog.records if record.name.startswith("alembic")] == []


OFFER = {"kind": "gift", "sender": {"name": "Orla Fennimore"}}
NOT_YET = text("SELECT pg_snapshot_xmin(pg_current_snapshot()) <= CAST(:now AS xid8)")
#: The last revision that knew nothing of changes.
BEFORE = "0014"


def told(url: str, to: Member, since: Place = START) -> tuple[set[tuple[Kind, UUID]], Place]:
    """What the first page tells, once no other transaction of a shared server holds it up."""
    engine = app_engine(url)
    with open_session(engine, to.id) as session:
        now = session.scalar(text("SELECT pg_current_xact_id()"))
        session.commit()
        while session.scalar(NOT_YET, {"now": now}):
            session.commit()
            time.sleep(0.01)
        found = changes_seen.since(session, to.id, tuple(Kind), since, 200)
    engine.dispose()
    assert not any(one.removed for one in found.items)
    return {(one.kind, one.thing_id) for one in found.items}, found.reached


@pytest.mark.usefixtures("template")
def test_what_stood_before_changes_were_noted_is_told_to_whoever_sees_it(
    plain_login: str, empty_database: str
) -> None:
    run(empty_database, f"GRANT traybridge_app TO {database_url(plain_login).username}")
    migrate.upgrade(plain_login)
    engine = app_engine(empty_database)
    museums = two_museums(engine)
    museums.write()
    app = build(engine)
    north, south = museums.north.client(app), museums.south.client(app)
    stranger = enter(engine, "lindal", "Port Lindal")
    kept, offered = (
        UUID(north.post("/v1/consignments", json=OFFER | given).get_json()["id"])
        for given in ({"code": "a"}, {"code": "b", "offered_to": [str(museums.south.id)]})
    )
    hall = {"code": "s", "name": "Hall", "visibility": "everybody"}
    draft = UUID(south.post("/v1/storage-systems", json=hall).get_json()["id"])
    engine.dispose()

    migrate.downgrade(plain_login, BEFORE)
    migrate.upgrade(plain_login)

    everybody = {(Kind.INSTITUTION, one.id) for one in (museums.north, museums.south, stranger)}
    loan = (Kind.TRANSFER, museums.transfer_id)
    to_north, place = told(empty_database, museums.north)
    assert to_north == everybody | {loan, (Kind.CONSIGNMENT, kept), (Kind.CONSIGNMENT, offered)}
    assert told(empty_database, museums.south)[0] == everybody | {
        loan, (Kind.CONSIGNMENT, offered), (Kind.STORAGE_SYSTEM, draft),
    }  # fmt: skip
    assert told(empty_database, stranger)[0] == everybody
    assert told(empty_database, museums.north, place)[0] == set()


@pytest.mark.usefixtures("template")
def test_who_has_read_on_already_is_told_of_what_stood_before_and_of_nothing_twice(empty_database: str) -> None:
    migrate.upgrade(empty_database)
    engine = app_engine(empty_database)
    museum = enter(engine, "ambleford", "Ambleford")
    client = museum.client(build(engine))
    before, after = (
        UUID(client.post("/v1/consignments", json=OFFER | {"code": code}).get_json()["id"]) for code in "ab"
    )
    engine.dispose()
    migrate.downgrade(empty_database, "0015")
    # Of all that is noted, keep what is noted last, as a server does that came to 0015 between the two.
    run(
        empty_database,
        "ALTER TABLE thing_change NO FORCE ROW LEVEL SECURITY;"
        "DELETE FROM thing_change WHERE changed_in <> (SELECT max(changed_in) FROM thing_change);"
        "ALTER TABLE thing_change FORCE ROW LEVEL SECURITY",
    )
    seen, place = told(empty_database, museum)
    assert seen == {(Kind.CONSIGNMENT, after)}
    migrate.upgrade(empty_database)
    assert told(empty_database, museum, place)[0] == {(Kind.INSTITUTION, museum.id), (Kind.CONSIGNMENT, before)}
