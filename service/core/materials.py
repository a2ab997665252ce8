"""The words for what drawers are lined with, treated with and pinned with."""

from dataclasses import dataclass
from enum import StrEnum

from service.core.measure.dimension import Dimension


class Bottom(StrEnum):
    """What pins go into."""

    POLYETHYLENE_FOAM = "polyethylene_foam"
    POLYSTYRENE_FOAM = "polystyrene_foam"
    CORK = "cork"
    PEAT = "peat"
    BALSA = "balsa"
    BOARD = "board"


class Treatment(StrEnum):
    """What keeps or drives pests out."""

    PARADICHLOROBENZENE = "paradichlorobenzene"
    NAPHTHALENE = "naphthalene"
    THYMOL = "thymol"
    CAMPHOR = "camphor"
    DICHLORVOS = "dichlorvos"
    ETHYL_ACETATE = "ethyl_acetate"
    ACETONE = "acetone"
    CHLORINATED_LIQUID = "chlorinated_liquid"
    """Chloroform, carbon tetrachloride, ethylene dichloride or carbon disulfide: the old liquid fumigants."""
    PHENOL = "phenol"
    FREEZING = "freezing"
    NITROGEN_ANOXIA = "nitrogen_anoxia"
    CARBON_DIOXIDE = "carbon_dioxide"
    ARSENIC = "arsenic"
    """Arsenical soaps and powders of old collections. Nobody uses them any more; their dust is still there."""
    MERCURIC_CHLORIDE = "mercuric_chloride"
    """Corrosive sublimate, painted on specimens and papers."""
    DDT = "ddt"


class PinMetal(StrEnum):
    """What pins are made of."""

    STAINLESS_STEEL = "stainless_steel"
    BLACK_STEEL = "black_steel"
    BRASS = "brass"
    GERMAN_SILVER = "german_silver"
    NICKEL = "nickel"
    SILVER = "silver"


@dataclass(frozen=True, slots=True)
class PinningBottom:
    """The layer that pins go into: a drawer's lining or a tray's foam."""

    material: Bottom | None = None
    thickness: Dimension | None = None
    glued_firmly: bool | None = None


def plainly(word: StrEnum) -> str:
    """An enumerated word as it stands in a sentence: ``polyethylene_foam`` is “polyethylene foam”."""
    return word.value.replace("_", " ")
