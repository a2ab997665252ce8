"""What one drawer can hold, counted in whole trays.

A drawer holds whole trays only, which weights that may be divided at will do not know. Here the heaviest load of a
drawer is looked for among whole numbers of trays, within all the scales known and without the sets of trays that an
exact search has shown not to lie in one drawer. Each load that turns up is either ruled out by a further pair of
scales or by that search, or it can be laid, and then it is a new way to fill a drawer.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from service.core.housing.greedy import Rule, fill_room
from service.core.housing.linear import heaviest
from service.core.housing.one_drawer import DrawerSearch, Fits
from service.core.housing.rooms import Filled, Put, Room
from service.core.housing.scales import Pair, RoomScales
from service.core.housing.skyline import PICKS

_NEARLY_ONE = 1 + 1e-6
#: Pairs of scales that rule a load out by this much are good enough; looking on costs more than it brings.
_CLEARLY = 1.02
_DISTURBED_STARTS = 6
_RULES = 60
_STEPS_TO_SHRINK = 1_000
_PIECES_SQUARED_A_STEP = 3


class Load(Enum):
    """What became of a load of trays."""

    RULED_OUT = "ruled_out"
    LAID = "laid"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Answer:
    load: Load
    filled: Filled | None = None


class DrawerLimits:
    """All that is known of what one room cannot hold. Loads count each piece of the room by itself."""

    def __init__(
        self, at: int, scales: RoomScales, counts: Sequence[int], nodes: int, should_stop: Callable[[], bool]
    ) -> None:
        self.at, self.scales, self._nodes, self._should_stop = at, scales, nodes, should_stop
        room = scales.room
        pieces = tuple(replace(piece, kind=number) for number, piece in enumerate(room.pieces))
        self._each_by_itself: Room = replace(room, pieces=pieces)
        alone = [(room.width // piece.width) * (room.depth // piece.depth) for piece in room.pieces]
        self.most = [min(counts[piece.kind], most) for piece, most in zip(room.pieces, alone, strict=True)]
        self.pairs: list[Pair] = []
        self.never: list[tuple[int, ...]] = []
        self._chance = np.random.default_rng(0)
        self._times_weighed = self._nodes_weighed = self._nodes_searched = 0

    @property
    def work(self) -> int:
        """A node of a whole-number program takes about as long as ten of the search in one drawer, and its beginning
        the longer the more pieces there are."""
        begun = self._times_weighed * len(self.scales.room.pieces) ** 2 // _PIECES_SQUARED_A_STEP
        return begun + self._nodes_weighed + self._nodes_searched // 10

    def learn(self, pair: Pair) -> None:
        """One more pair of scales, unless its weights are known."""
        weights = self.scales.weights(pair)
        if not any(np.allclose(weights, self.scales.weights(known), atol=1e-6) for known in self.pairs):
            self.pairs.append(pair)

    def heaviest(self, prices: Sequence[float], gap: float, nodes: int) -> tuple[float, list[int]]:
        """The load of most worth at these prices of the kinds, and a worth that no load passes."""
        worths = [prices[piece.kind] for piece in self.scales.room.pieces]
        limits = [(self.scales.weights(pair).tolist(), 1 + 1e-9) for pair in self.pairs]
        found = heaviest(worths, self.most, limits, self.never, gap=gap, nodes=nodes)
        self._times_weighed += 1
        self._nodes_weighed += found.nodes
        return found.at_most, found.numbers

    def look_into(self, load: Sequence[int]) -> Answer:
        """Rule a load out for good, or lay it."""
        worth, pair = self._heaviest_scales(load)
        if worth > _NEARLY_ONE:
            self.pairs.append(pair)
            return Answer(Load.RULED_OUT)
        if puts := self._by_rules(load):
            return Answer(Load.LAID, self._filled(puts))
        fits, puts = self._search(load, self._nodes)
        if fits is Fits.NO:
            self.never.append(self._shrunk(list(load)))
            return Answer(Load.RULED_OUT)
        return Answer(Load.LAID if fits is Fits.YES else Load.UNDECIDED, self._filled(puts) if puts else None)

    def unlaid(self, load: Sequence[int]) -> Filled:
        """A load as if it could be laid: only its counts mean anything."""
        pieces = self.scales.room.pieces
        return Filled(self.at, tuple(Put(0, 0, pieces[at]) for at, count in enumerate(load) for _ in range(count)))

    def _heaviest_scales(self, load: Sequence[int]) -> tuple[float, Pair]:
        depth, best = self.scales.depth, (0.0, self.scales.by_area)
        starts = list(self.scales.starts())
        for number in range(len(starts) + _DISTURBED_STARTS):
            disturbed = self._chance.uniform(0.3, 1.7, len(depth.lengths)) * np.array(starts[0])
            start = starts[number] if number < len(starts) else disturbed.tolist()
            best = max(best, self.scales.summit([float(count) for count in load], start), key=lambda each: each[0])
            if best[0] > _CLEARLY:
                break
        return best

    def _by_rules(self, load: Sequence[int]) -> tuple[Put, ...]:
        areas = np.array([float(piece.area) for piece in self.scales.room.pieces])
        for number in range(_RULES):
            ranks = (areas * self._chance.uniform(0.5, 1.5, len(areas))).tolist()
            left = list(load)
            rule = Rule(tuple(ranks), PICKS[number % len(PICKS)], mirrored=bool(number % 2))
            filled = fill_room(self._each_by_itself, self.at, left, rule)
            if not any(left):
                return filled.puts
        return ()

    def _search(self, load: Sequence[int], nodes: int) -> tuple[Fits, tuple[Put, ...]]:
        room = self._each_by_itself
        pieces = sorted((piece for piece in room.pieces if load[piece.kind]), key=lambda piece: -piece.area)
        search = DrawerSearch(room.width, room.depth, pieces, nodes, self._should_stop)
        answer = search.look(load)
        self._nodes_searched += nodes - search.nodes
        return answer

    def _shrunk(self, load: list[int]) -> tuple[int, ...]:
        """As few of the trays as still do not lie in the drawer: that rules out more."""
        for kind in range(len(load)):
            while load[kind]:
                load[kind] -= 1
                if self._search(load, _STEPS_TO_SHRINK)[0] is not Fits.NO:
                    load[kind] += 1
                    break
        return tuple(load)

    def _filled(self, puts: Sequence[Put]) -> Filled:
        pieces = self.scales.room.pieces
        return Filled(self.at, tuple(Put(put.x, put.y, pieces[put.piece.kind]) for put in puts))
