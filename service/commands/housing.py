"""Housing plans at a terminal, without a database."""

import re
from decimal import Decimal
from pathlib import Path

import click

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_OFFER = re.compile(r"(.+)=([1-9][0-9]{0,2})")


class TrayOffered(click.ParamType[tuple[str, int]]):
    """A size of tray and how many specimens go into one, as CODE=COUNT."""

    name = "CODE=COUNT"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, int]:
        found = _OFFER.fullmatch(str(value))
        if found is None:
            self.fail(f"“{value}” is no code with a count; write one such as half=30.", param, ctx)
        return found[1], int(found[2])


@click.group()
def housing() -> None:
    """Plan drawers for trays."""


@housing.command()
@click.argument("sheet", type=_FILE)
@click.option("--system", type=_FILE, required=True, help="A storage system's content (JSON), as a revision has it.")
@click.option("--tray", "offers", type=TrayOffered(), multiple=True, help="For taxa: a tray and what it holds.")
@click.option("--together", is_flag=True, help="For taxa: all trays of a taxon in one drawer.")
@click.option("--reserve", type=click.FloatRange(0, 90), help="Growth reserve in percent.  [the system's]")
@click.option("--play", metavar="LENGTH", help="Room beside each tray, such as 0.5 or '1/32 in'.  [the series']")
@click.option("--thorough", is_flag=True, help="Look many times as hard.")
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("housing-plan"),
    show_default=True,
    help="Folder for the table and the drawings.",
)
def plan(
    sheet: Path,
    system: Path,
    offers: tuple[tuple[str, int], ...],
    together: bool,
    reserve: float | None,
    play: str | None,
    thorough: bool,
    out: Path,
) -> None:
    """Plan the fewest drawers for the trays in SHEET (CSV).

    \b
    Its headings are either  code, count, width_mm, depth_mm, height_mm, label, may_turn, together
    or, with --tray,         taxon, specimens

    Prints the plan and writes it with a drawing of each layout, contact sheets and the faces of the cabinets. Ctrl-C
    ends the search and takes the best plan so far. No database is needed.
    """
    # The arithmetic takes a second to load, and no other command should wait for it.
    from service.commands.housing_run import Question, run

    percent = None if reserve is None else Decimal(str(reserve))
    run(Question(sheet, system, offers, together, percent, play, thorough, out))
