"""The main job on the invented scenario."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click
from sqlalchemy import Engine

from service.demo import scenario
from service.demo.scenario import Scenario
from service.paper.fit_table import fit_table
from service.serving import require_free
from service.serving import serve as run_server
from service.settings import Settings
from service.store import embedded, migrate
from service.store.session import app_engine


@click.command()
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
    folder = (data or Settings().data_folder / "demo").absolute()
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
