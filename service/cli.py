"""The `traybridge` command: what an operator does at a terminal."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import click
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from tabulate import tabulate

from service import __version__
from service.core.errors import NotFound, TraybridgeError
from service.demo import scenario
from service.demo.scenario import Scenario
from service.paper.fit_table import fit_table
from service.serving import CannotServe, require_free
from service.serving import serve as run_server
from service.settings import Settings, SettingsError, read_settings
from service.store import embedded, institutions, keys, migrate
from service.store.embedded import EmbeddedServerError
from service.store.ids import new_id
from service.store.institutions import Institution
from service.store.keys import Key
from service.store.migrate import MigrationError
from service.store.session import ANONYMOUS, app_engine, open_session

EXPECTED = (SettingsError, EmbeddedServerError, MigrationError, CannotServe, TraybridgeError)
SCOPES = click.Choice(["read", "write", "admin"])
#: Keys shown by `keys list`: nobody hands out more, and a table longer than this helps nobody.
MOST_KEYS = 1_000


class Sentences(click.Group):
    """Turns what can be expected to go wrong into one sentence and an exit code of 1."""

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except EXPECTED as error:
            raise click.ClickException(str(error)) from error
        except OperationalError as error:
            raise click.ClickException(f"The database cannot be reached: {_first_line(error)}") from error


def _first_line(error: OperationalError) -> str:
    return str(error.orig).strip().splitlines()[0]


@click.group(cls=Sentences)
@click.version_option(__version__, prog_name="traybridge")
def main() -> None:
    """Will this consignment of pinned insects fit our storage system?

    Traybridge keeps its data in the PostgreSQL that DATABASE_URL names; without it, in a private one that it starts
    by itself in the folder .traybridge (TRAYBRIDGE_DATA chooses another).
    """


@main.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
@click.option("--workers", default=2, show_default=True, type=click.IntRange(1, 64), help="Processes.")
@click.option("--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Threads of each process.")
def serve(host: str, port: int, workers: int, threads: int) -> None:
    """Serve the interface until Ctrl-C.

    A database named by DATABASE_URL has to be migrated first (traybridge migrate); the private one is migrated on the
    way.
    """
    require_free(host, port)
    settings = read_settings()
    with _database(settings) as url:
        if settings.database_url is None:
            migrate.upgrade(url)
        migrate.check(url)
        environment = {"DATABASE_URL": url, "TRAYBRIDGE_POOL_SIZE": str(threads)}
        address = f"http://{host}:{port}/"
        click.echo(f"Serving {address}; Ctrl-C stops.", err=True)
        code = run_server(environment, host=host, port=port, workers=workers, threads=threads)
    raise SystemExit(code)


@main.command()
@click.option("--once", is_flag=True, help="Stop after the table.")
@click.option("--data", type=click.Path(path_type=Path), help="Folder for the demo's database.  [.traybridge/demo]")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
def demo(once: bool, data: Path | None, port: int) -> None:
    """Run the main job on an invented scenario, then serve it.

    Starts a private PostgreSQL, loads three institutions and a donation on the first run, prints the fit check of the
    donation, and serves until Ctrl-C. DATABASE_URL plays no part.
    """
    if not once:
        require_free("127.0.0.1", port)
    folder = (data or read_settings({}).data_folder / "demo").absolute()
    with _step("Starting the embedded PostgreSQL"):
        server = embedded.start(folder)
    try:
        with _step("Bringing its tables up to date"):
            migrate.upgrade(server.url)
        engine = app_engine(server.url)
        with _step("Loading the scenario and checking the donation"):
            loaded = scenario.load(engine)
            key = _demo_key(engine, loaded, folder / "key")
        engine.dispose()
        click.echo(_table(loaded))
        if not once:
            _serve_demo(server.url, loaded, key, port)
    finally:
        server.stop()


@main.command(name="migrate")
def migrate_() -> None:
    """Bring the database up to what this version needs.

    Safe to run again, and from several machines at once.
    """
    with _database(read_settings()) as url:
        before = migrate.current(url)
        migrate.upgrade(url)
        after = migrate.current(url)
    click.echo(f"The database is at {after}." if before == after else f"From {before or 'empty'} to {after}.")


@main.command()
def openapi() -> None:
    """Print the OpenAPI document (YAML)."""
    from service.app import document

    api = document()
    api.complete()
    click.echo(api.as_yaml(), nl=False)


@main.group(name="institutions")
def institutions_() -> None:
    """Enter and list the institutions that take part."""


@institutions_.command(name="add")
@click.argument("code")
@click.argument("name")
@click.option("--country", help="Two letters (ISO 3166-1), such as NZ.")
def add_institution(code: str, name: str, country: str | None) -> None:
    """Enter an institution: its CODE (Darwin Core institutionCode) and its NAME."""
    own_id = new_id()
    with _engine() as engine, open_session(engine, own_id) as session:
        institutions.enter(session, own_id, code, name, country)
        session.commit()
    click.echo(f"Entered {code} as {own_id}.")


@institutions_.command(name="list")
def list_institutions() -> None:
    """List the institutions, in the order of their codes."""
    rows, after = [], None
    with _engine() as engine, open_session(engine, ANONYMOUS) as session:
        while True:
            page = institutions.page(session, after, 200)
            rows += [[one.code, one.name, one.country_code, one.id] for one in page.items]
            if (after := page.next) is None:
                break
    click.echo(tabulate(rows, ["Code", "Name", "Country", "Id"]) if rows else "No institution has been entered yet.")


@main.group(name="keys")
def keys_() -> None:
    """Create, list and revoke the keys that programs come with."""


@keys_.command(name="create")
@click.option("--institution", "code", required=True, help="Code of the institution that the key works for.")
@click.option("--name", required=True, help="What the key is for, so that it can be told from others.")
@click.option(
    "--scope", "scopes", type=SCOPES, multiple=True, required=True, help="May be repeated; none includes another."
)
@click.option("--expires", type=click.DateTime(["%Y-%m-%d"]), help="Last day it works (UTC), as YYYY-MM-DD.")
def create_key(code: str, name: str, scopes: tuple[str, ...], expires: datetime | None) -> None:
    """Create a key and show it, this once.

    read: see what is the institution's own. write: change it, and ask for fit checks. admin: change the institution's
    own entry in the directory.
    """
    until = None if expires is None else expires.replace(hour=23, minute=59, second=59, tzinfo=UTC)
    if until is not None and until <= datetime.now(UTC):
        raise click.BadParameter("that day is over", param_hint="--expires")
    secret = keys.new_secret()
    with _engine() as engine:
        owner = _by_code(engine, code)
        with open_session(engine, owner.id) as session:
            keys.make(session, owner.id, name, scopes, secret, until)
            session.commit()
    click.echo("Keep this key; it is not shown again:", err=True)
    click.echo(secret.written)


@keys_.command(name="list")
@click.option("--institution", "code", required=True, help="Code of the institution.")
def list_keys(code: str) -> None:
    """List an institution's keys, the newest first. The secrets themselves are kept nowhere."""
    with _engine() as engine:
        found = _keys(engine, _by_code(engine, code))
    rows = [
        [key.prefix, key.name, ", ".join(key.scopes), _day(key.expires_at), key.last_used_on, _state(key)]
        for key in found
    ]
    headers = ["Begins tb_", "Name", "Scopes", "Until", "Last used", "State"]
    click.echo(tabulate(rows, headers) if rows else f"{code} has no keys.")


@keys_.command(name="revoke")
@click.argument("prefix")
@click.option("--institution", "code", required=True, help="Code of the institution.")
def revoke_key(prefix: str, code: str) -> None:
    """End a key at once. PREFIX is what follows tb_ in it, as `keys list` shows it."""
    with _engine() as engine:
        owner = _by_code(engine, code)
        prefix = prefix.removeprefix("tb_")
        key = next((key for key in _keys(engine, owner) if key.prefix == prefix), None)
        if key is None:
            raise NotFound(f"key of {code} beginning with", f"tb_{prefix}")
        if key.revoked_at is None:
            with open_session(engine, owner.id) as session:
                keys.revoke(session, owner.id, key.id, key.version, datetime.now(UTC))
                session.commit()
    click.echo(f"The key tb_{prefix}… ({key.name}) opens nothing any more.")


@contextmanager
def _database(settings: Settings) -> Iterator[str]:
    """The URL of the database to work on; a private one runs for as long as the block."""
    if settings.database_url is not None:
        yield settings.database_url
        return
    with embedded.running(settings.data_folder) as url:
        yield url


@contextmanager
def _engine() -> Iterator[Engine]:
    settings = read_settings()
    with _database(settings) as url:
        migrate.check(url)
        own_login = settings.app_database_url is not None
        engine = app_engine(settings.app_database_url or url, own_login=own_login, pool_size=1)
        try:
            yield engine
        finally:
            engine.dispose()


def _by_code(engine: Engine, code: str) -> Institution:
    with open_session(engine, ANONYMOUS) as session:
        return institutions.by_code(session, code)


def _keys(engine: Engine, owner: Institution) -> list[Key]:
    with open_session(engine, owner.id) as session:
        return list(keys.page(session, owner.id, None, MOST_KEYS).items)


def _day(moment: datetime | None) -> str:
    return "" if moment is None else moment.date().isoformat()


def _state(key: Key) -> str:
    if key.revoked_at is not None:
        return f"revoked {_day(key.revoked_at)}"
    return "expired" if key.expires_at is not None and key.expires_at <= datetime.now(UTC) else "good"


@contextmanager
def _step(what: str) -> Iterator[None]:
    """Say what is being done, and how long it took."""
    click.echo(f"{what} ... ", nl=False, err=True)
    begun = time.perf_counter()
    try:
        yield
    except Exception:
        click.echo("failed", err=True)
        raise
    click.echo(f"{time.perf_counter() - begun:.1f} s", err=True)


def _demo_key(engine: Engine, loaded: Scenario, file: Path) -> str:
    """The demo's key: kept in a file beside the data that only its owner reads, so that it outlives the run."""
    if file.exists() and scenario.key_is_good(engine, loaded.receiver, kept := file.read_text().strip()):
        return kept
    key = scenario.new_key(engine, loaded.receiver)
    with open(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as stream:
        stream.write(f"{key}\n")
    return key


def _table(loaded: Scenario) -> str:
    asked = loaded.fit_check
    return fit_table(
        asked.answer,
        consignment=asked.inputs.consignment,
        sender=asked.inputs.sender,
        system=asked.inputs.system,
        revision=str(asked.revision_number),
        checked_on=asked.created_at.date(),
        lines=asked.inputs.lines,
    )


def _serve_demo(url: str, loaded: Scenario, key: str, port: int) -> None:
    address = f"http://127.0.0.1:{port}"
    check = f"{address}/v1/fit-checks/{loaded.fit_check.id}"

    def announce() -> None:
        click.echo(
            f"\nServing {address}/ (reference); Ctrl-C stops. The same check from another terminal:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' {check}\n\n"
            "Add -H 'Accept: text/plain' for the table, or ask for a drawing to scale:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' {check}/lines/1/drawing -o line-1.svg\n"
        )

    environment = {"DATABASE_URL": url, "APP_DATABASE_URL": "", "TRAYBRIDGE_LOGS": "plain"}
    run_server(environment, host="127.0.0.1", port=port, workers=1, threads=4, when_ready=announce)


if __name__ == "__main__":
    main(prog_name="traybridge")
