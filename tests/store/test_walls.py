"""The walls between institutions, as the database's own catalogue shows them."""

from uuid import UUID

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import ProgrammingError

from service.core.errors import NotAllowed
from service.store import institutions
from service.store.ids import new_id
from service.store.session import (
    ANONYMOUS,
    APP_ROLE,
    BoundSession,
    NobodyBound,
    NotFenced,
    app_engine,
    open_session,
    require_fence,
)
from service.store.tables import metadata

TENANT_TABLES = text(
    """
    SELECT c.relname, c.relrowsecurity, c.relforcerowsecurity,
           array(SELECT DISTINCT p.polcmd::text FROM pg_policy p WHERE p.polrelid = c.oid) AS covered,
           array(SELECT a.privilege FROM (VALUES ('SELECT', 'r'), ('INSERT', 'a'), ('UPDATE', 'w'), ('DELETE', 'd'))
                 AS a (privilege, command)
                 WHERE CASE a.privilege WHEN 'DELETE' THEN has_table_privilege(:role, c.oid, 'DELETE')
                       ELSE has_any_column_privilege(:role, c.oid, a.privilege) END
                 AND NOT EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = c.oid AND p.polcmd::text = a.command))
           AS granted_without_policy
    FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
    WHERE c.relkind IN ('r', 'p') AND n.nspname = 'public' AND c.relname <> 'alembic_version'
    """
)


def test_every_table_is_behind_forced_row_level_security_with_a_policy_for_each_command_granted(
    engine: Engine,
) -> None:
    with engine.connect() as connection:
        tables = connection.execute(TENANT_TABLES, {"role": APP_ROLE}).all()
    assert {name for name, *_ in tables} == set(metadata.tables)
    for name, enabled, forced, covered, granted_without_policy in tables:
        assert (enabled, forced) == (True, True), name
        assert "r" in covered, name
        assert "*" not in covered, f"{name}: a policy for all commands hides which ones were thought of"
        assert granted_without_policy == [], name


def test_the_applications_role_owns_nothing_and_can_do_nothing_by_itself(engine: Engine) -> None:
    with engine.connect() as connection:
        role = connection.execute(
            text(
                "SELECT rolsuper, rolbypassrls, rolcanlogin, rolcreaterole, rolcreatedb FROM pg_roles"
                " WHERE rolname = current_user AND rolname = :role"
            ),
            {"role": APP_ROLE},
        ).one()
        owned = connection.scalar(
            text("SELECT count(*) FROM pg_class WHERE relowner = to_regrole(:role)"), {"role": APP_ROLE}
        )
        makes = connection.scalar(text("SELECT has_schema_privilege('public', 'CREATE')"))
    assert tuple(role) == (False, False, False, False, False)
    assert owned == 0
    assert makes is False


def test_no_function_lends_its_owners_rights(engine: Engine) -> None:
    with engine.connect() as connection:
        lenders = connection.scalars(
            text("SELECT proname FROM pg_proc WHERE prosecdef AND pronamespace = 'public'::regnamespace")
        ).all()
    assert lenders == []


def test_reset_role_does_not_leave_the_applications_role(engine: Engine) -> None:
    with engine.connect() as connection:
        connection.execute(text("RESET ROLE"))
        assert connection.scalar(text("SELECT current_user")) == APP_ROLE


def test_the_owner_of_the_tables_is_not_let_in_as_the_application(database: str, engine: Engine) -> None:
    require_fence(engine)
    owner = app_engine(database, own_login=True)
    with pytest.raises(NotFenced):
        require_fence(owner)
    owner.dispose()


def test_nobody_is_anonymous_by_oversight(engine: Engine) -> None:
    with BoundSession(engine) as session, pytest.raises(NobodyBound):
        session.execute(text("SELECT 1"))


def test_the_binding_holds_from_one_transaction_to_the_next_and_not_into_the_next_session(
    database: str, north: UUID
) -> None:
    engine = app_engine(database, pool_size=1)
    bound = text("SELECT current_institution_id()")
    with open_session(engine, north) as session:
        assert session.scalar(bound) == north
        session.commit()
        assert session.scalar(bound) == north
        with session.begin_nested() as savepoint:
            savepoint.rollback()
        assert session.scalar(bound) == north
    with open_session(engine, ANONYMOUS) as session:
        assert session.scalar(bound) is None
    engine.dispose()


@pytest.mark.usefixtures("north")
def test_every_query_without_a_binding_finds_nothing(engine: Engine) -> None:
    with engine.connect() as connection:
        for table in ("api_key", "storage_system", "storage_system_revision", "consignment", "consignment_line"):
            assert connection.scalar(text(f"SELECT count(*) FROM {table}")) == 0  # noqa: S608
        assert connection.scalar(text("SELECT count(*) FROM institution")) == 1


def test_nobody_enters_or_changes_another_institution(engine: Engine, north: UUID, south: UUID) -> None:
    with open_session(engine, south) as session:
        entry = institutions.by_id(session, north)
        with pytest.raises(NotAllowed):
            institutions.change(session, north, entry.version, "Southern branch", None)
        with pytest.raises(ProgrammingError, match="row-level security"):
            institutions.enter(session, new_id(), "WEST", "Museum WEST")


def test_what_the_application_needs_not_do_it_cannot_do(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        for statement in (
            "DELETE FROM institution",
            "UPDATE institution SET code = 'OTHER'",
            "DELETE FROM api_key",
            "UPDATE api_key SET scopes = '{admin}'",
            "UPDATE consignment_line SET count = 2",
            "DELETE FROM fit_check",
            "UPDATE fit_check SET engine = ''",
            "UPDATE alembic_version SET version_num = ''",
            "CREATE TABLE own (id int)",
        ):
            with pytest.raises(ProgrammingError, match="permission denied"):
                session.execute(text(statement))
            session.rollback()
