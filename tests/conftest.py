"""Databases for the tests: each test has one of its own, copied from a template that was migrated once.

``DATABASE_URL`` names the server to make them on (its login makes databases and roles); without it, a private one is
started in a temporary folder.
"""

import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import settings
from sqlalchemy import Engine, create_engine, pool, text

from service.store import embedded, migrate
from service.store.session import app_engine
from service.store.urls import database_url as parsed
from service.store.urls import written

# Whoever works on the house is shown something new in every run; what decides whether a change lands is repeatable.
settings.register_profile("repeatable", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("repeatable")

# The helpers' own assertions are to speak plainly too; this has to be said before any of them is imported.
pytest.register_assert_rewrite("problem_assertions", "shelf", "layout_checker")


def run_outside(url: str, *statements: str) -> None:
    """Run statements that no transaction may hold, such as making a database."""
    engine = create_engine(parsed(url), poolclass=pool.NullPool, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        for statement in statements:
            connection.execute(text(statement))


@contextmanager
def new_database(server: str, template: str | None = None) -> Iterator[str]:
    """The URL of a database that is gone afterwards."""
    name = f"traybridge_test_{secrets.token_hex(6)}"
    run_outside(server, f"CREATE DATABASE {name}" + (f" TEMPLATE {template}" if template else ""))
    try:
        yield written(parsed(server).set(database=name))
    finally:
        # Not WITH (FORCE): a login that is no superuser would stumble over the server's own vacuum.
        left_open = (
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = current_user AND datname = "
        )
        run_outside(server, f"{left_open}'{name}'", f"DROP DATABASE {name}")


@pytest.fixture(scope="session")
def database_url() -> Iterator[str]:
    """The server that the tests work on, by the URL of a database that they leave alone."""
    if given := os.environ.get("DATABASE_URL"):
        yield given
        return
    folder = Path(tempfile.mkdtemp(prefix="traybridge-test-"))
    with embedded.running(folder) as url:
        # What is thrown away need not survive a power cut, and a test need not wait for a disk.
        run_outside(
            url, "ALTER SYSTEM SET fsync = off", "ALTER SYSTEM SET full_page_writes = off", "SELECT pg_reload_conf()"
        )
        yield url
    shutil.rmtree(folder)


@pytest.fixture(scope="session")
def template(database_url: str) -> Iterator[str]:
    """The name of a migrated database without a row in it."""
    with new_database(database_url) as url:
        migrate.upgrade(url)
        yield str(parsed(url).database)


@pytest.fixture
def empty_database(database_url: str) -> Iterator[str]:
    """A database that nobody has migrated, by its owner's URL."""
    with new_database(database_url) as url:
        yield url


@pytest.fixture
def database(database_url: str, template: str) -> Iterator[str]:
    """A migrated database of the test's own, by its owner's URL."""
    with new_database(database_url, template) as url:
        yield url


@pytest.fixture(scope="module")
def module_database(database_url: str, template: str) -> Iterator[str]:
    """A migrated database for all tests of a module, by its owner's URL: to start the service only once."""
    with new_database(database_url, template) as url:
        yield url


@pytest.fixture
def engine(database: str) -> Iterator[Engine]:
    """The application's connections to ``database``: as ``traybridge_app``, behind row-level security."""
    engine = app_engine(database)
    yield engine
    engine.dispose()


@pytest.fixture(scope="session")
def shared_engine(database_url: str, template: str) -> Iterator[Engine]:
    """Connections to one database for all tests that do not mind what others have put there."""
    with new_database(database_url, template) as url:
        engine = app_engine(url)
        yield engine
        engine.dispose()
