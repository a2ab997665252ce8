"""The main job on the invented scenario."""

from pathlib import Path

import click


@click.command()
@click.option("--once", is_flag=True, help="Stop after the table.")
@click.option(
    "--data",
    type=click.Path(path_type=Path),
    help="Folder for the demo's database, kept between runs.  [.traybridge/demo]",
)
@click.option("--port", default=8080, show_default=True, type=click.IntRange(1, 65535), help="Port to listen on.")
def demo(once: bool, data: Path | None, port: int) -> None:
    """Run the main job on an invented scenario, then serve it.

    Starts a private PostgreSQL, loads three institutions and a donation on the first run, prints the fit check of the
    donation, and serves until Ctrl-C. DATABASE_URL plays no part.
    """
    # The arithmetic takes a second to load, and no other command should wait for it.
    from service.commands.demo_run import run

    run(once=once, data=data, port=port)
