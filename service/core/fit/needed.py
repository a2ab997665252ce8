"""What housing a line takes, once it is decided which way it goes."""

from dataclasses import dataclass
from fractions import Fraction

from service.core.fit.answer import Needed, TrayFit
from service.core.fit.case import Case
from service.core.fit.drawer_in_cabinet import positions_taken
from service.core.fit.findings import Finding, Outcome, Verdict
from service.core.fit.routes import Route
from service.core.fit.rules import Findings
from service.core.fit.slot import Slot
from service.core.fit.tray_in_drawer import tiling_in, usable
from service.core.handbook import figure
from service.core.measure.dimension import Grade, Size
from service.core.standards import DrawerStandard, StorageSystem, TrayStandard

SPECIMENS_PER_DRAWER = "specimens_per_drawer.planning"
_NM2_PER_MM2 = 10**12

UNKNOWN = Needed(None, None, None, None, None, None, None, None)
"""Of a line on hold nobody can say what it takes."""


@dataclass(frozen=True, slots=True)
class Housing:
    """What a line takes, in which of the receiver's drawers, and how that was reckoned."""

    needed: Needed
    drawer: str | None = None
    findings: Findings = ()


@dataclass(frozen=True, slots=True)
class NewTray:
    """The receiver's own tray that specimens are re-housed into, and how many lie in one of its drawers."""

    tray: TrayStandard
    drawer: DrawerStandard
    per_drawer: int


def housing_for(case: Case, verdict: Verdict, route: Route | None) -> Housing:
    if verdict is Verdict.AS_IT_IS and route is not None:
        return Housing(_as_it_is(case, route))
    if verdict is Verdict.BY_THE_TRAY and route is not None:
        return Housing(_by_the_tray(case, route.tray_fits), route.drawer)
    return _re_housed(case) if verdict is Verdict.RE_HOUSE else Housing(UNKNOWN)


def _as_it_is(case: Case, route: Route) -> Needed:
    """Drawers fill positions; boxes fill places on a shelf, which are no positions."""
    if route.cabinet is None:
        return Needed(drawers_placed=case.line.count)
    each = positions_taken(case.line, Slot.of(route.cabinet, case.system))
    positions = None if each is None else each * case.line.count
    return Needed(drawers_placed=case.line.count, cabinet_positions=positions)


def _by_the_tray(case: Case, fits: tuple[TrayFit, ...]) -> Needed:
    """Each size in drawers of its own. One of the receiver's drawers takes one position."""
    each = [fit.drawers for fit in fits]
    known = [drawers for drawers in each if drawers is not None]
    drawers = sum(known) if len(known) == len(each) else None
    return Needed(
        drawers=drawers,
        drawers_at_least=None if drawers is None else min(drawers, _at_least(case.system, fits)),
        trays_moved=sum(trays.count for trays in case.tray_lots),
        cabinet_positions=drawers,
    )


def _at_least(system: StorageSystem, fits: tuple[TrayFit, ...]) -> int:
    """What the area of the trays alone comes to, in the drawers that were chosen for them."""
    kept = 1 - Fraction(system.growth_reserve_percent or 0) / 100
    shares: dict[str, Fraction] = {}
    for fit in fits:
        drawer = system.drawer(fit.drawer)
        room_nm2 = _area_nm2(drawer.inner) if drawer else None
        tray_nm2 = _area_nm2(fit.trays.outer)
        if room_nm2 and tray_nm2 and kept > 0:
            shares[fit.drawer] = shares.get(fit.drawer, Fraction(0)) + fit.trays.count * tray_nm2 / (room_nm2 * kept)
    return sum(-(-share.numerator // share.denominator) for share in shares.values())


def _area_nm2(size: Size) -> Fraction | None:
    if size.width is None or size.depth is None:
        return None
    return Fraction(size.width.value_nm * size.depth.value_nm)


def _re_housed(case: Case) -> Housing:
    """New drawers for the number of specimens, new trays to fill them, and bottom sheet for the trays."""
    specimens, new = _specimens(case), new_tray(case.system)
    drawers = None if specimens is None else drawers_for_specimens(specimens, case.system)
    trays = None if drawers is None or new is None else drawers * new.per_drawer
    needed = Needed(
        drawers=drawers,
        drawers_at_least=drawers,
        trays=trays,
        specimens_moved=specimens,
        bottom_sheet_mm2=None if trays is None or new is None else _sheet_mm2(trays, new.tray),
        cabinet_positions=drawers,
    )
    return Housing(needed, new.drawer.code if new else None, (_reckoning(case, specimens, new),))


def _specimens(case: Case) -> int | None:
    """The specimens of the line, or of all its trays where only those were counted."""
    if case.line.specimens is not None or not case.line.trays:
        return case.line.specimens
    counts = [trays.specimens for trays in case.line.trays]
    known = [count for count in counts if count is not None]
    return sum(known) if len(known) == len(counts) else None


def drawers_for_specimens(specimens: int, system: StorageSystem) -> int | None:
    """How many drawers a number of specimens takes with the growth reserve kept; ``None`` where none is stated."""
    if system.growth_reserve_percent is None:
        return None
    each = specimens_per_drawer(system) * (100 - Fraction(system.growth_reserve_percent)) / 100
    return None if each <= 0 else -(-specimens * each.denominator // each.numerator)


def specimens_per_drawer(system: StorageSystem) -> Fraction:
    """The receiver's own density, or the handbook's."""
    own = system.rates.specimens_per_drawer
    return Fraction(figure(SPECIMENS_PER_DRAWER).value if own is None else own)


def new_tray(system: StorageSystem) -> NewTray | None:
    """The first of the receiver's trays that is known to lie in one of its drawers."""
    for series in system.tray_series:
        for tray in series.trays:
            for drawer in system.drawers:
                tiling = tiling_in(drawer, tray.outer, series)
                if tiling is not None and tiling.count:
                    return NewTray(tray, drawer, usable(tiling.count, system))
    return None


def _sheet_mm2(trays: int, tray: TrayStandard) -> int | None:
    area_nm2 = _area_nm2(tray.inner) or _area_nm2(tray.outer)
    return None if area_nm2 is None else -(-trays * area_nm2.numerator // (_NM2_PER_MM2 * area_nm2.denominator))


def _reckoning(case: Case, specimens: int | None, new: NewTray | None) -> Finding:
    """How the need was reckoned, and what is missing from it. It decides nothing."""
    own, density = case.system.rates.specimens_per_drawer, figure(SPECIMENS_PER_DRAWER)
    whose = "the receiver's own figure" if own is not None else "the handbook's planning figure"
    text = [f"Specimens are handled one by one, {float(specimens_per_drawer(case.system)):g} to a drawer ({whose})."]
    missing = [case.asks("specimens")] if specimens is None else []
    if case.system.growth_reserve_percent is None:
        missing.append("system.growth_reserve_percent")
    if new is None:
        text.append("No tray of the receiver's is known to lie in its drawers, so new trays cannot be counted.")
        missing.append("system.tray_series")
    else:
        text.append(f"{new.per_drawer} new trays “{new.tray.name}” go into each “{new.drawer.name}”.")
        if _area_nm2(new.tray.inner) is None:
            text.append("Their inner size is not published, so bottom sheet is reckoned from the outer.")
    if case.line.specimens is None and specimens is not None:
        text.append("The specimens were counted by their trays.")
    return Finding(
        "re_housing",
        Outcome.UNKNOWN if missing else Outcome.CAUTION,
        " ".join(text),
        density.source if own is None else "The receiver's own rates.",
        missing=tuple(missing),
        deciding=False,
        grade=density.grade if own is None else Grade.PUBLISHED,
        route=Verdict.RE_HOUSE,
    )


def wanted_in_all(needs: list[int | None]) -> int | None:
    """The sum of what is known; ``None`` only where nothing is."""
    known = [need for need in needs if need is not None]
    return sum(known) if known or not needs else None
