"""Which database a command works on."""

from collections.abc import Iterator
from contextlib import contextmanager

import click
from sqlalchemy import Engine

from service.core.errors import NotFound
from service.settings import Settings, read_settings
from service.store import embedded, institutions, migrate
from service.store.institutions import Institution
from service.store.session import ANONYMOUS, app_engine, open_session


@contextmanager
def database(settings: Settings) -> Iterator[str]:
    """The URL of the database to work on; a private one runs for as long as the block."""
    if settings.database_url is not None:
        yield settings.database_url
        return
    with embedded.running(settings.data_folder) as url:
        yield url


@contextmanager
def app_database() -> Iterator[Engine]:
    settings = read_settings()
    with database(settings) as url:
        migrate.check(url)
        own_login = settings.app_database_url is not None
        engine = app_engine(settings.app_database_url or url, own_login=own_login, pool_size=1)
        try:
            yield engine
        finally:
            engine.dispose()


def institution_called(engine: Engine, code: str) -> Institution:
    """The institution of this code.

    :raises click.ClickException: when nobody has entered it, with the command that does.
    """
    with open_session(engine, ANONYMOUS) as session:
        try:
            return institutions.by_code(session, code)
        except NotFound as error:
            enter = "“traybridge institutions add” enters one, and “traybridge institutions list” shows all."
            raise click.ClickException(f"There is no institution “{code}”; {enter}") from error
