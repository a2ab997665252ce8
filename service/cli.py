"""The `traybridge` command: what an operator does at a terminal."""

import signal
from types import FrameType

import click
from sqlalchemy.exc import OperationalError

from service import __version__
from service.commands import arrangement, demo, housing, institutions, keys, ledger, serving, tidy, worker
from service.core.errors import TraybridgeError
from service.serving import CannotServe
from service.settings import SettingsError
from service.store.embedded import EmbeddedServerError
from service.store.migrate import MigrationError
from service.store.session import NotFenced

EXPECTED = (SettingsError, EmbeddedServerError, MigrationError, CannotServe, NotFenced, TraybridgeError)


class Sentences(click.Group):
    """Turns what can be expected to go wrong into one sentence and an exit code of 1."""

    def invoke(self, ctx: click.Context) -> object:
        _tidy_up_when_told_to_stop()
        try:
            return super().invoke(ctx)
        except EXPECTED as error:
            raise click.ClickException(str(error)) from error
        except OperationalError as error:
            raise click.ClickException(f"The database cannot be reached: {_first_line(error)}") from error


def _tidy_up_when_told_to_stop() -> None:
    """Let a signal to stop, or a terminal that is shut, end the private PostgreSQL with us, as Ctrl-C does."""
    for name in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, _stop)


def _stop(number: int, _frame: FrameType | None) -> None:
    raise SystemExit(128 + number)


def _first_line(error: OperationalError) -> str:
    return str(error.orig).strip().splitlines()[0]


@click.group(cls=Sentences)
@click.version_option(__version__, prog_name="traybridge")
def main() -> None:
    """Will this consignment of pinned insects fit our storage system?

    Traybridge keeps its data in the PostgreSQL that DATABASE_URL names; without it, in a private one that it starts
    by itself in the folder .traybridge (TRAYBRIDGE_DATA chooses another).

    \b
    To look around:  traybridge demo
    To begin:        traybridge migrate
                     traybridge institutions add CODE NAME
                     traybridge keys create --institution CODE --name WHATFOR --scope read --scope write
                     traybridge serve
    """


for command in (
    serving.serve,
    worker.worker,
    demo.demo,
    serving.migrate_database,
    institutions.institutions_,
    keys.keys_,
    ledger.ledger,
    tidy.tidy,
    housing.housing,
    arrangement.arrangement,
    serving.openapi,
):
    main.add_command(command)

if __name__ == "__main__":
    main(prog_name="traybridge")
