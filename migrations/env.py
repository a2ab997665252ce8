"""How Alembic runs the migrations: one at a time in the whole database, each in a transaction of its own."""

import os

from alembic import context
from sqlalchemy import Connection, create_engine, pool, text

from service.store.tables import metadata
from service.store.urls import database_url

#: Any number will do, so long as nothing else in this database takes a lock under it.
MIGRATION_LOCK = 0x7261_7962
#: Long enough for another process to finish its migrations; whoever waits longer is told so.
WAIT_FOR_OTHERS = "5min"
#: A change of a busy table gives way rather than queue every reader behind itself.
WAIT_FOR_A_TABLE = "10s"
ONE_STATEMENT = "10min"


def run(connection: Connection) -> None:
    context.configure(
        connection=connection,
        target_metadata=metadata,
        transaction_per_migration=True,
        autogenerate_plugins=["alembic.autogenerate.*", "alembic.ext.checkconstraint_byname"],
    )
    with context.begin_transaction():
        context.run_migrations()


def wait(connection: Connection, lock: str, statement: str) -> None:
    connection.execute(text(f"SET lock_timeout = '{lock}'"))
    connection.execute(text(f"SET statement_timeout = '{statement}'"))


def run_alone(connection: Connection) -> None:
    wait(connection, WAIT_FOR_OTHERS, WAIT_FOR_OTHERS)
    connection.execute(text("SELECT pg_advisory_lock(:key)"), {"key": MIGRATION_LOCK})
    wait(connection, WAIT_FOR_A_TABLE, ONE_STATEMENT)
    connection.commit()  # The lock and the settings belong to the session and stay.
    run(connection)


def main() -> None:
    if context.is_offline_mode():
        raise SystemExit(
            "These migrations ask the database what is there, so they cannot be written out as a script."
        )
    given = context.config.attributes.get("url") or os.environ.get("DATABASE_URL")
    if not given:
        raise SystemExit("Set DATABASE_URL to the database that should be migrated.")
    engine = create_engine(database_url(given), poolclass=pool.NullPool)
    with engine.connect() as connection:  # Closing the connection gives the lock back.
        run_alone(connection)


main()
