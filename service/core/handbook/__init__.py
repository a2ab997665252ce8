"""The trade's figures: each with its unit, its source, and how far it may be trusted.

Nothing from memory decides anything alone, and a gap in the tables stays a gap.
"""

from service.core.handbook.cautions import people_caution, specimen_caution, work_caution
from service.core.handbook.closures import pest_level
from service.core.handbook.entries import (
    Caution,
    DrawerStyle,
    Figure,
    HandbookFault,
    MaterialRuling,
    NotInHandbook,
    PairRuling,
    PestLevel,
    PestResistance,
    PinRuling,
    Source,
    Standing,
)
from service.core.handbook.figures import figure, figures
from service.core.handbook.loader import source, sources
from service.core.handbook.rulings import pair_rulings, pin_rulings, ruling
from service.core.handbook.styles import drawer_style, drawer_styles

__all__ = [
    "Caution",
    "DrawerStyle",
    "Figure",
    "HandbookFault",
    "MaterialRuling",
    "NotInHandbook",
    "PairRuling",
    "PestLevel",
    "PestResistance",
    "PinRuling",
    "Source",
    "Standing",
    "drawer_style",
    "drawer_styles",
    "figure",
    "figures",
    "pair_rulings",
    "people_caution",
    "pest_level",
    "pin_rulings",
    "ruling",
    "source",
    "sources",
    "specimen_caution",
    "work_caution",
]
