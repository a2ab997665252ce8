"""What people have to mind who handle material on which something was used against pests.

Said with every answer and on every paper that concerns such material. What nobody stated is unknown, and unknown
residues are handled as poison.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from service.core.handbook import people_caution, work_caution
from service.core.handbook.cautions import local_rules
from service.core.handbook.entries import Caution
from service.core.materials import Treatment, plainly
from service.core.measure.dimension import Grade

#: Treatments that leave nothing on the material. They concern whoever treats, and not whoever unpacks.
LEAVES_NOTHING = frozenset({Treatment.FREEZING, Treatment.NITROGEN_ANOXIA, Treatment.CARBON_DIOXIDE})
#: They stay in dust, linings and wood for decades, so that airing alone does not help.
STAYS_FOR_DECADES = frozenset(
    {Treatment.ARSENIC, Treatment.MERCURIC_CHLORIDE, Treatment.DDT, Treatment.CHLORINATED_LIQUID}
)


@dataclass(frozen=True, slots=True)
class HandlingCaution:
    """``code`` is a stable word for programs: the treatment, ``unknown-residues`` or ``old-residues``."""

    code: str
    sentence: str
    source: str
    grade: Grade


def handling_cautions(used: Iterable[Collection[Treatment] | None]) -> tuple[HandlingCaution, ...]:
    """The cautions for some lots, from what was used on each before: each once, in the order of the words.

    ``None`` for a lot is that nobody said; an empty collection that nothing was used, which asks for no caution.
    """
    told = [*used]
    known = {treatment for lot in told if lot is not None for treatment in lot}
    return (
        *(_of_treatment(treatment) for treatment in Treatment if treatment in known - LEAVES_NOTHING),
        *(_old_residues() if known & STAYS_FOR_DECADES else ()),
        *(_unknown(sum(lot is None for lot in told), len(told)) if None in told else ()),
    )


def _of_treatment(treatment: Treatment) -> HandlingCaution:
    caution = people_caution(treatment)
    return _caution(treatment.value, f"{plainly(treatment).capitalize()} was used on it. {caution.text}", caution)


def _old_residues() -> tuple[HandlingCaution, ...]:
    caution = work_caution("old_residues")
    return (_caution("old-residues", f"{caution.text} {local_rules()}", caution),)


def _unknown(unsaid: int, lots: int) -> tuple[HandlingCaution, ...]:
    which = "it" if lots == 1 else f"{unsaid} of {lots} lots"
    caution = work_caution("old_residues")
    sentence = f"Nobody stated what was used against pests on {which}. {caution.text} {local_rules()}"
    return (_caution("unknown-residues", sentence, caution),)


def _caution(code: str, sentence: str, behind: Caution) -> HandlingCaution:
    return HandlingCaution(code, sentence, behind.source, behind.grade)
