"""How well a drawer, a cabinet or a collection is cared for: levels counted, and the health index over them.

The index is the share of units at a level that counts as sound (the handbook's ``health_index_rule``). In a drawer
the units are its trays. In a cabinet and in a collection they are drawers, as published, and a drawer is at the level
of the worst of its trays (common practice, no published source). A unit whose level nobody has said is unknown, and
the index then lies between two ends: were all of these unsound, and were they all sound.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from service.core.arrangement.inventory import CurationLevel, Inventory, Tray
from service.core.handbook.curation import health_index_rule


@dataclass(frozen=True, slots=True)
class Health:
    """Units by level, and how many are of no known level."""

    by_level: Mapping[CurationLevel, int]
    unknown: int

    @property
    def units(self) -> int:
        return sum(self.by_level.values()) + self.unknown

    @property
    def sound(self) -> int:
        levels = health_index_rule().levels
        return sum(count for level, count in self.by_level.items() if level in levels)

    @property
    def index_at_least(self) -> Decimal | None:
        """The index were every unknown unit unsound; ``None`` where there is no unit."""
        return Decimal(self.sound) / self.units if self.units else None

    @property
    def index_at_most(self) -> Decimal | None:
        return Decimal(self.sound + self.unknown) / self.units if self.units else None

    @property
    def index(self) -> Decimal | None:
        """The index; ``None`` where a level is unknown or there is no unit."""
        return None if self.unknown else self.index_at_least


def health_of(levels: Iterable[CurationLevel | None]) -> Health:
    """The health of units at these levels; ``None`` is unknown."""
    counted = Counter(levels)
    unknown = counted.pop(None, 0)
    return Health({level: counted[level] for level in CurationLevel if counted[level]}, unknown)


def level_of_drawer(trays: Sequence[Tray]) -> CurationLevel | None:
    """The level of the worst tray; unknown where one is, unless another is at the very worst already."""
    known = [tray.level for tray in trays if tray.level is not None]
    if known and (len(known) == len(trays) or min(known) is CurationLevel.CONSERVATION_PROBLEM):
        return min(known)
    return None


def health_of_drawer(inventory: Inventory, drawer: str) -> Health:
    return health_of(tray.level for tray in inventory.trays_by_drawer[drawer])


def health_of_cabinet(inventory: Inventory, cabinet: str) -> Health:
    return _of_drawers(inventory, [drawer.key for drawer in inventory.drawers if drawer.cabinet == cabinet])


def health_of_collection(inventory: Inventory) -> Health:
    """Over every drawer that has a tray in it, in a cabinet or not."""
    return _of_drawers(inventory, [drawer.key for drawer in inventory.drawers])


def _of_drawers(inventory: Inventory, drawers: Sequence[str]) -> Health:
    standing = inventory.trays_by_drawer
    return health_of(level_of_drawer(standing[key]) for key in drawers if standing[key])
