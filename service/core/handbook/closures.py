"""How far closures keep pests out."""

from collections.abc import Mapping
from functools import cache

from service.core.consignment import Closure
from service.core.handbook.entries import PestLevel, PestResistance
from service.core.handbook.loader import Row, backing, required, table
from service.core.handbook.words import every, word


@cache
def _levels() -> Mapping[Closure, PestLevel]:
    return {closure: _level(closure, row) for closure, row in every(Closure, table("closures"), "closures").items()}


def _level(closure: Closure, row: Row) -> PestLevel:
    where = f"closures.{closure}"
    behind = backing(row, where, "level", "reason")
    level = PestResistance(required(row, "level", where))
    return PestLevel(closure, level, required(row, "reason", where), behind.source, behind.grade, behind.cited)


def pest_level(closure: Closure) -> PestLevel:
    """How far a closure keeps pests out: resistant at best, since pests enter even the best boxes.

    :raises NotInHandbook: when the word is no closure.
    """
    return _levels()[word(Closure, closure)]
