"""The whole answer to a fit check: a verdict for each line, and what housing the consignment takes."""

from dataclasses import dataclass
from decimal import Decimal

from service.core.consignment import Container, TrayLot
from service.core.fit.findings import Finding, Verdict
from service.core.housing.tiling import Tiling


@dataclass(frozen=True, slots=True)
class TrayFit:
    """How one size of incoming tray sits in the receiver's drawer.

    ``usable_per_drawer`` is what is left of ``tiling.count`` when the growth reserve is kept free; ``drawers`` is
    how many drawers this size takes by itself.
    """

    trays: TrayLot
    drawer: str
    tiling: Tiling
    usable_per_drawer: int
    drawers: int | None


@dataclass(frozen=True, slots=True)
class Needed:
    """What housing takes. ``None`` is not known; zero is none.

    ``drawers`` houses each size of tray by itself and is therefore at most this many; ``drawers_at_least`` follows
    from the area alone. Re-housing counts new trays in ``trays``; trays that move over are in ``trays_moved``.
    """

    drawers: int | None = 0
    drawers_at_least: int | None = 0
    trays: int | None = 0
    trays_moved: int | None = 0
    specimens_moved: int | None = 0
    drawers_placed: int | None = 0
    bottom_sheet_mm2: int | None = 0
    cabinet_positions: int | None = 0


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """What becomes of one line, and why.

    ``line`` counts from 1. ``otherwise`` is set with ``hold``: the verdict should each missing fact turn out badly.
    ``cabinet`` and ``drawer`` are the receiver's that served best, well enough or not; ``turned`` says that the
    container goes in with its front to the side. ``missing`` names what to ask the sender or to publish, in the
    words of the request, whose lists count from 0. ``like_line`` is an earlier line that says the same of its
    containers and has the same answer.
    """

    line: int
    container: Container
    count: int
    verdict: Verdict
    findings: tuple[Finding, ...]
    needed: Needed
    otherwise: Verdict | None = None
    cabinet: str | None = None
    drawer: str | None = None
    turned: bool = False
    tray_fits: tuple[TrayFit, ...] = ()
    missing: tuple[str, ...] = ()
    like_line: int | None = None

    @property
    def deciding(self) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.deciding)


@dataclass(frozen=True, slots=True)
class CostItem:
    """One row of the cost: ``amount`` is ``quantity`` times ``rate``; either may be unknown, and then it is too."""

    what: str
    quantity: Decimal | None
    unit: str
    rate: Decimal | None
    amount: Decimal | None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Cost:
    """``total`` adds up the amounts that are known; ``complete`` says whether that is all of them."""

    items: tuple[CostItem, ...]
    person_hours: Decimal | None
    total: Decimal
    complete: bool
    currency: str | None


@dataclass(frozen=True, slots=True)
class VerdictCount:
    verdict: Verdict
    lines: int
    containers: int


@dataclass(frozen=True, slots=True)
class FitAnswer:
    """The verdict on a consignment: how much of it goes which way, and what that takes."""

    lines: tuple[LineAnswer, ...]
    counts: tuple[VerdictCount, ...]
    needed: Needed
    cost: Cost
    cautions: tuple[str, ...] = ()
