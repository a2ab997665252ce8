"""What is boxed into outer cartons, bound together and with padding on every side."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from service.core.handbook.figures import figure
from service.core.parcels.bundle import Stood, bundle, extent
from service.core.parcels.filling import Shelf, Thing, Trial, fill_boxes, some_of, within
from service.core.parcels.limits import Limits
from service.core.parcels.stock import Room, StockBox

#: How many widths, and how many heights, are tried for a carton to make.
_WAYS = 12


@dataclass(frozen=True, slots=True)
class Rules:
    """``padding_g_per_l`` counts as nothing where unknown. ``most_ml`` is the liquid in one parcel, where limited."""

    padding_nm: int
    limits: Limits
    padding_g_per_l: int = 0
    most_ml: float | None = None

    def empty_g(self, carton: StockBox, things: Sequence[Thing]) -> int:
        """The carton and the padding around these things."""
        free_nm3 = max(0, carton.inner.volume_nm3 - sum(thing.size.volume_nm3 for thing in things))
        # A litre is 10^24 nm3.
        return (carton.mass_g or 0) + -(-free_nm3 * self.padding_g_per_l // 10**24)


def carton_things(things: Sequence[Thing], shelf: Shelf, rules: Rules) -> list[tuple[Trial[Stood], tuple[int, ...]]]:
    """Cartons for these things, each with the places in ``things`` of what stands in it."""
    return fill_boxes(
        things,
        shelf,
        lambda carton, waiting: _fit(carton, waiting, rules),
        lambda waiting: _make(waiting, rules),
        lambda stood: stood.which,
    )


def _fit(carton: StockBox, things: Sequence[Thing], rules: Rules) -> Trial[Stood] | None:
    room = carton.inner.grown(-rules.padding_nm)
    if not rules.limits.allow(carton.outer) or min(room.width_nm, room.depth_nm, room.height_nm) <= 0:
        return None
    stood = _stand(room, things, rules, rules.empty_g(carton, ()))
    if not stood:
        return None
    return _trial(carton, False, stood)


def _stand(room: Room, things: Sequence[Thing], rules: Rules, empty_g: int) -> list[Stood]:
    """The bundle that goes into a room, within what a parcel may weigh."""
    fitting = [at for at, thing in enumerate(things) if room.holds(thing.size)]
    tried = some_of(things, fitting, room)
    light = [tried[at] for at in within([things[at] for at in tried], rules.limits.mass_g - empty_g, rules.most_ml)]
    stood = bundle(room, [things[at].size for at in light])
    return [Stood(light[each.which], each.x, each.y, each.z, each.size) for each in stood]


def _trial(carton: StockBox, made: bool, stood: Sequence[Stood]) -> Trial[Stood]:
    return Trial(carton, made, tuple(stood), sum(each.size.volume_nm3 for each in stood) / carton.outer.volume_nm3)


def _make(things: Sequence[Thing], rules: Rules) -> Trial[Stood]:
    """The smallest carton to make: for all of them where that may be, or else the one that is filled best."""
    wall = figure("parcel.made_carton_wall").nm
    around = 2 * (rules.padding_nm + wall)
    side = rules.limits.made_side_nm - around
    trials = []
    for width in _sums([max(thing.size.width_nm, thing.size.depth_nm) for thing in things], side):
        for height in _sums([thing.size.height_nm for thing in things], side):
            room = Room(width, rules.limits.deepest_nm(width + around, height + around) - around, height)
            stood = _stand(room, things, rules, rules.empty_g(_around(room, rules, wall), ()))
            if stood and (made := _made_around(stood, rules, wall)) and rules.limits.allow(made.box.outer):
                trials.append(made)
    alone = Stood(0, 0, 0, 0, things[0].size)
    return _choose(trials, len(things)) or _made_around([alone], rules, wall)


def _choose(trials: list[Trial[Stood]], wanted: int) -> Trial[Stood] | None:
    whole = [trial for trial in trials if len(trial.puts) == wanted]
    if whole:
        return min(whole, key=lambda trial: trial.box.outer.volume_nm3)
    return max(trials, key=lambda trial: (trial.filled, len(trial.puts)), default=None)


def _sums(lengths: Sequence[int], most: int) -> list[int]:
    """Some of the longest beside or on each other, as far as a carton may be long; few, and spread over all."""
    reached = [total for total in accumulate(sorted(lengths, reverse=True)) if total <= most]
    step = max(1, len(reached) // _WAYS)
    return sorted({*reached[:2], *reached[::step], *reached[-1:]})


def _made_around(stood: Sequence[Stood], rules: Rules, wall: int) -> Trial[Stood]:
    return _trial(_around(extent(stood), rules, wall), True, stood)


def _around(bundled: Room, rules: Rules, wall: int) -> StockBox:
    inner = bundled.grown(rules.padding_nm)
    return StockBox("", "to make", inner, inner.grown(wall))
