"""Working through what takes longer than a request may."""

import signal
import threading

import click

from service.commands.databases import database
from service.serving import STOPPING
from service.settings import read_settings
from service.store import migrate
from service.working import Spending, workers_running

_USUAL = Spending()


@click.command()
@click.option("--processes", default=2, show_default=True, type=click.IntRange(1, 64), help="As many as processors.")
@click.option(
    "--seconds",
    default=_USUAL.seconds,
    show_default=True,
    type=click.IntRange(1, 86_400),
    help="Longest time of one operation; then the best that it has so far is taken.",
)
@click.option(
    "--memory",
    default=_USUAL.memory_mib,
    show_default=True,
    type=click.IntRange(256, 65_536),
    help="Most memory of one operation, in MiB.",
)
@click.option(
    "--lost-after",
    default=_USUAL.lost_after,
    show_default=True,
    type=click.FloatRange(1, 3_600),
    help="Seconds without a sign of life after which a worker's operation is taken up by another.",
)
@click.option(
    "--stop-within",
    default=_USUAL.stop_within,
    show_default=True,
    type=click.FloatRange(0, 3_600),
    help="Seconds that an operation has to end when the worker is told to stop; else it goes back into the queue.",
)
def worker(processes: int, seconds: int, memory: int, lost_after: float, stop_within: float) -> None:
    """Work through long operations, such as large housing plans, until Ctrl-C.

    Run any number of workers, on as many machines as you like, beside the service and on the same database. A worker
    that dies loses nothing: its operation is taken up by another.
    """
    settings = read_settings()
    with database(settings) as url:
        if settings.database_url is None:
            migrate.upgrade(url)
        migrate.check(url)
        told_to_stop = threading.Event()
        for name in STOPPING:
            signal.signal(name, lambda *_: told_to_stop.set())
        spending = Spending(seconds, memory, lost_after, stop_within)
        with workers_running({"DATABASE_URL": url}, processes, spending) as workers:
            click.echo("Working; Ctrl-C stops.", err=True)
            while not told_to_stop.is_set():
                workers.look_after()
