"""The fit check: a consignment held against one storage system, rule by rule."""

from collections.abc import Iterator

from service.core.consignment import Line
from service.core.fit import bottom_and_treatment as bottoms
from service.core.fit import drawer_in_cabinet as drawers
from service.core.fit import pin_under_lid as pins
from service.core.fit.alike import answers_to
from service.core.fit.answer import FitAnswer, LineAnswer, VerdictCount
from service.core.fit.box_on_shelf import box_on_shelf_rule
from service.core.fit.case import Case
from service.core.fit.climate import climate_rule
from service.core.fit.cost import cost_of, needed_in_all
from service.core.fit.door import door_rule
from service.core.fit.findings import Verdict
from service.core.fit.pests import pests_rule
from service.core.fit.rules import Rules
from service.core.fit.runners import carried_rule
from service.core.fit.tolerance import tolerance_rule
from service.core.fit.tray_in_drawer import tray_in_drawer_rule
from service.core.fit.verdict import answer_line
from service.core.handbook import work_caution
from service.core.materials import Treatment
from service.core.standards import StorageSystem

#: Every rule of the check. A new family is a function of one of these kinds, added where it belongs.
RULES = Rules(
    in_a_cabinet=(drawers.plan_rule, carried_rule, drawers.height_rule, door_rule, tolerance_rule, climate_rule),
    on_a_shelf=(box_on_shelf_rule,),
    as_it_is=(pins.pins_in_own_container, bottoms.bottoms_of_containers),
    in_a_drawer=(tray_in_drawer_rule, pins.pins_in_receivers_drawer),
    by_the_tray=(bottoms.bottoms_of_trays,),
    advice=(pests_rule, pins.transit_rule, bottoms.pin_metal_rule, bottoms.safe_handling_rule),
)

LAST_WORD = "Local rules and licensed practice come before anything said here; nothing here says what is allowed."


def check(lines: tuple[Line, ...], system: StorageSystem) -> FitAnswer:
    """The verdict on each line and what the consignment takes. The same input always gives the same answer."""
    cases = tuple(Case(index, line, system) for index, line in enumerate(lines))
    answers = tuple(answers_to(cases, lambda case: answer_line(case, RULES)))
    return FitAnswer(
        lines=answers,
        counts=tuple(_count(verdict, answers) for verdict in Verdict),
        needed=needed_in_all(answers),
        cost=cost_of(answers, system.rates),
        cautions=(*_crowded(answers, system), *_cautions(cases, answers)) if answers else (),
    )


def _count(verdict: Verdict, answers: tuple[LineAnswer, ...]) -> VerdictCount:
    with_it = [answer for answer in answers if answer.verdict is verdict]
    return VerdictCount(verdict, len(with_it), sum(answer.count for answer in with_it))


def _crowded(answers: tuple[LineAnswer, ...], system: StorageSystem) -> Iterator[str]:
    """Lines that each find room by themselves may not find it together."""
    for cabinet in system.cabinets:
        there = [a for a in answers if a.cabinet == cabinet.code and a.verdict is Verdict.AS_IT_IS]
        wanted = sum(answer.needed.cabinet_positions or 0 for answer in there)
        if cabinet.free_positions is not None and wanted > cabinet.free_positions:
            yield (
                f"Together the lines want {wanted} positions of “{cabinet.name}”, of which "
                f"{cabinet.free_positions} are free."
            )


def _cautions(cases: tuple[Case, ...], answers: tuple[LineAnswer, ...]) -> Iterator[str]:
    """What can hurt people, each once; local rules have the last word."""
    handling = (f.reason for answer in answers for f in answer.findings if f.rule == "safe_handling")
    yield from dict.fromkeys(handling)
    if any(Treatment.FREEZING in bottoms.treatments_met(case) for case in cases):
        yield work_caution("open_when_warm").text
    yield work_caution("old_residues").text
    yield work_caution("lifting").text
    yield LAST_WORD
