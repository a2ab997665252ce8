"""What papers and parcels cost, and how that grows: PDFs of lists of 100 to 5,000 lines, plans of 10 to 500 boxes.

    python -m benchmarks papers [lines ...]

Beside each plan stands the number of parcels below which there is none, so that a quicker plan that wastes parcels is
seen to do so.
"""

import random
from collections.abc import Sequence
from datetime import date

import click
from tabulate import tabulate

from benchmarks.clock import growth_table, in_turn
from service.core.consignment import Container
from service.core.handbook.listed_taxa import listed_taxa
from service.core.papers.content import Content, PageSize, PaperKind
from service.core.papers.file import TransferFile
from service.core.papers.write import paper_of
from service.core.parcels.answer import ParcelPlan
from service.core.parcels.pieces import Holds, Piece
from service.core.parcels.plan import plan_parcels
from service.core.parcels.stock import Carrier, PackingBench, Room, StockBox
from service.core.transfers.lines import Line, Preparation, TypeStatus
from service.core.transfers.parties import Party, Person
from service.core.transfers.transfer import Ending, Transfer, TransferKind
from service.paper.pdf.printing import pdf_of
from service.paper.pdf.sheets import Imprint

LINES = (100, 1_000, 5_000)
BOXES = (10, 100, 500)
MM = 1_000_000
IMPRINT = Imprint(
    PageSize.A4, 7, "7K2M-90QX-4T8W-AVBN-C", "https://traybridge.example.org/v1/papers/7K2M-90QX-4T8W-AVBN-C",
    date(2026, 11, 25), "Marta Quillfeather",
)  # fmt: skip
CARRIER = Carrier("post", "Parcel post", 5_000, 500, 20_000, 1_000 * MM, 2_500 * MM)


def main(arguments: Sequence[str]) -> None:
    """Print both tables; ``arguments`` are numbers of lines in place of the usual ones."""
    lists = {count: a_list(count) for count in (map(int, arguments) if arguments else LINES)}
    seconds = in_turn({f"{n:,}": lambda content=content: pdf_of(content, IMPRINT) for n, content in lists.items()}, 3)
    click.echo(growth_table("PDF of a specimen list", ("lines", "ms"), seconds))
    click.echo(_parcels("the smallest cartons to make", ()))
    click.echo(_parcels("a stock of three cartons", stock()))


def a_list(count: int) -> Content:
    """A specimen list of so many lines, some of them with more to say than fits one row."""
    lines = tuple(
        Line(
            str(at),
            1 + at % 40,
            f"Carabus (Morphocarabus) monilis Fabricius, 1792 {at}" if at % 7 == 0 else f"Amara aenea {at}",
            preparation=Preparation.PINNED,
            type_status=TypeStatus.NOT_A_TYPE,
            catalogue_numbers=(f"AMB-{at:06d}",) if at % 2 else (),
            treatments_used=(),
        )
        for at in range(1, count + 1)
    )
    lender, borrower = Party("a", "Ambleford Museum", country="GB"), Party("k", "Kesselbrook", country="US")
    transfer = Transfer(
        "T", TransferKind.LOAN, Ending.COMES_BACK, lender, borrower, Person("Dr Ines Halloran"), "revision", lines
    )
    return paper_of(PaperKind.SPECIMEN_LIST, TransferFile("L-2026-014", transfer, (), {}, listed_taxa()))


def boxes(count: int) -> list[Piece]:
    """Storage boxes as a museum has them: a few sizes, some flat and some high, half a kilogram to two and a half."""
    rng = random.Random(count)  # noqa: S311 - the same boxes in every run
    return [
        Piece(
            f"box-{at}",
            Container.STORAGE_BOX,
            1,
            outer=_room(rng.choice((230, 300, 400, 450)), rng.choice((300, 330, 400)), rng.choice((65, 70, 100))),
            mass_g=rng.randint(500, 2_500),
            holds=Holds.PINNED,
            heavy_bodied=False,
            fumigants=(),
        )
        for at in range(count)
    ]


def stock() -> tuple[StockBox, ...]:
    inner = [_room(400, 500, 300), _room(600, 500, 300), _room(540, 540, 380)]
    return tuple(StockBox(f"c{at}", "Carton", room, room.grown(7 * MM), 800) for at, room in enumerate(inner))


def _room(width: int, depth: int, height: int) -> Room:
    return Room(width * MM, depth * MM, height * MM)


def _parcels(title: str, cartons: tuple[StockBox, ...]) -> str:
    bench = PackingBench(cartons=cartons)
    asked = {count: boxes(count) for count in BOXES}
    works = {
        f"{count}": lambda pieces=pieces: plan_parcels(pieces, bench, CARRIER) for count, pieces in asked.items()
    }
    seconds = in_turn(works, 3)
    plans = {count: plan_parcels(pieces, bench, CARRIER) for count, pieces in asked.items()}
    return f"{growth_table(f'Parcels: {title}', ('boxes', 'ms'), seconds)}\n{_beside_the_bound(plans)}\n"


def _beside_the_bound(plans: dict[int, ParcelPlan]) -> str:
    rows = [
        [count, len(plan.parcels), plan.at_least, f"{len(plan.parcels) / plan.at_least:.2f}", _filled(plan)]
        for count, plan in plans.items()
    ]
    return tabulate(rows, ["boxes", "parcels", "at least", "ratio", "of it filled"], colalign=("right",) * 5)


def _filled(plan: ParcelPlan) -> str:
    """How much of all parcels' volume is boxes; the rest is padding and walls."""
    inside = sum(placed.size.volume_nm3 for parcel in plan.parcels for placed in parcel.placed)
    return f"{inside / sum(parcel.outer.volume_nm3 for parcel in plan.parcels):.0%}"
