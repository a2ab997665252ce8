"""What may be asked of an arrangement, by the word that it is asked with."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from service.core.arrangement.plan import (
    ArrangementWishes,
    ChangeDrawerStyle,
    EmptyCabinets,
    InsertTaxa,
    MergeTaxa,
    Question,
    ReorderTaxa,
    RestoreReserve,
    SplitTaxon,
    TakeIn,
)

QUESTIONS: Final[Mapping[str, type[Any]]] = {
    "take_in": TakeIn,
    "insert_taxa": InsertTaxa,
    "merge_taxa": MergeTaxa,
    "split_taxon": SplitTaxon,
    "reorder_taxa": ReorderTaxa,
    "empty_cabinets": EmptyCabinets,
    "restore_reserve": RestoreReserve,
    "change_drawer_style": ChangeDrawerStyle,
}
_WORDS: Final = {kind: word for word, kind in QUESTIONS.items()}


@dataclass(frozen=True, slots=True)
class Asked:
    """A question with its wishes, as it can be asked again."""

    question: Question
    wishes: ArrangementWishes

    @property
    def word(self) -> str:
        return _WORDS[type(self.question)]
