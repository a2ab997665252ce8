"""How much a length grows that is made up of several boards, one after the other."""

from dataclasses import dataclass

from service.core.measure.moisture import Air
from service.core.measure.movement import Direction, Material, Sawing, strain


@dataclass(frozen=True, slots=True)
class Part:
    """One board's share of a length."""

    length_nm: float
    direction: Direction
    sawing: Sawing | None = None


@dataclass(frozen=True, slots=True)
class Growth:
    """From ``least_nm`` to ``greatest_nm`` more; below zero it shrinks. For the rest see ``Strain``."""

    least_nm: float
    greatest_nm: float
    widened: bool = False
    rests_on_memory: bool = False


def growth(parts: tuple[Part, ...], materials: tuple[Material, ...], before: Air, after: Air) -> Growth | None:
    """What a length gains from one air to the other.

    ``materials`` are all that the word on the label may stand for: the answer covers every one of them, and is
    ``None`` as soon as one of them has no figure, or when there is none.
    """
    covering: Growth | None = None
    for material in materials:
        one = _of_one(parts, material, before, after)
        if one is None:
            return None
        covering = one if covering is None else _covering(covering, one)
    return covering


def _of_one(parts: tuple[Part, ...], material: Material, before: Air, after: Air) -> Growth | None:
    least, greatest, widened, remembered = 0.0, 0.0, False, False
    for part in parts:
        found = strain(material, part.direction, before, after, part.sawing)
        if found is None:
            return None
        span = found.span.times(part.length_nm)
        least, greatest = least + span.least, greatest + span.greatest
        widened, remembered = widened or found.widened, remembered or found.rests_on_memory
    return Growth(least, greatest, widened, remembered)


def _covering(one: Growth, other: Growth) -> Growth:
    return Growth(
        min(one.least_nm, other.least_nm),
        max(one.greatest_nm, other.greatest_nm),
        one.widened or other.widened,
        one.rests_on_memory or other.rests_on_memory,
    )
