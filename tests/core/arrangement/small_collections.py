"""Collections small enough to read: drawers written as words, each letter and number a tray."""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from service.core.arrangement.inventory import (
    Cabinet,
    Drawer,
    DrawerStyle,
    Inventory,
    MovingRates,
    SystematicSequence,
    Taxon,
    Tray,
)
from service.core.arrangement.layout import laid_out
from service.core.arrangement.plan import ArrangementPlan, DrawerAfter, NewDrawer

MM = 1_000_000
#: Four trays of 100 by 100 mm in one column, two columns; with a reserve of half, one column.
TALL = DrawerStyle("tall", 200 * MM, 400 * MM)


def a_tray(key: str, width: int = 100, depth: int = 100, **more: object) -> Tray:
    """The taxon is the key's letters: the tray ``b2`` is the second of taxon b."""
    return Tray(key, key.rstrip("0123456789"), width * MM, depth * MM, **{"specimens": 10, **more})  # type: ignore[arg-type]


def collection(
    *drawers: str,
    style: DrawerStyle = TALL,
    reserve: int = 0,
    per_cabinet: int = 100,
    sizes: dict[str, tuple[int, int]] | None = None,
) -> Inventory:
    """One drawer for each word list; ``-`` is a position without a drawer. Cabinets are filled from the first."""
    cabinets = tuple(
        Cabinet(f"C{at + 1}", f"Cabinet {at + 1}", "room", per_cabinet, takes=(style.code,))
        for at in range((len(drawers) + per_cabinet - 1) // per_cabinet or 1)
    )
    standing, trays = [], list[Tray]()
    for at, written in enumerate(drawers):
        if written == "-":
            continue
        key = f"D{at + 1}"
        standing.append(Drawer(key, key, style, cabinets[at // per_cabinet].key, at % per_cabinet + 1))
        for place, tray in enumerate(written.split(), start=1):
            trays.append(replace(a_tray(tray, *(sizes or {}).get(tray, (100, 100))), drawer=key, place=place))
    taxa = dict.fromkeys(tray.taxon for tray in trays)
    return Inventory(
        cabinets,
        tuple(standing),
        tuple(trays),
        SystematicSequence(tuple(Taxon(name) for name in sorted(taxa))),
        reserve_percent=Decimal(reserve),
        rates=MovingRates(Decimal(120), Decimal(60), Decimal(30), "EUR"),
    )


def sequence(*names: str) -> SystematicSequence:
    return SystematicSequence(tuple(Taxon(name) for name in names))


def shown(after: Iterable[DrawerAfter]) -> dict[str, str]:
    return {each.drawer: " ".join(each.trays) for each in after}


def contents_after(inventory: Inventory, plan: ArrangementPlan, at: int = 0) -> dict[str, tuple[str, ...]]:
    """What stands in every drawer once an alternative is carried out, new drawers too."""
    alternative = plan.alternatives[at]
    before = {key: tuple(tray.key for tray in trays) for key, trays in inventory.trays_by_drawer.items()}
    return before | {each.drawer: each.trays for each in alternative.after}


def drawers_after(inventory: Inventory, plan: ArrangementPlan, at: int = 0) -> list[Drawer | NewDrawer]:
    """Drawers with a position in reading order, new ones among them."""
    both = [*inventory.drawers_read, *plan.alternatives[at].new_drawers]
    cabinets = [cabinet.key for cabinet in inventory.cabinets]
    return sorted(
        (drawer for drawer in both if drawer.cabinet is not None),
        key=lambda drawer: (cabinets.index(drawer.cabinet or ""), drawer.position or 0),
    )


def fits(inventory: Inventory, style: DrawerStyle, trays: Iterable[Tray], reserve: Decimal = Decimal(0)) -> bool:
    """Whether trays find room, by the layout that would be drawn, looked at place by place."""
    standing = list(trays)
    laid = laid_out(standing, style, reserve, inventory.reading_order, inventory.play_nm)
    if len(laid.places) != len(standing):
        return False
    boxes = [(p.x_nm, p.y_nm, p.x_nm + p.width_nm, p.y_nm + p.depth_nm) for p in laid.places]
    inside = all(
        x >= 0 and y >= 0 and r <= style.inner_width_nm and b <= style.inner_depth_nm for x, y, r, b in boxes
    )
    apart = all(
        a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1] for at, a in enumerate(boxes) for b in boxes[:at]
    )
    return inside and apart and laid.across <= laid.inside.across * (100 - reserve) / 100


@st.composite
def collections(draw: st.DrawFn) -> Inventory:
    """Up to eight drawers of mixed trays in order, some drawers empty or missing, some over their reserve."""
    written: list[str] = []
    sizes: dict[str, tuple[int, int]] = {}
    number = 0
    for _ in range(draw(st.integers(1, 8))):
        if draw(st.integers(0, 5)) == 0:
            written.append(draw(st.sampled_from(("", "-"))))
            continue
        here: list[str] = []
        room = draw(st.integers(1, 4))
        while room > 0:
            width, depth = draw(st.sampled_from(((100, 100), (100, 200), (200, 200), (100, 50))))
            key = f"{chr(97 + number // 3)}{number % 3}"
            here.append(key)
            sizes[key] = (width, depth)
            room -= 1
            number += 1
            trays = [a_tray(each, *sizes[each]) for each in here]
            if not fits(Inventory((), (), ()), TALL, trays):
                here.pop()
                number -= 1
                break
        written.append(" ".join(here))
    reserve = draw(st.sampled_from((0, 0, 25, 50)))
    return collection(*written, reserve=reserve, per_cabinet=draw(st.sampled_from((3, 100))), sizes=sizes)
