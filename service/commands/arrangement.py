"""Arrangement plans at a terminal, without a database."""

from decimal import Decimal
from pathlib import Path

import click

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.group()
def arrangement() -> None:
    """Plan what stands where, and the fewest hands to change it."""


@arrangement.command()
@click.argument("sheet", type=_FILE)
@click.option("--sequence", type=_FILE, help="Taxa in your own order (CSV): family, genus, species.")
@click.option("--alphabet", is_flag=True, help="Taxa follow the alphabet instead.")
@click.option("--empty", "cabinets", multiple=True, metavar="CABINET", help="Empty this cabinet.")
@click.option("--restore-reserve", is_flag=True, help="Give every drawer its growth reserve again.")
@click.option("--reserve", type=click.FloatRange(0, 90), required=True, help="Growth reserve in percent, be it 0.")
@click.option("--play", type=click.FloatRange(0, 100), default=0.0, help="Room beside each tray, in mm.")
@click.option("--rows", "by_rows", is_flag=True, help="Drawers are read row by row, not column by column.")
@click.option("--bench", type=click.IntRange(0, 1_000), default=0, help="Trays that may wait on a bench.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("arrangement-plan"),
    show_default=True,
    help="Folder for the walking lists.",
)
def plan(
    sheet: Path,
    sequence: Path | None,
    alphabet: bool,
    cabinets: tuple[str, ...],
    restore_reserve: bool,
    reserve: float,
    play: float,
    by_rows: bool,
    bench: int,
    out: Path,
) -> None:
    """Plan the fewest trays moved in the inventory in SHEET (CSV), and write walking lists.

    Its headings are those of the interface's inventory: room, cabinet, positions_per_column, drawer, position, style,
    inner_width_mm, inner_depth_mm, tray, place, taxon, specimens, width_mm, depth_mm and so on. Without --empty and
    --restore-reserve the trays of the sheet that stand in no drawer are taken in. No database is needed.
    """
    # The arithmetic takes a second to load, and no other command should wait for it.
    from service.commands.arrangement_run import Question, run

    percent = Decimal(str(reserve))
    run(Question(sheet, sequence, alphabet, cabinets, restore_reserve, percent, play, by_rows, bench, out))
