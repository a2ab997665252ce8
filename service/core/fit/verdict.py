"""The verdict on one line: the way in with the least work that nothing speaks against."""

from collections.abc import Iterable
from dataclasses import dataclass

from service.core.fit.answer import LineAnswer
from service.core.fit.case import Case
from service.core.fit.findings import Outcome, Verdict
from service.core.fit.needed import Housing, housing_for
from service.core.fit.routes import Route, routes
from service.core.fit.rules import Findings, Rules


@dataclass(frozen=True, slots=True)
class Decision:
    """``route`` is the way in, or with ``hold`` the one that waits for a fact; re-housing needs none.

    ``otherwise`` is set with ``hold``: what becomes of the line if that way in turns out to be shut.
    """

    verdict: Verdict
    tried: tuple[Route, ...]
    route: Route | None = None
    otherwise: Verdict | None = None

    def on(self, verdict: Verdict) -> Route | None:
        """What came of one way in, if it was tried."""
        return next((route for route in self.tried if route.verdict is verdict), None)


def decide(ways_in: Iterable[Route]) -> Decision:
    """The first way in that is open; ``hold`` where one before it might be; re-housing where all are shut."""
    tried, held = list[Route](), None
    for route in ways_in:
        tried.append(route)
        status = route.status
        if status is Outcome.FAIL:
            continue
        if held is not None:
            otherwise = Verdict.RE_HOUSE if status is Outcome.UNKNOWN else route.verdict
            return Decision(Verdict.HOLD, tuple(tried), held, otherwise)
        if status is not Outcome.UNKNOWN:
            return Decision(route.verdict, tuple(tried), route)
        held = route
    if held is not None:
        return Decision(Verdict.HOLD, tuple(tried), held, Verdict.RE_HOUSE)
    return Decision(Verdict.RE_HOUSE, tuple(tried))


def answer_line(case: Case, rules: Rules) -> LineAnswer:
    """Everything that is to be said of one line."""
    decision = decide(routes(case, rules))
    housing = housing_for(case, decision.verdict, decision.route)
    as_it_is, by_the_tray = (decision.on(verdict) for verdict in (Verdict.AS_IT_IS, Verdict.BY_THE_TRAY))
    hold = decision.route if decision.verdict is Verdict.HOLD else None
    return LineAnswer(
        line=case.index + 1,
        container=case.line.container,
        count=case.line.count,
        verdict=decision.verdict,
        findings=_findings(case, decision, housing, rules),
        needed=housing.needed,
        otherwise=decision.otherwise,
        cabinet=as_it_is.cabinet.code if as_it_is and as_it_is.cabinet else None,
        drawer=housing.drawer or (by_the_tray.drawer if by_the_tray else None),
        turned=bool(as_it_is and as_it_is.turned),
        tray_fits=by_the_tray.tray_fits if by_the_tray else (),
        missing=hold.missing if hold else (),
    )


def _findings(case: Case, decision: Decision, housing: Housing, rules: Rules) -> Findings:
    """What was found on every way in that was tried, what decides first; then the advice."""
    on_routes = [finding for route in decision.tried for finding in route.findings]
    advice = [finding for rule in rules.advice for finding in rule(case)]
    return tuple(sorted((*on_routes, *housing.findings, *advice), key=lambda finding: not finding.deciding))
