"""Databases with many published systems in them, each with five revisions."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, insert, pool, text

from benchmarks.invented import a_system
from service.core.builder.acceptance import acceptances as sizes_taken
from service.store import acceptances, codec, embedded, migrate
from service.store.ids import new_id
from service.store.session import app_engine
from service.store.tables import acceptance, institution, storage_system, storage_system_revision
from service.store.urls import database_url, written

REVISIONS = 5
NOW = datetime(2026, 11, 25, tzinfo=UTC)
#: Four older revisions of each system, made on the server from the one that holds.
OLDER = text(
    "INSERT INTO storage_system_revision (institution_id, system_id, number, state, content, content_sha256, note,"
    " published_at, superseded_at) SELECT institution_id, system_id, older, 'superseded', content, content_sha256,"
    " note, published_at, published_at FROM storage_system_revision, generate_series(1, :holds - 1) AS older"
    " WHERE number = :holds"
)


@contextmanager
def databases(folder: Path, sizes: tuple[int, ...]) -> Iterator[dict[int, Engine]]:
    """The application's engines on databases with so many systems, on one private server."""
    with embedded.running(folder) as url:
        engines = {size: _filled(url, size) for size in sizes}
        yield engines
        for engine in engines.values():
            engine.dispose()


def _filled(server: str, size: int) -> Engine:
    name = f"bench_{size}"
    _outside(server, f"CREATE DATABASE {name}")
    url = written(database_url(server).set(database=name))
    migrate.upgrade(url)
    # As the owner of everything, past the walls between institutions: only so are fifty thousand revisions quick.
    engine = create_engine(database_url(url), poolclass=pool.NullPool)
    with engine.begin() as connection:
        _fill(connection, size)
    _outside(url, "VACUUM ANALYZE")
    return app_engine(url, pool_size=1)


def _outside(url: str, statement: str) -> None:
    engine = create_engine(database_url(url), poolclass=pool.NullPool, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(statement))


def _fill(connection: Connection, size: int) -> None:
    chance = random.Random(size)  # noqa: S311 - the same systems in every run, and no secret
    for start in range(0, size, 500):
        owners, systems, revisions, boxes = [], [], [], []
        for number in range(start, min(start + 500, size)):
            owner, system, content = new_id(), new_id(), a_system(chance)
            key = {"institution_id": owner, "system_id": system}
            owners.append({"id": owner, "code": f"inst-{number}", "name": f"Institution {number}"})
            systems.append(
                {
                    "id": system,
                    "institution_id": owner,
                    "code": "main",
                    "name": f"System {number}",
                    "visibility": "everybody",
                    "published_since": NOW,
                }
            )
            says = {"content": codec.to_json(content), "content_sha256": codec.sha256(content)}
            revisions.append(
                {**key, "number": REVISIONS, "state": "published", "published_at": NOW, "note": "", **says}
            )
            boxes += acceptances.rows_of(owner, system, REVISIONS, sizes_taken(content))
        for table, rows in (
            (institution, owners),
            (storage_system, systems),
            (storage_system_revision, revisions),
            (acceptance, boxes),
        ):
            connection.execute(insert(table), rows)
    connection.execute(OLDER, {"holds": REVISIONS})
