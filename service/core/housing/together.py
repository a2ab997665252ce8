"""Trays that must stay together: each group gets its drawer first, and other trays fill what is left beside it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from service.core.housing.effort import Effort, Watch
from service.core.housing.greedy import Plan, Rule, Used, fill_room, ranks_by_size
from service.core.housing.one_drawer import DrawerSearch, Fits
from service.core.housing.plan import CannotBeHoused
from service.core.housing.rooms import Filled, Task
from service.core.housing.skyline import PICKS

#: How many of the drawers begun, those with least room to spare first, are tried for the next group.
_MOST_TRIED = 12


@dataclass
class Begun:
    """A drawer with groups in it: ``counts`` of each kind, laid as ``filled``."""

    filled: Filled
    counts: list[int] = field(default_factory=list)


def housed_together(task: Task, effort: Effort, watch: Watch) -> tuple[Plan, list[int]]:
    """Drawers that hold all groups, filled up with other trays, and how many trays of each kind are left over.

    :raises CannotBeHoused: when a group does not fit one drawer, or may not in the steps allowed.
    """
    begun: list[Begun] = []
    for _, counts in _groups(task):
        if watch.should_stop() or not _joins(task, begun, counts):
            begun.append(_own_drawer(task, counts, begun, effort))
    left = [0 if kind.together else count for kind, count in zip(task.kinds, task.counts, strict=True)]
    plan = tuple(Used(_filled_up(task, each, left), 1) for each in begun)
    return plan, left


def _groups(task: Task) -> list[tuple[str, list[int]]]:
    """Counts of each group, the largest first."""
    groups: dict[str, list[int]] = defaultdict(lambda: [0] * len(task.kinds))
    for at, kind in enumerate(task.kinds):
        if kind.together:
            groups[kind.together][at] = task.counts[at]
    return sorted(groups.items(), key=lambda group: (-_area(task, group[1]), group[0]))


def _area(task: Task, counts: Sequence[int]) -> int:
    return sum(area * count for area, count in zip(task.areas, counts, strict=True))


def _joins(task: Task, begun: list[Begun], counts: Sequence[int]) -> bool:
    """Put a group into a drawer begun, the fullest that takes it."""
    spare = sorted(
        (task.rooms[each.filled.room].area - _area(task, each.counts), at) for at, each in enumerate(begun)
    )
    need = _area(task, counts)
    for _, at in [each for each in spare if each[0] >= need][:_MOST_TRIED]:
        both = [one + other for one, other in zip(begun[at].counts, counts, strict=True)]
        drawer = task.rooms[begun[at].filled.room].drawer
        for room in _rooms_of(task, drawer):
            if (filled := _laid_by_rules(task, room, both)) is not None:
                begun[at] = Begun(filled, both)
                return True
    return False


def _rooms_of(task: Task, drawer: int) -> list[int]:
    return [at for at, room in enumerate(task.rooms) if room.drawer == drawer]


def _own_drawer(task: Task, counts: list[int], begun: Sequence[Begun], effort: Effort) -> Begun:
    """The cheapest drawer that holds a group."""
    used = [task.rooms[each.filled.room].drawer for each in begun]
    undecided = False
    for at, room in enumerate(task.rooms):
        limit = task.limits[room.drawer]
        if limit is not None and used.count(room.drawer) >= limit:
            continue
        if (filled := _laid_by_rules(task, at, counts)) is not None:
            return Begun(filled, counts)
        search = DrawerSearch(room.width, room.depth, room.pieces, effort.search_nodes)
        fits, puts = search.look(counts)
        if fits is Fits.YES:
            return Begun(Filled(at, puts), counts)
        undecided |= fits is Fits.UNDECIDED
    raise CannotBeHoused(_no_drawer(task, counts, undecided=undecided))


def _no_drawer(task: Task, counts: Sequence[int], *, undecided: bool) -> str:
    group = next(task.kinds[kind].together for kind, count in enumerate(counts) if count)
    found = "no way was found to lay them in one drawer" if undecided else "they do not fit one drawer that is free"
    return f"The {sum(counts)} trays of “{group}” are to stay together, and {found}; part the group in two."


def _laid_by_rules(task: Task, at: int, counts: Sequence[int]) -> Filled | None:
    for ranks in ranks_by_size(task):
        for pick in PICKS:
            for mirrored in (False, True):
                left = list(counts)
                filled = fill_room(task.rooms[at], at, left, Rule(ranks, pick, mirrored))
                if not any(left):
                    return filled
    return None


def _filled_up(task: Task, begun: Begun, left: list[int]) -> Filled:
    """The same drawer with the most area of other trays beside the groups; takes them out of ``left``."""
    best = begun.filled
    for ranks in ranks_by_size(task):
        top = 1 + max(ranks)
        groups_first = tuple(rank + top * (count > 0) for rank, count in zip(ranks, begun.counts, strict=True))
        for pick in PICKS:
            for mirrored in (False, True):
                both = [one + other for one, other in zip(begun.counts, left, strict=True)]
                filled = fill_room(task.rooms[best.room], best.room, both, Rule(groups_first, pick, mirrored))
                whole = all(filled.counts[kind] >= count for kind, count in enumerate(begun.counts))
                if whole and _area_of(filled) > _area_of(best):
                    best = filled
    for kind, count in best.counts.items():
        left[kind] -= 0 if task.kinds[kind].together else count
    return best


def _area_of(filled: Filled) -> int:
    return sum(put.piece.area for put in filled.puts)
