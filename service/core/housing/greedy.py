"""Fill drawer after drawer by one rule: quick plans, and many different ways to fill a drawer."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.core.housing.rooms import Filled, Put, Room, Task
from service.core.housing.skyline import Pick, fill


@dataclass(frozen=True, slots=True)
class Rule:
    """Trays by falling rank of their kind; ``pick`` chooses among those that fit; ``mirrored``: from the side."""

    ranks: tuple[float, ...]
    pick: Pick
    mirrored: bool


@dataclass(frozen=True, slots=True)
class Used:
    """So many drawers filled in one way."""

    filled: Filled
    drawers: int


Plan = tuple[Used, ...]


def cost_of(task: Task, plan: Plan) -> int:
    return sum(task.rooms[used.filled.room].cost * used.drawers for used in plan)


def fill_room(room: Room, at: int, left: list[int], rule: Rule) -> Filled:
    """Fill one room from what is left, and take it out of that."""
    seen = room.on_its_side if rule.mirrored else room
    pieces = [piece for piece in seen.pieces if left[piece.kind]]
    pieces.sort(key=lambda piece: -rule.ranks[piece.kind])
    puts = fill(seen.width, seen.depth, pieces, left, rule.pick)
    return Filled(at, tuple(put.mirrored for put in puts) if rule.mirrored else tuple(puts))


def fill_all(task: Task, counts: Sequence[int], limits: Sequence[int | None], rule: Rule) -> Plan | None:
    """Drawer after drawer until nothing is left; ``None`` when the drawers do not suffice.

    Where several rooms can be had, the one that holds most area for its cost is taken, so many times as it can be.
    """
    left, spare, plan = list(counts), list(limits), []
    while any(left):
        filled = _best_room(task, left, spare, rule)
        if filled is None:
            return None
        drawer = task.rooms[filled.room].drawer
        times = min(left[kind] // count for kind, count in filled.counts.items())
        limit = spare[drawer]
        if limit is not None:
            times = min(times, limit)
            spare[drawer] = limit - times
        for kind, count in filled.counts.items():
            left[kind] -= times * count
        plan.append(Used(filled, times))
    return tuple(plan)


def _best_room(task: Task, left: list[int], spare: Sequence[int | None], rule: Rule) -> Filled | None:
    best: tuple[float, Filled] | None = None
    for at, room in enumerate(task.rooms):
        if spare[room.drawer] == 0:
            continue
        filled = fill_room(room, at, list(left), rule)
        worth = sum(put.piece.area for put in filled.puts) / room.cost
        if filled.puts and (best is None or worth > best[0]):
            best = (worth, filled)
    return best[1] if best else None


def trimmed(plan: Plan, counts: Sequence[int]) -> Plan:
    """Take out what is placed beyond the counts, from the drawers at the end, and drawers that nothing is left in."""
    over = Counter({kind: -count for kind, count in enumerate(counts)})
    for used in plan:
        for kind, count in used.filled.counts.items():
            over[kind] += count * used.drawers
    kept: list[Used] = []
    for used in sorted(plan, key=lambda each: -each.drawers):
        kept += _trim(used, over)
    return tuple(kept)


def _trim(used: Used, over: Counter[int]) -> list[Used]:
    """Whole drawers lighter by whole rounds of what is over, one drawer after the other."""
    kept, whole = [], used.drawers
    while whole and any(over[kind] > 0 for kind in used.filled.counts):
        puts = _without(used.filled.puts, over)
        whole -= 1
        if puts:
            kept.append(Used(Filled(used.filled.room, puts), 1))
    return [*kept, Used(used.filled, whole)] if whole else kept


def _without(puts: Sequence[Put], over: Counter[int]) -> tuple[Put, ...]:
    """The last trays are taken out first, so that what stays free is at the back."""
    kept = []
    for put in sorted(puts, key=lambda put: (put.y, put.x), reverse=True):
        if over[put.piece.kind] > 0:
            over[put.piece.kind] -= 1
        else:
            kept.append(put)
    return tuple(reversed(kept))


def renumbered(plan: Plan, numbers: Sequence[int]) -> Plan:
    """The plan of a part of a task, with the numbers that its kinds have in the whole."""
    return tuple(
        Used(
            Filled(
                used.filled.room,
                tuple(
                    Put(put.x, put.y, replace(put.piece, kind=numbers[put.piece.kind])) for put in used.filled.puts
                ),
            ),
            used.drawers,
        )
        for used in plan
    )


def ranks_by_size(task: Task) -> list[tuple[float, ...]]:
    """The usual orders: by area, longer side, shorter side, width, depth and outline."""
    kinds = task.kinds
    return [
        tuple(float(kind.width * kind.depth) for kind in kinds),
        tuple(max(kind.width, kind.depth) + min(kind.width, kind.depth) * 1e-9 for kind in kinds),
        tuple(min(kind.width, kind.depth) + max(kind.width, kind.depth) * 1e-9 for kind in kinds),
        tuple(kind.width + kind.depth * 1e-9 for kind in kinds),
        tuple(kind.depth + kind.width * 1e-9 for kind in kinds),
        tuple(float(kind.width + kind.depth) for kind in kinds),
    ]
