"""Answers built by hand, the way the fit check would give them, for the papers to be drawn from."""

from decimal import Decimal

from service.core.consignment import Container, Line, Pins, TrayLot
from service.core.fit.answer import Cost, CostItem, FitAnswer, LineAnswer, Needed, TrayFit, VerdictCount
from service.core.fit.findings import Comparison, Finding, Outcome, Verdict
from service.core.housing.tiling import Place, Tiling
from service.core.materials import Bottom, PinningBottom
from service.core.measure.dimension import Dimension, Grade, KnownAs, Size
from service.core.standards import Cabinet, DrawerStandard, StorageSystem, Support, TraySeries, TrayStandard

NM = 1_000_000


def dim(mm: float, **more) -> Dimension:
    return Dimension(round(mm * NM), **more)


def size(width: float | None = None, depth: float | None = None, height: float | None = None) -> Size:
    return Size(*(None if side is None else dim(side) for side in (width, depth, height)))


def compared(what: str, value: float, limit: float) -> Comparison:
    value_nm, limit_nm = round(value * NM), round(limit * NM)
    return Comparison(what, value_nm, limit_nm, limit_nm - value_nm, dim(value), dim(limit))


def rows_of(columns: int, rows: int, width: float, depth: float, play: float = 0.0) -> tuple[Place, ...]:
    """Equal trays in columns and rows from the front left corner, ``play`` between neighbours."""
    return tuple(
        Place(round(c * (width + play) * NM), round(r * (depth + play) * NM), round(width * NM), round(depth * NM))
        for c in range(columns)
        for r in range(rows)
    )


def tray_fit(columns: int, rows: int, width: float, depth: float, usable: int, play: float = 0.0, **more) -> TrayFit:
    places = rows_of(columns, rows, width, depth, play)
    lot = TrayLot(more.pop("count", 40), size(width, depth, 43), **more)
    return TrayFit(lot, "D1", Tiling(len(places), len(places), places, 1234), usable, 3)


FOAM = PinningBottom(Bottom.POLYETHYLENE_FOAM, dim(6))
LINED = PinningBottom(Bottom.CORK, dim(7.9375))

SYSTEM = StorageSystem(
    cabinets=(
        Cabinet(
            code="C1",
            name="Steel cabinet, west room",
            count=12,
            opening=size(419.1, 482.6, 2063.75),
            pitch=dim(82.55),
            support=Support.SIDE_RUNNERS,
            runner_ledge=dim(9.5),
            runners_removable=True,
        ),
    ),
    drawers=(
        DrawerStandard(
            "D1", "House drawer", outer=size(419.1, 482.6, 76.2), inner=size(393.7, 457.2, 50.8), lining=LINED
        ),
    ),
    tray_series=(
        TraySeries("S", "House trays", (TrayStandard("T1", "Single", size(95, 110, 43), bottom=FOAM),), NM // 2),
    ),
    lid_air_gap_nm=3 * NM,
)

PINS = Pins(length=dim(38), depth=dim(6))


def drawer_line(width=418.0, depth=481.0, height=76.2, **more) -> Line:
    facts = {"count": 24, "description": "Moths of the coast", "lining": LINED, "pins": PINS, "trays": ()}
    return Line(Container.DRAWER, outer=size(width, depth, height), inner=size(392, 455, 50.8), **(facts | more))


def line_answer(verdict: Verdict, *findings: Finding, **more) -> LineAnswer:
    facts = {"line": 1, "container": Container.DRAWER, "count": 24, "needed": Needed(), "cabinet": "C1"}
    return LineAnswer(verdict=verdict, findings=findings, **({"drawer": "D1"} | facts | more))


WIDE = Finding(
    "drawer_width",
    Outcome.FAIL,
    "The drawer is 422.3 mm wide and the opening 419.1 mm.",
    "House standard, revision 3",
    subject="C1",
    comparisons=(compared("outer width in the opening", 422.3, 419.1),),
    remedy="Plane 1.6 mm off each side, or house it by the tray.",
)
FITS = Finding(
    "drawer_depth",
    Outcome.PASS,
    "The drawer is 1.6 mm shorter than the opening.",
    "House standard, revision 3",
    subject="C1",
    comparisons=(compared("outer depth in the opening", 481, 482.6),),
)
PIN_CLEARS = Finding(
    "pins_under_lid",
    Outcome.CAUTION,
    "Heads stand 2.8 mm under the lid, and 3 mm is wanted.",
    "common practice, no source",
    comparisons=(compared("pin heads under the lid", 40.0, 42.8),),
    deciding=False,
    grade=Grade.FROM_MEMORY,
)
NO_PITCH = Finding(
    "drawer_height",
    Outcome.UNKNOWN,
    "Nobody has said how high the drawer is.",
    "House standard, revision 3",
    comparisons=(Comparison("outer height against the pitch", None, 82_550_000, None, None, dim(82.55)),),
    missing=("outer height of the drawer",),
)
REMEMBERED = Dimension(422_300_000, KnownAs.HANDBOOK, grade=Grade.FROM_MEMORY)

COST = Cost(
    items=(
        CostItem("drawers", Decimal(3), "drawer", Decimal("84.50"), Decimal("253.50")),
        CostItem("unit trays", Decimal(40), "tray", Decimal("2.4"), Decimal("96.0")),
        CostItem("pinning bottom", Decimal("0.42"), "m2", Decimal(18), Decimal("7.56"), "cut with 5 percent waste"),
        CostItem("work", Decimal("6.25"), "person-hour", None, None, "no rate is published"),
    ),
    person_hours=Decimal("6.25"),
    total=Decimal("357.06"),
    complete=False,
    currency="EUR",
)


def whole_answer() -> FitAnswer:
    lines = (
        line_answer(Verdict.AS_IT_IS, FITS, count=200),
        line_answer(Verdict.BY_THE_TRAY, FITS, WIDE, PIN_CLEARS, line=2),
        line_answer(Verdict.HOLD, NO_PITCH, line=3, count=7, otherwise=Verdict.RE_HOUSE, missing=NO_PITCH.missing),
    )
    counts = tuple(
        VerdictCount(verdict, 1, count)
        for verdict, count in ((Verdict.AS_IT_IS, 200), (Verdict.BY_THE_TRAY, 24), (Verdict.HOLD, 7))
    )
    needed = Needed(
        drawers=3,
        drawers_at_least=2,
        trays=0,
        trays_moved=40,
        specimens_moved=None,
        drawers_placed=200,
        bottom_sheet_mm2=420_000,
        cabinet_positions=203,
    )
    return FitAnswer(lines, counts, needed, COST, ("Two people carry a full drawer. Quarantine comes first.",))
