"""What a search for an arrangement works on: trays in the order to be, drawers in their order, numbers throughout."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from service.core.arrangement.inside import Inside, Ints, Sizes
from service.core.arrangement.lines import furthest

LOOSE = -1


@dataclass(frozen=True)
class Task:
    """``old`` says of each tray, in the order to be, in which slot it stands: ``LOOSE`` for one that has to be set
    somewhere in any case. ``place`` is its place there today.

    A slot is a drawer that may be used, or could be had; ``inside`` says which of ``insides`` it is, and
    ``out_of_place`` that it has no position yet, so that one that has goes before it where moves are the same. Where
    ``must_keep_reserve``, what stands in a drawer with too little reserve may not stay as it is.
    """

    sizes: Sizes
    old: Ints
    place: Ints
    insides: tuple[Inside, ...]
    inside: Ints
    out_of_place: NDArray[np.bool_]
    must_keep_reserve: bool = False

    def __len__(self) -> int:
        return len(self.old)

    @property
    def slots(self) -> int:
        return len(self.inside)

    @cached_property
    def held_before(self) -> Ints:
        """How many trays that stand in a slot come before each place in the order."""
        return np.concatenate(([0], np.cumsum(self.old != LOOSE)))

    @cached_property
    def trays_of_slot(self) -> tuple[Ints, Ints]:
        """The trays that stand anywhere, by slot and then in order; and where each slot's begin among them."""
        held = np.flatnonzero(self.old != LOOSE)
        by_slot = held[np.argsort(self.old[held], kind="stable")]
        return by_slot, np.searchsorted(self.old[by_slot], np.arange(self.slots + 1))

    def stands_in(self, slot: int) -> Ints:
        """Where in the order the trays of this slot are."""
        by_slot, begins = self.trays_of_slot
        return by_slot[begins[slot] : begins[slot + 1]]

    @cached_property
    def with_reserve(self) -> tuple[Ints, ...]:
        """How far a drawer of each inside reaches with its reserve kept; one tray may always have a drawer to itself,
        if it goes in at all."""
        alone = np.arange(1, len(self) + 2, dtype=np.int64)
        return tuple(
            np.maximum(furthest(self.sizes, inside, inside.usable), np.minimum(alone, whole))
            for inside, whole in zip(self.insides, self.without_reserve, strict=True)
        )

    @cached_property
    def without_reserve(self) -> tuple[Ints, ...]:
        return tuple(furthest(self.sizes, inside, inside.across) for inside in self.insides)

    @cached_property
    def as_they_stand(self) -> Ints:
        """How far the trays from each on may stay in the drawer where they are, full or not: in the order in which
        they stand, for so they do fit, or in another one that fits."""
        count, held = len(self), self.old != LOOSE
        ends = np.arange(count + 1, dtype=np.int64)
        if not held.any():
            return ends
        together = (self.old[:-1] == self.old[1:]) & held[:-1]
        in_order = _run_ends(together & (self.place[:-1] < self.place[1:]))
        at = np.flatnonzero(held)
        reach = np.stack(self.without_reserve)[self.inside[self.old[at]], at]
        ends[at] = np.maximum(in_order[at], np.minimum(_run_ends(together)[at], reach))
        return ends


def _run_ends(goes_on: NDArray[np.bool_]) -> Ints:
    """Where the run ends that each is of; ``goes_on`` says of each but the last whether the next is of it too."""
    breaks = np.append(np.flatnonzero(~goes_on) + 1, len(goes_on) + 1)
    ends: Ints = breaks[np.searchsorted(breaks, np.arange(len(goes_on) + 1), side="right")].astype(np.int64)
    return ends
