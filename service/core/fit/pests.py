"""What may come in with the containers. None of them is proof against pests, so quarantine follows every time."""

from service.core.consignment import PestSigns
from service.core.fit.case import Case
from service.core.fit.findings import Finding, Outcome
from service.core.handbook import PestResistance, pest_level, work_caution

_LEVELS = {
    PestResistance.RESISTANT: "resists pests, and does not keep them out for certain",
    PestResistance.PARTIAL: "keeps pests out in part",
    PestResistance.NONE: "does not keep pests out",
}
_STATED = "What the sender has stated."


def pests_rule(case: Case) -> tuple[Finding, ...]:
    """The container, the signs of pests, and quarantine. None of it decides a verdict."""
    return (_container(case), _signs(case), _quarantine(case))


def _container(case: Case) -> Finding:
    closure = case.line.closure
    if closure is None:
        reason = "Nobody has stated how the containers shut, so nothing can be said for them against pests."
        missing = (case.asks("closure"),)
        return Finding("pest_level", Outcome.UNKNOWN, reason, _STATED, missing=missing, deciding=False)
    level = pest_level(closure)
    outcome = Outcome.PASS if level.level is PestResistance.RESISTANT else Outcome.CAUTION
    reason = f"This container {_LEVELS[level.level]}. {level.reason}"
    return Finding("pest_level", outcome, reason, level.source, level.level.value, deciding=False, grade=level.grade)


def _signs(case: Case) -> Finding:
    signs, remedy = case.line.pest_signs, None
    missing = () if signs else (case.asks("pest_signs"),)
    if signs is None:
        outcome, reason = Outcome.UNKNOWN, "Nobody has stated whether anybody looked for pests."
    elif signs is PestSigns.LIVE:
        outcome = Outcome.CAUTION
        reason = "Live pests are in these containers. One opened drawer can infest a collection."
        remedy = "Keep them away from the collection: bag each container unopened and treat it first of all."
    elif signs is PestSigns.OLD_DAMAGE:
        outcome = Outcome.CAUTION
        reason = "There is old damage. Eggs and larvae may be alive where nothing moves."
        remedy = "Treat it as if pests were alive."
    else:
        outcome, reason = Outcome.PASS, "Somebody looked and saw no signs of pests. Eggs are easily overlooked."
    return Finding("pest_signs", outcome, reason, _STATED, remedy=remedy, missing=missing, deciding=False)


def _quarantine(case: Case) -> Finding:
    own, arrival = case.system.materials.quarantine, work_caution("freeze_on_arrival")
    reason = "Quarantine follows on arrival, whatever the container and whatever was seen."
    remedy = own or arrival.text
    source = "The receiver's own quarantine." if own else arrival.source
    return Finding("quarantine", Outcome.CAUTION, reason, source, remedy=remedy, deciding=False, grade=arrival.grade)
