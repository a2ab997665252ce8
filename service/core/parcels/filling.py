"""Things into boxes, box after box: the smallest that takes all that is left, or else the one that is filled best.

The same for trays into inner boxes and for what is packed into cartons; what differs is how things lie in a box
(``fit``) and which box is made where none of the stock will do (``make``).
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeAlias, TypeVar

from service.core.parcels.stock import Room, StockBox


@dataclass(frozen=True, slots=True)
class Thing:
    """Something to be put in a box. What it weighs and how much liquid is in it count as nothing where unknown, and
    are told of elsewhere.
    """

    size: Room
    mass_g: int = 0
    liquid_ml: float = 0.0


Put = TypeVar("Put")


@dataclass(frozen=True, slots=True)
class Trial(Generic[Put]):
    """A box with what it would take: ``box`` as it stands in the stock, or as it is to be made."""

    box: StockBox
    made: bool
    puts: tuple[Put, ...]
    filled: float
    """How much of the box is used, from 0 to 1."""


#: What goes into the box out of these things, or None for a box that is not to be used.
Fit: TypeAlias = Callable[[StockBox, Sequence[Thing]], Trial[Put] | None]
Make: TypeAlias = Callable[[Sequence[Thing]], Trial[Put]]


class Shelf:
    """The boxes that are left of a stock while a plan is made."""

    def __init__(self, stock: Sequence[StockBox]) -> None:
        self.stock = stock
        self.taken: Counter[str] = Counter()

    def there(self) -> list[StockBox]:
        return [box for box in self.stock if box.count is None or self.taken[box.code] < box.count]

    def take(self, box: StockBox) -> None:
        self.taken[box.code] += 1


def fill_boxes(
    things: Sequence[Thing], shelf: Shelf, fit: Fit[Put], make: Make[Put], which: Callable[[Put], int]
) -> list[tuple[Trial[Put], tuple[int, ...]]]:
    """Boxes for all of the things, each with the places in ``things`` of what its puts are about."""
    left = list(range(len(things)))
    done: list[tuple[Trial[Put], tuple[int, ...]]] = []
    while left:
        waiting = [things[at] for at in left]
        trials = [fit(box, waiting) for box in shelf.there()]
        chosen = _best([trial for trial in trials if trial is not None and trial.puts], len(waiting)) or make(waiting)
        if not chosen.made:
            shelf.take(chosen.box)
        taken = tuple(left[which(put)] for put in chosen.puts)
        done.append((chosen, taken))
        gone = set(taken)
        left = [at for at in left if at not in gone]
    return done


def _best(trials: list[Trial[Put]], wanted: int) -> Trial[Put] | None:
    whole = [trial for trial in trials if len(trial.puts) == wanted]
    if whole:
        return min(whole, key=lambda trial: trial.box.outer.volume_nm3)
    return max(trials, key=lambda trial: (trial.filled, trial.box.outer.volume_nm3), default=None)


def within(things: Sequence[Thing], most_g: int, most_ml: float | None) -> list[int]:
    """Places of the things that together stay within a mass and an amount of liquid; always at least one."""
    kept: list[int] = []
    mass, liquid = 0, 0.0
    for at, thing in enumerate(things):
        too_wet = most_ml is not None and liquid + thing.liquid_ml > most_ml
        if kept and (mass + thing.mass_g > most_g or too_wet):
            continue
        kept.append(at)
        mass, liquid = mass + thing.mass_g, liquid + thing.liquid_ml
    return kept


#: How much more than a box could hold is looked at for it, by volume: enough to choose from, and no more.
_CHOICE = 2


def some_of(things: Sequence[Thing], places: Sequence[int], room: Room) -> list[int]:
    """As many of the places, the largest things first, as are worth trying in a room."""
    volume, chosen = 0, []
    for at in sorted(places, key=lambda at: -things[at].size.volume_nm3):
        chosen.append(at)
        volume += things[at].size.volume_nm3
        if volume > _CHOICE * room.volume_nm3:
            break
    return chosen
