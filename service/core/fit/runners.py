"""Loose fit: do the runners carry a drawer that is narrower than its opening?"""

from service.core.fit.case import Case
from service.core.fit.comparing import GEOMETRY, Side
from service.core.fit.findings import Comparison, Finding, Outcome
from service.core.fit.slot import Slot, outer_side
from service.core.handbook import figure
from service.core.measure.dimension import Dimension
from service.core.measure.lengths import written_mm
from service.core.standards import Cabinet, Support

#: The most that cabinets commonly leave between a drawer and both walls.
SIDE_CLEARANCE = "cabinet.side_clearance_most"


def bearing_nm(ledge_nm: int, spare_nm: int) -> int:
    """What still rests on one runner of a drawer that is pushed against the opposite wall; zero or less: it drops."""
    return ledge_nm - spare_nm


def carried_rule(case: Case, cabinet: Cabinet, turned: bool) -> tuple[Finding, ...]:
    """Whether the runners carry a drawer that is narrower than the opening (“loose fit”)."""
    slot = Slot.of(cabinet, case.system)
    if cabinet.support is Support.SHELF:
        return (_carried(Outcome.PASS, slot, "A shelf carries a drawer of any width."),)
    across = "depth" if turned else "width"
    drawer = outer_side(case.line, across, case.asks(f"outer.{across}"))
    if drawer.dimension is None or slot.width() is None:
        # The plan rule has asked for these already; to answer here too would only repeat it.
        return (_carried(Outcome.UNKNOWN, slot, "How loose the drawer would sit cannot be told without its width."),)
    return (_on_runners(slot, drawer),)


def _on_runners(slot: Slot, drawer: Side) -> Finding:
    opening, ledge, usual = slot.width(), slot.cabinet.runner_ledge, figure(SIDE_CLEARANCE)
    if drawer.dimension is None or opening is None:
        raise ValueError("both widths must be known")
    # The worst for being carried is the other way about: the smallest drawer in the widest opening.
    spare_nm = max(0, opening.largest_nm - drawer.dimension.smallest_nm)
    if ledge is not None:
        return _bearing(slot, drawer, opening, ledge, spare_nm)
    comparison = Comparison("play against the usual side clearance", spare_nm, usual.nm, usual.nm - spare_nm)
    if spare_nm > usual.nm:
        reason = (
            f"With {written_mm(spare_nm)} of play the drawer may drop off its runners, and nobody has stated how far "
            "they stand out from the wall."
        )
        missing = tuple(slot.field(name) for name in _support_fields(slot.cabinet))
        return _carried(Outcome.UNKNOWN, slot, reason, (comparison,), battens(spare_nm), missing, usual.source)
    outcome, missing = _unless_remembered(Outcome.PASS, drawer.dimension, opening), _remembered_fields(slot, drawer)
    reason = f"Its play of {written_mm(spare_nm)} is no more than cabinets commonly leave ({written_mm(usual.nm)})."
    if outcome is Outcome.UNKNOWN:
        reason += " That rests on a figure from memory: measure it."
    return _carried(outcome, slot, reason, (comparison,), missing=missing, source=usual.source)


def _bearing(slot: Slot, drawer: Side, opening: Dimension, ledge: Dimension, spare_nm: int) -> Finding:
    margin_nm = bearing_nm(ledge.smallest_nm, spare_nm)
    comparison = Comparison("play against the runner", spare_nm, ledge.smallest_nm, margin_nm, None, ledge)
    outcome = _unless_remembered(Outcome.PASS if margin_nm > 0 else Outcome.FAIL, drawer.dimension, opening, ledge)
    play = f"Pushed against one wall the drawer has {written_mm(spare_nm)} of play"
    if margin_nm > 0:
        reason = f"{play}, and still rests on {written_mm(margin_nm)} of the opposite runner."
    else:
        reason = f"Loose fit: {play[:1].lower()}{play[1:]}, and a runner of {written_mm(ledge.smallest_nm)} drops it."
    missing = _remembered_fields(slot, drawer)
    if outcome is Outcome.UNKNOWN:
        reason += " That rests on a figure from memory: measure it."
    elif outcome is Outcome.FAIL and slot.cabinet.support is None:
        outcome, missing = Outcome.UNKNOWN, (slot.field("support"),)
        reason += " A shelf would carry it; nobody has stated which of the two this cabinet has."
    remedy = None if margin_nm > 0 else battens(spare_nm)
    return _carried(outcome, slot, reason, (comparison,), remedy, missing)


def battens(spare_nm: int) -> str:
    """What makes a narrow drawer as wide as its runners want it."""
    return f"Add {written_mm(spare_nm / 2)} battens to each side."


def _support_fields(cabinet: Cabinet) -> tuple[str, ...]:
    return ("support", "runner_ledge") if cabinet.support is None else ("runner_ledge",)


def _unless_remembered(outcome: Outcome, *dimensions: Dimension | None) -> Outcome:
    return Outcome.UNKNOWN if any(d and d.is_from_memory for d in dimensions) else outcome


def _remembered_fields(slot: Slot, drawer: Side) -> tuple[str, ...]:
    sides = (drawer, slot.width_side(), Side(slot.cabinet.runner_ledge, "", slot.field("runner_ledge")))
    return tuple(side.field for side in sides if side.dimension and side.dimension.is_from_memory)


def _carried(
    outcome: Outcome,
    slot: Slot,
    reason: str,
    comparisons: tuple[Comparison, ...] = (),
    remedy: str | None = None,
    missing: tuple[str, ...] = (),
    source: str = GEOMETRY,
) -> Finding:
    return Finding("drawer_on_runners", outcome, reason, source, slot.subject, comparisons, remedy, missing)
