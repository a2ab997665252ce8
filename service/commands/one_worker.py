"""One worker process, as `traybridge worker` starts it."""

import logging
import os

import click

from service.jobs.limits import Limits
from service.jobs.queue import Timing, work
from service.outside.calling import Caller
from service.settings import read_settings
from service.web.kit import logs


@click.command()
@click.option("--seconds", type=int, required=True)
@click.option("--memory", type=int, required=True)
@click.option("--lost-after", type=float, required=True)
@click.option("--stop-within", type=float, required=True)
def main(seconds: int, memory: int, lost_after: float, stop_within: float) -> None:
    """Work on the database that the environment names until told to stop."""
    logs.configure(as_json=os.environ.get("TRAYBRIDGE_LOGS", "json") == "json")
    # It has three lines to say of each job, of which there is one for each call to a webhook.
    logging.getLogger("procrastinate").setLevel(logging.WARNING)
    settings = read_settings()
    url = settings.app_database_url or settings.database_url
    if url is None:
        raise click.ClickException("DATABASE_URL names no database.")
    work(
        url,
        own_login=settings.app_database_url is not None,
        limits=Limits(seconds=seconds, memory_mib=memory),
        caller=Caller(settings.allowed_networks),
        timing=Timing(lost_after, stop_within),
    )


if __name__ == "__main__":
    main()
