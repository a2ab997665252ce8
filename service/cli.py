"""The `traybridge` command: what an operator does at a terminal."""

import click
from sqlalchemy.exc import OperationalError

from service import __version__
from service.commands import demo, institutions, keys, serving
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


for command in (
    serving.serve,
    demo.demo,
    serving.migrate_database,
    institutions.institutions_,
    keys.keys_,
    serving.openapi,
):
    main.add_command(command)

if __name__ == "__main__":
    main(prog_name="traybridge")
