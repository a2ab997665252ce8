"""Do the sender's unit trays lie in the receiver's drawers, how many in each, and under the lid?"""

from fractions import Fraction

from service.core.consignment import TrayLot
from service.core.fit.answer import TrayFit
from service.core.fit.case import Case
from service.core.fit.comparing import (
    GEOMETRY,
    Side,
    Trial,
    in_both_units,
    missing_from,
    outcome_of_all,
    sentences,
)
from service.core.fit.findings import Finding, Outcome
from service.core.fit.floors import height_above_lining
from service.core.housing.tiling import Tiling, tile
from service.core.measure.dimension import Size
from service.core.measure.lengths import written_mm
from service.core.standards import DrawerStandard, StorageSystem, TraySeries, TrayStandard

SEARCH = "Exact search over the ways to lay equal trays side by side in the drawer."


def tray_in_drawer_rule(case: Case, lot: int, drawer: DrawerStandard) -> tuple[Finding, ...]:
    """One size of tray against one of the receiver's drawers: the plan, and the height."""
    return (_lies_flat(case, lot, drawer), _under_lid(case, lot, drawer))


def _lies_flat(case: Case, lot: int, drawer: DrawerStandard) -> Finding:
    """The plan: lengths that rule it out, lengths that are missing or from memory, and then the count."""
    trays = case.tray_lots[lot]
    series = series_for(case.system, trays)
    plain, turned = (_plan_trials(case, lot, drawer, turned=way) for way in (False, True))
    may_turn = series is None or series.may_turn
    trials = turned if may_turn and _margin(turned) > _margin(plain) else plain
    open_to_doubt = [trial for trial in trials if trial.outcome is Outcome.UNKNOWN]
    tiling, remedy = tiling_of(case.system, trays, drawer), None
    missing: tuple[str, ...] = ()
    if outcome_of_all(plain) is Outcome.FAIL and (not may_turn or outcome_of_all(turned) is Outcome.FAIL):
        outcome, reason, remedy = Outcome.FAIL, sentences(trials), _turned_instead(trays, drawer, case.system)
    elif tiling is None and not open_to_doubt:
        outcome, reason = Outcome.UNKNOWN, "These sizes cannot be a drawer and its trays: check their unit."
        missing = (case.asks_tray(lot, "outer.width"), case.asks_tray(lot, "outer.depth"))
    elif tiling is None or open_to_doubt:
        outcome, reason, missing = Outcome.UNKNOWN, sentences(open_to_doubt), missing_from(open_to_doubt)
    else:
        outcome, reason = _counted(case, lot, drawer, tiling)
    comparisons = tuple(trial.comparison for trial in trials)
    return Finding("tray_in_drawer", outcome, reason, SEARCH, tray_subject(lot, drawer), comparisons, remedy, missing)


def _margin(trials: tuple[Trial, ...]) -> int:
    """The tighter of two margins; a length that is missing says nothing for either way round."""
    margins = [trial.comparison.margin_nm for trial in trials]
    return min((margin for margin in margins if margin is not None), default=0)


def _counted(case: Case, lot: int, drawer: DrawerStandard, tiling: Tiling) -> tuple[Outcome, str]:
    trays = case.tray_lots[lot]
    if tiling.count == 0:
        inside = f"the “{drawer.name}”, which is {_size(drawer.inner)} inside"
        return Outcome.FAIL, f"With its play not one tray of {_size(trays.outer)} lies in {inside}."
    kept = _reserve_in_words(case.system, tiling)
    reason = f"{tiling.count} trays of {_size(trays.outer)} lie in one “{drawer.name}”{kept}."
    if same := same_as(case.system, trays):
        reason += f" It is your own “{same.name}”."
    series = series_for(case.system, trays)
    if series is None:
        return Outcome.CAUTION, f"{reason} No tray series is published: no play was allowed for, and trays may turn."
    if series.play_nm is None:
        return Outcome.CAUTION, f"{reason} No play is stated for “{series.name}”, so none was allowed for."
    return Outcome.PASS, reason


def _reserve_in_words(system: StorageSystem, tiling: Tiling) -> str:
    reserve = system.growth_reserve_percent
    if reserve is None:
        return "; nobody has stated a growth reserve"
    kept = usable(tiling.count, system)
    return f", {kept} of them with {reserve.normalize():f} % kept free for growth"


def _under_lid(case: Case, lot: int, drawer: DrawerStandard) -> Finding:
    height = case.tray_lots[lot].outer.height
    thing = Side(height, f"the height of the {case.tray_name(lot)}", case.asks_tray(lot, "outer.height"))
    trial = Trial(thing, height_above_lining(drawer), "height of the tray")
    excess_nm = -(trial.comparison.margin_nm or 0)
    return Finding(
        "tray_under_lid",
        trial.outcome,
        trial.sentence(),
        GEOMETRY,
        tray_subject(lot, drawer),
        (trial.comparison,),
        f"Cut {written_mm(excess_nm)} off the rims of the trays." if trial.outcome is Outcome.FAIL else None,
        missing_from([trial]),
    )


def tray_subject(lot: int, drawer: DrawerStandard) -> str:
    return f"tray size {lot + 1} in drawer {drawer.code}"


def _plan_trials(case: Case, lot: int, drawer: DrawerStandard, *, turned: bool) -> tuple[Trial, Trial]:
    """The two sides of the tray against the two sides of the drawer, for the figures of the answer."""
    name, outer = case.tray_name(lot), case.tray_lots[lot].outer
    sides = {
        axis: Side(getattr(outer, axis), f"the {axis} of the {name}", case.asks_tray(lot, f"outer.{axis}"))
        for axis in ("width", "depth")
    }
    across, along = ("depth", "width") if turned else ("width", "depth")
    return (
        Trial(sides[across], inner_side(drawer, "width"), "width of the tray"),
        Trial(sides[along], inner_side(drawer, "depth"), "depth of the tray"),
    )


def inner_side(drawer: DrawerStandard, axis: str) -> Side:
    """One inner length of one of the receiver's drawers."""
    field = f"system.drawers[{drawer.code}].inner.{axis}"
    return Side(getattr(drawer.inner, axis), f"the inner {axis} of the “{drawer.name}”", field)


def series_for(system: StorageSystem, trays: TrayLot) -> TraySeries | None:
    """The series whose play and turning hold for these trays: their own if they are the receiver's, or the first."""
    for series in system.tray_series:
        if any(_same_plan(tray.outer, trays.outer) for tray in series.trays):
            return series
    return next(iter(system.tray_series), None)


def same_as(system: StorageSystem, trays: TrayLot) -> TrayStandard | None:
    """The receiver's own tray that has this very size."""
    every = (tray for series in system.tray_series for tray in series.trays)
    return next((tray for tray in every if _same_plan(tray.outer, trays.outer)), None)


def _same_plan(ours: Size, theirs: Size) -> bool:
    """Whether two trays take the same place, whichever side either party calls the width."""
    sides, others = [ours.width, ours.depth], [theirs.width, theirs.depth]
    if None in sides or None in others:
        return False
    return sorted(side.value_nm for side in sides if side) == sorted(side.value_nm for side in others if side)


def tiling_of(system: StorageSystem, trays: TrayLot, drawer: DrawerStandard) -> Tiling | None:
    """The largest that the trays may be, laid in the smallest that the drawer may be; ``None`` if unknown."""
    return tiling_in(drawer, trays.outer, series_for(system, trays))


def tiling_in(drawer: DrawerStandard, outer: Size, series: TraySeries | None) -> Tiling | None:
    """Trays of one size laid with the play and the turning of a series; without one, no play and either way."""
    return _laid(outer, drawer, (series.play_nm or 0) if series else 0, may_turn=series is None or series.may_turn)


def _laid(outer: Size, drawer: DrawerStandard, play_nm: int, may_turn: bool) -> Tiling | None:
    inner = drawer.inner
    if not (outer.width and outer.depth and inner.width and inner.depth):
        return None
    drawer_nm, tray_nm = (
        (inner.width.smallest_nm, inner.depth.smallest_nm),
        (outer.width.largest_nm, outer.depth.largest_nm),
    )
    try:
        return tile(*drawer_nm, *tray_nm, play_nm, may_turn)
    except ValueError:  # the sizes are no sizes of a drawer and its trays: a slip of a unit, which nobody can lay out
        return None


def _turned_instead(trays: TrayLot, drawer: DrawerStandard, system: StorageSystem) -> str | None:
    series = series_for(system, trays)
    turned = _laid(trays.outer, drawer, (series.play_nm or 0) if series else 0, may_turn=True)
    if turned is None or turned.count == 0:
        return None
    return f"With the label to the side {turned.count} would lie in it; your tray series does not turn."


def usable(count: int, system: StorageSystem) -> int:
    """What is left of a drawer's trays when the growth reserve is kept free, whole trays only.

    One at least: where a single tray fills its drawer, no part of that drawer can be kept free.
    """
    reserve = system.growth_reserve_percent
    if reserve is None or count == 0:
        return count
    return max(1, int(count * (100 - Fraction(reserve)) // 100))


def tray_fit(case: Case, lot: int, drawer: DrawerStandard) -> TrayFit | None:
    """How these trays lie in the drawer and how many drawers they take; ``None`` where they cannot."""
    trays = case.tray_lots[lot]
    tiling = tiling_of(case.system, trays, drawer)
    if tiling is None or tiling.count == 0:
        return None
    each = usable(tiling.count, case.system)
    drawers = None if case.system.growth_reserve_percent is None else -(-trays.count // each)
    return TrayFit(trays, drawer.code, tiling, each, drawers)


def _size(size: Size) -> str:
    sides = (size.width, size.depth)
    return " × ".join(in_both_units(side.value_nm, side) if side else "?" for side in sides)
