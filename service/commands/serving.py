"""Serving, and bringing the database up to date for it."""

import click

from service.commands.databases import database
from service.serving import require_free
from service.serving import serve as run_server
from service.settings import read_settings
from service.store import migrate
from service.store.session import app_engine


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
@click.option("--workers", default=2, show_default=True, type=click.IntRange(1, 64), help="Processes.")
@click.option("--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Threads of each process.")
def serve(host: str, port: int, workers: int, threads: int) -> None:
    """Serve the interface until Ctrl-C.

    A database named by DATABASE_URL has to be migrated first (traybridge migrate); the private one is migrated on the
    way. Who calls needs a key (traybridge keys create).

    \b
    Besides DATABASE_URL and TRAYBRIDGE_DATA the environment may set:
      APP_DATABASE_URL                 the same database by the service's own login
      TRAYBRIDGE_LOGS                  plain, for logs to be read by people  [json]
      TRAYBRIDGE_STATEMENT_TIMEOUT_MS  longest time of one statement  [30000]
      TRAYBRIDGE_LOCK_TIMEOUT_MS       longest wait for a row that another changes  [5000]
      TRAYBRIDGE_QUESTIONS_PER_MINUTE  of one address without a key, to one process  [60]
      TRAYBRIDGE_PROXIES               proxies that add to X-Forwarded-For  [none]
      TRAYBRIDGE_ALLOWED_NETWORKS      private networks where webhooks may be called  [none]
    """
    require_free(host, port)
    settings = read_settings()
    with database(settings) as url:
        if settings.database_url is None:
            migrate.upgrade(url)
            catch_up(url)
        migrate.check(url)
        environment = {"DATABASE_URL": url, "TRAYBRIDGE_POOL_SIZE": str(threads)}
        address = f"http://{host}:{port}/"
        click.echo(f"Serving {address}; Ctrl-C stops.", err=True)
        code = run_server(environment, host=host, port=port, workers=workers, threads=threads)
    raise SystemExit(code)


@click.command(name="migrate")
def migrate_database() -> None:
    """Bring the database up to what this version needs.

    That is the database that DATABASE_URL names, or else the private one. Safe to run again, and from several
    machines at once. Back up first, as before any new version.
    """
    with database(read_settings()) as url:
        before = migrate.current(url)
        migrate.upgrade(url)
        catch_up(url)
        after = migrate.current(url)
    click.echo(f"The database is at {after}." if before == after else f"From {before or 'empty'} to {after}.")


def catch_up(url: str) -> None:
    """Let the searches of this version find what was published under an earlier one."""
    from service.actions.standards import catch_up_with_search

    engine = app_engine(url, pool_size=1)
    catch_up_with_search(engine)
    engine.dispose()


@click.command()
def openapi() -> None:
    """Print the OpenAPI document (YAML)."""
    from service.app import document

    api = document()
    api.complete()
    click.echo(api.as_yaml(), nl=False)
