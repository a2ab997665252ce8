"""The ways in which a line may come in, each with what the rules say of it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.core.consignment import Container
from service.core.fit.answer import TrayFit
from service.core.fit.box_on_shelf import no_shelf, places_left
from service.core.fit.case import Case
from service.core.fit.findings import SEVERITY, Finding, Outcome, Verdict, worst
from service.core.fit.room_in_cabinets import room_left
from service.core.fit.rules import Findings, Rules
from service.core.fit.tray_in_drawer import tray_fit
from service.core.measure.lengths import written_mm
from service.core.standards import BoxShelf, Cabinet, DrawerStandard

#: A reason is one to read: a museum with forty kinds of cabinet gets the first few misses and a count.
MOST_OTHERS_TOLD = 3

_PUBLISHED = "What the receiver has published."
_STATED = "What the sender has stated."


@dataclass(frozen=True, slots=True)
class Route:
    """One way in. Its ``status`` is the worst of what decides, so no route is better than its worst rule."""

    verdict: Verdict
    findings: Findings
    cabinet: Cabinet | None = None
    drawer: str | None = None
    turned: bool = False
    tray_fits: tuple[TrayFit, ...] = ()

    @property
    def status(self) -> Outcome:
        return status_of(self.findings)

    @property
    def missing(self) -> tuple[str, ...]:
        """What to ask for before this way in can be decided."""
        asked = (field for finding in self.findings if finding.deciding for field in finding.missing)
        return tuple(dict.fromkeys(asked))


@dataclass(frozen=True, slots=True)
class Attempt:
    """One thing of the receiver's, tried one way round."""

    into: Cabinet | BoxShelf | DrawerStandard
    findings: Findings
    turned: bool = False
    holds: int = 0

    @property
    def status(self) -> Outcome:
        return status_of(self.findings)

    @property
    def margin_nm(self) -> int:
        """The tightest margin of all that decides."""
        margins = [finding.margin_nm for finding in self.findings if finding.deciding]
        return min((margin for margin in margins if margin is not None), default=0)


def status_of(findings: Findings) -> Outcome:
    return worst([finding.outcome for finding in findings if finding.deciding])


def routes(case: Case, rules: Rules) -> Iterator[Route]:
    """The ways in, from the least work to the most, worked out only as far as they are asked for."""
    if case.line.container is Container.DRAWER:
        yield drawers_as_they_are(case, rules)
    elif case.line.container is Container.STORAGE_BOX:
        yield boxes_as_they_are(case, rules)
    yield by_the_tray(case, rules)


def drawers_as_they_are(case: Case, rules: Rules) -> Route:
    """The drawers themselves, in whichever cabinet serves best."""
    own = _line_findings(case, rules)
    if not case.system.cabinets:
        none = Finding("drawer_in_cabinet", Outcome.FAIL, "No cabinet for drawers is published.", _PUBLISHED)
        return Route(Verdict.AS_IT_IS, _on(Verdict.AS_IT_IS, (none, *own)))
    tried = [
        _better_way_round(
            Attempt(cabinet, tuple(f for rule in rules.in_a_cabinet for f in rule(case, cabinet, turned)), turned)
            for turned in (False, True)
        )
        for cabinet in case.system.cabinets
    ]
    best = _best(tried)
    cabinet = next(cabinet for cabinet in case.system.cabinets if cabinet is best.into)
    findings = (*_with_the_others(best, tried), *room_left(case, cabinet), *own)
    return Route(Verdict.AS_IT_IS, _on(Verdict.AS_IT_IS, findings), cabinet, turned=best.turned)


def boxes_as_they_are(case: Case, rules: Rules) -> Route:
    """The boxes themselves, on whichever shelf serves best."""
    own = _line_findings(case, rules)
    if not case.system.box_shelves:
        return Route(Verdict.AS_IT_IS, _on(Verdict.AS_IT_IS, (*no_shelf(case), *own)))
    tried = [
        _better_way_round(
            Attempt(shelf, tuple(f for rule in rules.on_a_shelf for f in rule(case, shelf, turned)), turned)
            for turned in (False, True)
        )
        for shelf in case.system.box_shelves
    ]
    best = _best(tried)
    shelf = next(shelf for shelf in case.system.box_shelves if shelf is best.into)
    findings = (*_with_the_others(best, tried), *places_left(case, shelf), *own)
    return Route(Verdict.AS_IT_IS, _on(Verdict.AS_IT_IS, findings), turned=best.turned)


def _line_findings(case: Case, rules: Rules) -> Findings:
    return tuple(finding for rule in rules.as_it_is for finding in rule(case))


def by_the_tray(case: Case, rules: Rules) -> Route:
    """The unit trays, each size in whichever of the receiver's drawers serves it best."""
    hindrance = _no_trays(case)
    if hindrance is not None:
        return Route(Verdict.BY_THE_TRAY, _on(Verdict.BY_THE_TRAY, (hindrance,)))
    findings, fits = list[Finding](), list[TrayFit]()
    for lot in range(len(case.tray_lots)):
        tried = [_trays_in(case, rules, lot, drawer) for drawer in case.system.drawers]
        best = _best(tried)
        findings += _with_the_others(best, tried)
        fit = next(tray_fit(case, lot, drawer) for drawer in case.system.drawers if drawer is best.into)
        fits += [fit] if fit else []
    findings += (finding for rule in rules.by_the_tray for finding in rule(case))
    drawer = fits[0].drawer if fits else None
    return Route(Verdict.BY_THE_TRAY, _on(Verdict.BY_THE_TRAY, tuple(findings)), drawer=drawer, tray_fits=tuple(fits))


def _no_trays(case: Case) -> Finding | None:
    """Why there is nothing to move over, or nothing to move it into."""
    trays = case.line.trays_to_move()
    if trays is None:
        reason = "Nobody has stated whether there are unit trays inside, and of which sizes."
        return Finding("unit_trays", Outcome.UNKNOWN, reason, _STATED, missing=(case.asks("trays"),))
    if not trays:
        reason = "There are no unit trays to move over: the pins stand in the container itself."
        return Finding("unit_trays", Outcome.FAIL, reason, _STATED)
    if not case.system.drawers:
        return Finding("unit_trays", Outcome.FAIL, "No drawer to take trays is published.", _PUBLISHED)
    return None


def _trays_in(case: Case, rules: Rules, lot: int, drawer: DrawerStandard) -> Attempt:
    fit = tray_fit(case, lot, drawer)
    findings = tuple(finding for rule in rules.in_a_drawer for finding in rule(case, lot, drawer))
    return Attempt(drawer, findings, holds=fit.usable_per_drawer if fit else 0)


def _better_way_round(ways: Iterator[Attempt]) -> Attempt:
    """The way round with the better outcome; of two that fail, the nearer miss; and else the plain way."""
    return min(ways, key=lambda way: (SEVERITY[way.status], -way.margin_nm if way.status is Outcome.FAIL else 0))


def _best(tried: list[Attempt]) -> Attempt:
    """The best outcome; then the one that holds most, the largest margin, and what is listed first."""
    return min(tried, key=lambda attempt: (SEVERITY[attempt.status], -attempt.holds, -attempt.margin_nm))


def _with_the_others(best: Attempt, tried: list[Attempt]) -> Findings:
    """The findings on the best; where it fails all the same, one sentence more on what else was tried."""
    others = [attempt for attempt in tried if attempt is not best]
    if best.status is not Outcome.FAIL or not others:
        return best.findings
    misses = "; ".join(f"“{other.into.name}” {_miss(other)}" for other in others[:MOST_OTHERS_TOLD])
    if len(others) > MOST_OTHERS_TOLD:
        misses += f"; nor do {len(others) - MOST_OTHERS_TOLD} more"
    first = next(index for index, finding in enumerate(best.findings) if finding.outcome is Outcome.FAIL)
    told = replace(
        best.findings[first], reason=f"{best.findings[first].reason} Nothing else serves either: {misses}."
    )
    return (*best.findings[:first], told, *best.findings[first + 1 :])


def _miss(attempt: Attempt) -> str:
    if attempt.margin_nm < 0:
        return f"misses by {written_mm(-attempt.margin_nm)}"
    failed = next(finding.rule for finding in attempt.findings if finding.outcome is Outcome.FAIL)
    return f"fails on {failed.replace('_', ' ')}"


def _on(verdict: Verdict, findings: Findings) -> Findings:
    return tuple(replace(finding, route=verdict) for finding in findings)
