"""What `traybridge demo` does, step by step."""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import click
from sqlalchemy import Engine

from service.commands.serving import catch_up
from service.core.care.cautions import handling_cautions
from service.demo import arrangement, housing, papers, scenario
from service.demo.loans import desk_in_words
from service.demo.scenario import Scenario
from service.paper.fit_table import fit_table
from service.serving import require_free
from service.serving import serve as run_server
from service.settings import read_settings
from service.store import embedded, migrate
from service.store.session import app_engine
from service.working import Spending, workers_running


def run(*, once: bool, data: Path | None, port: int) -> None:
    """Load the scenario, print its fit check, and serve it unless ``once``.

    :raises CannotServe: when the port is not to be had.
    :raises EmbeddedServerError: when the private PostgreSQL cannot run in the folder.
    """
    if not once:
        require_free("127.0.0.1", port)
    folder = (data or _data_folder() / "demo").absolute()
    with _step("Starting the embedded PostgreSQL"):
        server = embedded.start(folder)
    try:
        with _step("Bringing its tables up to date"):
            migrate.upgrade(server.url)
            catch_up(server.url)
        engine = app_engine(server.url)
        with _step("Loading the scenario and checking the donation"):
            loaded = scenario.load(engine)
            key = _demo_key(engine, loaded, folder / "key")
            on_the_desk = desk_in_words(engine, loaded.receiver, datetime.now(UTC).date())
            in_the_box = papers.in_words(loaded.printed)
        engine.dispose()
        plans = f"{housing.in_words(loaded.housing_plan)}\n\n{arrangement.in_words(loaded.arrangement)}"
        click.echo(f"{_table(loaded)}\n{plans}\n\n{on_the_desk}\n\n{loaded.in_quarantine}\n\n{in_the_box}")
        if not once:
            _serve_demo(server.url, loaded, key, port)
    finally:
        server.stop()


def _data_folder() -> Path:
    """Where all private data goes; nothing else of the environment is the demo's business."""
    return read_settings({"TRAYBRIDGE_DATA": os.environ.get("TRAYBRIDGE_DATA", "")}).data_folder


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
        handling=handling_cautions(line.treatments_used for line in asked.inputs.lines),
    )


def _serve_demo(url: str, loaded: Scenario, key: str, port: int) -> None:
    address = f"http://127.0.0.1:{port}"
    check = f"{address}/v1/fit-checks/{loaded.fit_check.id}"
    plan = f"{address}/v1/housing-plans/{loaded.housing_plan.id}"
    arranged = f"{address}/v1/arrangement-plans/{loaded.arrangement.id}"
    agreement = loaded.printed.papers[0]
    paper = f"{address}/v1/transfers/{agreement.transfer_id}/papers/{agreement.id}"

    def announce() -> None:
        click.echo(
            f"\nServing {address}/ (reference); Ctrl-C stops. Before you build a drawer, ask who would take it:\n\n"
            f"  {address}/build?width=19+1/4+in&depth=16+1/2+in&height=3+in\n\n"
            "The same check from another terminal:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' {check}\n\n"
            "Add -H 'Accept: text/plain' for the table, or ask for a drawing to scale:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' {check}/lines/1/drawing -o line-1.svg\n"
            f"  curl -H 'Authorization: Bearer {key}' {plan}/drawers/1/drawing -o drawer-1.svg\n\n"
            "Which tray to carry next among the beetles, as a sheet to tick:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' -H 'Accept: text/csv' {arranged}/walking-list\n\n"
            "What is overdue on the loans desk, and who holds what (Accept: text/csv for a spreadsheet):\n\n"
            f"  curl -H 'Authorization: Bearer {key}' '{address}/v1/desk?list=overdue'\n"
            f"  curl -H 'Authorization: Bearer {key}' '{address}/v1/custody/lots'\n\n"
            "What is in quarantine, and what is still missing until it may be placed:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' '{address}/v1/quarantines'\n\n"
            "A paper as PDF, and whether it still holds:\n\n"
            f"  curl -H 'Authorization: Bearer {key}' -H 'Accept: application/pdf' {paper} -o agreement.pdf\n"
            f"  curl -H 'Authorization: Bearer {key}' {address}/v1/papers/{agreement.check_code}\n\n"
            "What has happened so far, and where to go on from (POST /v1/webhooks to be called instead):\n\n"
            f"  curl -H 'Authorization: Bearer {key}' '{address}/v1/events?page_size=5'\n"
        )

    # What is set for a service in earnest does not count here; empty is not set.
    unset = dict.fromkeys((name for name in os.environ if name.startswith("TRAYBRIDGE_")), "")
    environment = {**unset, "DATABASE_URL": url, "APP_DATABASE_URL": "", "TRAYBRIDGE_LOGS": "plain"}
    # Whoever tries the demo has their receiver on the same machine.
    environment["TRAYBRIDGE_ALLOWED_NETWORKS"] = "127.0.0.0/8"
    with workers_running(environment, 1, Spending(stop_within=2)):
        run_server(environment, host="127.0.0.1", port=port, workers=1, threads=4, when_ready=announce)
