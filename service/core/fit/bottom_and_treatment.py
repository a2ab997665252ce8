"""Does the pinning bottom that would come in bear the treatments it meets, here and where it comes from?"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.core.consignment import Container
from service.core.fit.case import Case
from service.core.fit.comparing import capital
from service.core.fit.findings import Finding, Outcome
from service.core.handbook import MaterialRuling, pair_rulings, people_caution, pin_rulings, ruling
from service.core.materials import Bottom, PinningBottom, Treatment, plainly
from service.core.measure.dimension import Grade
from service.core.standards import Ruling, StorageSystem

OUTCOMES = {
    Ruling.OK: Outcome.PASS,
    Ruling.CAUTION: Outcome.CAUTION,
    Ruling.UNKNOWN: Outcome.UNKNOWN,
    Ruling.INCOMPATIBLE: Outcome.FAIL,
}


@dataclass(frozen=True, slots=True)
class Incoming:
    """One bottom that would come in, and the field to ask for it by."""

    bottom: PinningBottom | None
    field: str

    @property
    def material(self) -> Bottom | None:
        return self.bottom.material if self.bottom else None


def bottoms_of_containers(case: Case) -> tuple[Finding, ...]:
    """The linings of the containers themselves, with the bottoms of whatever trays stand in them."""
    if case.line.trays is None:
        reason = "Nobody has stated whether there are unit trays inside, so not every bottom that comes in is known."
        untold = Finding("bottom_and_treatment", Outcome.UNKNOWN, reason, _NOT_STATED, missing=(case.asks("trays"),))
        return (untold, *_judged(case, tuple(_linings(case))))
    return _judged(case, (*_linings(case), *_tray_bottoms(case)))


def bottoms_of_trays(case: Case) -> tuple[Finding, ...]:
    """The bottoms of the unit trays alone: their containers stay outside."""
    return _judged(case, tuple(_tray_bottoms(case)))


_NOT_STATED = "What is not stated stays unknown."


def _linings(case: Case) -> Iterator[Incoming]:
    """A container with trays in it need not be lined; one without must have something that pins go into."""
    line = case.line
    if line.container is not Container.UNIT_TRAY and (line.lining is not None or line.trays == ()):
        yield Incoming(line.lining, case.asks("lining.material"))


def _tray_bottoms(case: Case) -> Iterator[Incoming]:
    for lot, trays in enumerate(case.tray_lots):
        yield Incoming(trays.bottom, case.asks_tray(lot, "bottom.material"))


def _judged(case: Case, incoming: tuple[Incoming, ...]) -> tuple[Finding, ...]:
    known = {(i.material, i.bottom.glued_firmly): i for i in incoming if i.bottom and i.material}
    return (
        *_unknown_bottoms(incoming),
        *_treatments_not_stated(case),
        *(finding for one in known.values() for finding in _under_every_treatment(case, one)),
        *_accepted(case, tuple(known.values())),
        *_never_together(case),
    )


def _unknown_bottoms(incoming: tuple[Incoming, ...]) -> Iterator[Finding]:
    missing = tuple(one.field for one in incoming if one.material is None)
    if missing:
        reason = "Nobody has stated what the pins stand in, so no treatment can be judged."
        yield Finding("bottom_and_treatment", Outcome.UNKNOWN, reason, _NOT_STATED, missing=missing)


def _treatments_not_stated(case: Case) -> Iterator[Finding]:
    asked = (
        (case.system.materials.treatments, "the receiver uses", "system.materials.treatments"),
        (case.line.treatments_used, "the sender has used", case.asks("treatments_used")),
    )
    for treatments, who, field in asked:
        if treatments is None:
            reason = f"Nobody has stated which treatments {who}; “none” would be an answer."
            yield Finding("bottom_and_treatment", Outcome.UNKNOWN, reason, _NOT_STATED, missing=(field,))
    if asked[0][0] == asked[1][0] == ():
        reason = "Neither side uses any treatment."
        yield Finding("bottom_and_treatment", Outcome.PASS, reason, "What both sides have stated.")


def treatments_met(case: Case) -> tuple[Treatment, ...]:
    """Every treatment that the material has met or would meet, each once."""
    here, there = case.system.materials.treatments or (), case.line.treatments_used or ()
    return tuple(dict.fromkeys((*here, *there)))


def _under_every_treatment(case: Case, one: Incoming) -> Iterator[Finding]:
    if one.bottom is None or one.material is None:
        return
    for treatment in treatments_met(case):
        yield _under(case, one.bottom, one.material, treatment)


def _under(case: Case, bottom: PinningBottom, material: Bottom, treatment: Treatment) -> Finding:
    known = _ruling_for(case.system, bottom, material, treatment)
    outcome, pair = OUTCOMES[known.ruling], f"{plainly(material)} under {plainly(treatment)}"
    reason = f"{capital(pair)}, {_whose(case, treatment)}: {known.condition}"
    if known.grade is Grade.FROM_MEMORY and outcome is not Outcome.UNKNOWN:
        outcome, reason = Outcome.UNKNOWN, f"{reason} That is from memory only: test a piece."
    remedy = None
    if outcome is Outcome.FAIL:
        remedy = f"Keep {plainly(treatment)} away from it for good, or give the specimens another bottom."
    elif outcome is Outcome.UNKNOWN:
        remedy = "Test a spare piece, and publish what you find as your own finding."
    return Finding("bottom_and_treatment", outcome, reason, known.source, pair, remedy=remedy, grade=known.grade)


def _whose(case: Case, treatment: Treatment) -> str:
    """Who brings a treatment to the bottom; the sender's stays in what was treated."""
    if treatment not in (case.system.materials.treatments or ()):
        return "which the sender has used"
    both = treatment in (case.line.treatments_used or ())
    return "which both sides use" if both else "which the receiver uses"


def _ruling_for(
    system: StorageSystem, bottom: PinningBottom, material: Bottom, treatment: Treatment
) -> MaterialRuling:
    """The receiver's own finding where there is one, or else the handbook's."""
    for own in system.materials.own_findings:
        if (own.bottom, own.treatment) == (material, treatment):
            source = f"The receiver's own finding: {own.note}"
            return MaterialRuling(own.ruling, own.note, source, Grade.COMMON_PRACTICE)
    known = ruling(material, treatment)
    if known.spared_by_firm_glue and bottom.glued_firmly:
        condition = f"{known.condition} This bottom is glued firmly."
        return MaterialRuling(Ruling.OK, condition, known.source, known.grade)
    return known


def _accepted(case: Case, incoming: tuple[Incoming, ...]) -> Iterator[Finding]:
    """The receiver's policy, where there is one."""
    policy = case.system.materials.accepted_bottoms
    if policy is None:
        return
    source, listed = "The receiver's own materials policy.", " or ".join(map(plainly, policy)) or "no bottom at all"
    for material in dict.fromkeys(one.material for one in incoming if one.material):
        if material in policy:
            reason = f"The receiver accepts {plainly(material)}."
            yield Finding("accepted_bottoms", Outcome.PASS, reason, source, plainly(material))
        else:
            reason = f"The receiver accepts {listed}, not {plainly(material)}."
            remedy = f"Have the {plainly(material)} changed for an accepted one before it is sent."
            yield Finding("accepted_bottoms", Outcome.FAIL, reason, source, plainly(material), remedy=remedy)


def _never_together(case: Case) -> Iterator[Finding]:
    """Treatments of which one clings to what comes in and another is used here."""
    for pair in pair_rulings(treatments_met(case)):
        first, second = map(plainly, pair.treatments)
        outcome = OUTCOMES[pair.ruling]
        if pair.grade is Grade.FROM_MEMORY:
            outcome = Outcome.UNKNOWN
        remedy = "Air the material until nothing is left of the one, and keep the other away from it."
        reason = f"{capital(first)} and {second} would meet: {pair.condition}"
        yield Finding(
            "treatments_together",
            outcome,
            reason,
            pair.source,
            f"{first} with {second}",
            remedy=remedy,
            grade=pair.grade,
        )


def pin_metal_rule(case: Case) -> tuple[Finding, ...]:
    """What may become of the pins. Whichever way a line goes its pins stay in, so this decides nothing."""
    metal = case.line.pins.metal
    if case.line.specimens == 0:
        return ()
    if metal is None:
        reason = "Nobody has stated what the pins are made of; brass and black steel are worth knowing about."
        missing = (case.asks("pins.metal"),)
        return (Finding("pin_metal", Outcome.UNKNOWN, reason, _NOT_STATED, missing=missing, deciding=False),)
    found = {
        (known.bottom, known.treatment): known
        for bottom in _bottoms_in(case)
        for known in pin_rulings(metal, bottom, treatments_met(case))
    }
    return tuple(
        Finding(
            "pin_metal",
            Outcome.CAUTION if known.ruling is Ruling.INCOMPATIBLE else OUTCOMES[known.ruling],
            f"{capital(plainly(metal))} pins{_where(known.bottom, known.treatment)}: {known.condition}",
            known.source,
            f"{plainly(metal)} pins{_where(known.bottom, known.treatment)}",
            deciding=False,
            grade=known.grade,
        )
        for known in found.values()
    )


def _bottoms_in(case: Case) -> Iterable[Bottom | None]:
    incoming = (*_linings(case), *_tray_bottoms(case))
    return dict.fromkeys(one.material for one in incoming) or (None,)


def _where(bottom: Bottom | None, treatment: Treatment | None) -> str:
    if bottom is not None:
        return f" in {plainly(bottom)}"
    return f" under {plainly(treatment)}" if treatment is not None else ""


def safe_handling_rule(case: Case) -> tuple[Finding, ...]:
    """What can hurt the people who handle the material; it goes with every treatment that the material meets."""
    return tuple(
        Finding(
            "safe_handling",
            Outcome.CAUTION,
            f"{capital(plainly(treatment))}: {caution.text}",
            caution.source,
            plainly(treatment),
            deciding=False,
            grade=caution.grade,
        )
        for treatment in treatments_met(case)
        for caution in (people_caution(treatment),)
    )
