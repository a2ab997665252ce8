"""From kinds of tray back to the trays that were asked for, and from the search's units back to nanometres."""

from collections import Counter
from collections.abc import Iterator

from service.core.housing.greedy import Plan, Used
from service.core.housing.plan import Layout, Placed
from service.core.housing.rooms import Alone, Kind, Put, Task
from service.core.housing.tiling import Place

Queue = dict[Kind, list[tuple[str, int]]]


def named_layouts(task: Task, plan: Plan) -> tuple[Layout, ...]:
    """Every drawer of the plan with its trays by name; drawers that are alike are counted once.

    Trays of one kind are handed out by code, so that like sizes under different codes stay together.
    """
    queue: Queue = {
        kind: [(tray.code, tray.count) for tray in reversed(trays) if tray.count]
        for kind, trays in task.trays_of.items()
    }
    layouts: Counter[Layout] = Counter()
    for used in sorted(plan, key=lambda each: (-each.drawers, each.filled.room)):
        for layout, times in _named(task, used, queue):
            layouts[layout] += times
    for alone in task.alone:
        for layout in _whole_drawers(task, alone, queue):
            layouts[layout] += 1
    return tuple(Layout(layout.drawer, times, layout.placed, layout.reserve) for layout, times in layouts.items())


def _named(task: Task, used: Used, queue: Queue) -> Iterator[tuple[Layout, int]]:
    """As many drawers at a time as take the same trays."""
    room = task.rooms[used.filled.room]
    puts = sorted(used.filled.puts, key=lambda put: (put.y, put.x))
    left = used.drawers
    while left:
        times = min(
            left, *(_whole_rounds(queue[task.kinds[kind]], each) for kind, each in used.filled.counts.items())
        )
        times = max(1, times)
        codes = {kind: _take(queue[task.kinds[kind]], each, times) for kind, each in used.filled.counts.items()}
        placed = tuple(_placed(task, put, codes[put.piece.kind].pop()) for put in puts)
        yield Layout(task.request.drawers[room.drawer].code, 1, placed, room.strip), times
        left -= times


def _whole_rounds(waiting: list[tuple[str, int]], each: int) -> int:
    """How many drawers take all their trays of a kind from the code that is next."""
    return waiting[-1][1] // each


def _take(waiting: list[tuple[str, int]], each: int, times: int) -> list[str]:
    """The codes for one drawer, last to first; taken out for ``times`` drawers."""
    codes: list[str] = []
    need = each * times
    while need:
        code, count = waiting.pop()
        taken = min(count, need)
        codes += [code] * taken
        need -= taken
        if count > taken:
            waiting.append((code, count - taken))
    return codes[:each][::-1] if times == 1 else [codes[0]] * each


def _placed(task: Task, put: Put, code: str) -> Placed:
    turned, play = put.piece.turned, task.request.play_nm
    width, depth = put.piece.width * task.unit - play, put.piece.depth * task.unit - play
    return Placed(code, Place(put.x * task.unit, put.y * task.unit, width, depth, turned))


def _whole_drawers(task: Task, alone: Alone, queue: Queue) -> Iterator[Layout]:
    play = task.request.play_nm
    sides = (alone.kind.width * task.unit - play, alone.kind.depth * task.unit - play)
    width, depth = reversed(sides) if alone.turned else sides
    drawer = task.request.drawers[alone.drawer].code
    for code, count in reversed(queue[alone.kind]):
        placed = (Placed(code, Place(0, 0, width, depth, alone.turned)),)
        for _ in range(count):
            yield Layout(drawer, 1, placed, None)
