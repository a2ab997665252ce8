"""The walking list: an order of steps in which every tray finds room at each moment, and nobody walks in vain.

A tray may be set down where it and all that stands there fit, the growth reserve included, for it is free room. Where
trays wait for one another in a circle, one has to wait out of the way: on the bench, if the institution has said that
there is one, or where a drawer has room.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from service.core.arrangement.inventory import DrawerStyle, Inventory, MovingRates, Tray
from service.core.arrangement.layout import goes_in
from service.core.arrangement.plan import (
    Alternative,
    ArrangementPlan,
    CannotBeWalked,
    Errand,
    Hours,
    Step,
    Trip,
    WalkingList,
)
from service.core.arrangement.planning import lifted_within
from service.core.arrangement.standing import Standing, standing_of

Way = tuple[str | None, str]


def walk(inventory: Inventory, plan: ArrangementPlan, alternative: Alternative, bench_places: int = 0) -> WalkingList:
    """The steps from what stands in the inventory now to the alternative; steps that have been taken are left out.

    :raises CannotBeWalked: where there is not room enough to move in; it says how many bench places would do.
    """
    return walk_from(standing_of(inventory), inventory, plan, alternative, bench_places)


def walk_from(
    standing: Standing, inventory: Inventory, plan: ArrangementPlan, alternative: Alternative, bench_places: int = 0
) -> WalkingList:
    """The same from another standing, with trays on the bench."""
    rooms = _Rooms(inventory, plan, alternative)
    try:
        steps = _Walk(standing, rooms, bench_places).steps()
    except CannotBeWalked as error:
        enough = _bench_that_would_do(standing, rooms)
        raise CannotBeWalked(
            f"{error} A bench for {enough} {'tray' if enough == 1 else 'trays'} would do.", enough
        ) from error
    return _listed(steps, inventory.rates)


def _bench_that_would_do(standing: Standing, rooms: "_Rooms") -> int:
    steps = _Walk(standing, rooms, len(rooms.trays)).steps()
    return max(_on_bench(steps), default=0)


def _on_bench(steps: Iterable[Step]) -> Iterator[int]:
    """How many trays wait on the bench after each step."""
    waiting: set[str] = set()
    for step in steps:
        waiting = waiting | {step.tray} if step.to_drawer is None else waiting - {step.tray}
        yield len(waiting)


class _Rooms:
    """The drawers, and whether trays fit in them one behind the other."""

    def __init__(self, inventory: Inventory, plan: ArrangementPlan, alternative: Alternative) -> None:
        self.trays: dict[str, Tray] = {tray.key: tray for tray in (*inventory.trays, *plan.new_trays)}
        self.target: dict[str, tuple[str, ...]] = {each.drawer: each.trays for each in alternative.after}
        self.styles: dict[str, DrawerStyle] = {drawer.key: drawer.style for drawer in inventory.drawers}
        self.styles |= {new.key: new.style for new in alternative.new_drawers}
        self.at = {drawer.key: number for number, drawer in enumerate(inventory.drawers_read)}
        self._order = inventory.reading_order
        self._play = inventory.play_nm
        self._stood = standing_of(inventory).drawers

    def fit(self, drawer: str, trays: Sequence[str]) -> bool:
        """Whether these trays find room; as they stood today they do, whatever the sizes say."""
        standing = [self.trays[key] for key in trays]
        return goes_in(standing, self.styles[drawer], self._order, self._play) or _in_order_of(
            trays, self._stood.get(drawer, ())
        )


def _in_order_of(trays: Sequence[str], stood: Sequence[str]) -> bool:
    """Whether these are some of the trays that stood there, in their order."""
    remaining = iter(stood)
    return all(tray in remaining for tray in trays)


@dataclass
class _Drawer:
    """A drawer under way: what stands in it, and which of that has come to its place."""

    trays: list[str]
    target: dict[str, int]
    settled: set[str] = field(default_factory=set)

    def place_for(self, tray: str) -> int:
        """Right behind the last settled tray that it follows in the end; counted without itself."""
        rank = self.target[tray]
        standing = [each for each in self.trays if each != tray]
        before = [at for at, each in enumerate(standing) if each in self.settled and self.target[each] < rank]
        return before[-1] + 1 if before else 0

    def with_tray(self, tray: str) -> list[str]:
        standing, at = [each for each in self.trays if each != tray], self.place_for(tray)
        return [*standing[:at], tray, *standing[at:]]


class _Walk:
    def __init__(self, standing: Standing, rooms: _Rooms, bench_places: int) -> None:
        self._rooms, self._bench_places = rooms, bench_places
        self._bench = list(standing.bench)
        self._where = standing.drawer_of()
        self._drawers = {
            key: _Drawer(list(standing.drawers.get(key, ())), {tray: at for at, tray in enumerate(trays)})
            for key, trays in rooms.target.items()
        }
        self._others = {key: list(trays) for key, trays in standing.drawers.items() if key not in self._drawers}
        self._steps: list[Step] = []
        self._parked: set[str] = set()
        self._waiting: dict[Way, list[str]] = {}
        self._blocked: dict[str, list[Way]] = {}
        self._ready: deque[Way] = deque()

    def steps(self) -> list[Step]:
        """All steps, each of which finds room.

        :raises CannotBeWalked: where trays wait for one another and none can wait elsewhere.
        """
        self._set_out()
        while self._waiting:
            while self._ready:
                self._go(self._ready.popleft())
            if self._waiting:
                self._make_way()
        return self._steps

    def _set_out(self) -> None:
        """What stays where it is, and who goes where."""
        for key, drawer in self._drawers.items():
            staying = [tray for tray in drawer.trays if tray in drawer.target]
            ranks = {drawer.target[tray]: tray for tray in staying}
            lifted = {ranks[rank] for rank in lifted_within([drawer.target[tray] for tray in staying])}
            drawer.settled = set(staying) - lifted
            for tray in sorted(drawer.target.keys() - drawer.settled, key=drawer.target.__getitem__):
                self._waiting.setdefault((self._where.get(tray), key), []).append(tray)
        self._ready.extend(sorted(self._waiting, key=self._along_the_cabinets))

    def _along_the_cabinets(self, way: Way) -> tuple[bool, int, int, str]:
        source, to = way
        return source is None, self._rooms.at.get(source or "", 0), self._rooms.at.get(to, len(self._rooms.at)), to

    def _go(self, way: Way) -> None:
        """Carry what finds room at the end of this way; the rest waits until something leaves there."""
        if way not in self._waiting:
            return
        source, key = way
        drawer = self._drawers[key]
        carried = [tray for tray in self._waiting[way] if self._settle(tray, source, drawer, key)]
        left = [tray for tray in self._waiting[way] if tray not in carried]
        if left:
            self._waiting[way] = left
            self._blocked.setdefault(key, []).append(way)
        else:
            del self._waiting[way]
        if carried and source is not None:
            self._free(source)

    def _settle(self, tray: str, source: str | None, drawer: _Drawer, key: str) -> bool:
        after = drawer.with_tray(tray)
        if not self._rooms.fit(key, after):
            return False
        self._pick_up(tray, source)
        drawer.trays, place = after, after.index(tray)
        drawer.settled.add(tray)
        self._where[tray] = key
        self._note(tray, source, key, after, place, Errand.TO_ITS_PLACE)
        return True

    def _free(self, drawer: str) -> None:
        """Something has left this drawer: who waits for room there goes next, so that nobody comes back for it."""
        self._ready.extendleft(reversed(self._blocked.pop(drawer, [])))

    def _pick_up(self, tray: str, source: str | None) -> None:
        if source is None:
            self._bench = [each for each in self._bench if each != tray]
        else:
            self._trays_in(source).remove(tray)

    def _trays_in(self, drawer: str) -> list[str]:
        return self._drawers[drawer].trays if drawer in self._drawers else self._others.setdefault(drawer, [])

    def _note(
        self, tray: str, source: str | None, to: str | None, after: Sequence[str], place: int, errand: Errand
    ) -> None:
        before = after[place - 1] if place > 0 else None
        number = None if to is None else place + 1
        self._steps.append(Step(len(self._steps) + 1, tray, source, to, number, before, errand))

    # Trays that wait for one another

    def _make_way(self) -> None:
        """Set one tray out of the way, so that another finds room where it stood."""
        for tray, source in self._in_the_way():
            if self._park(tray, source):
                self._free(source)
                return
        raise CannotBeWalked(
            f"Trays wait for one another, and there is no free place in which one could wait: {self._who_waits()}."
        )

    def _in_the_way(self) -> Iterator[tuple[str, str]]:
        """Trays that have to leave a drawer that others wait for, those first that let one of them in by leaving."""
        others: list[tuple[str, str]] = []
        for key in self._blocked:
            drawer = self._drawers[key]
            coming = [tray for way in self._blocked[key] for tray in self._waiting.get(way, ())]
            for tray in drawer.trays:
                if tray in drawer.settled or tray in self._parked:
                    continue
                if any(self._goes_in_without(tray, each, drawer, key) for each in coming):
                    yield tray, key
                else:
                    others.append((tray, key))
        yield from others

    def _goes_in_without(self, tray: str, coming: str, drawer: _Drawer, key: str) -> bool:
        without = _Drawer([each for each in drawer.trays if each != tray], drawer.target, drawer.settled)
        return coming != tray and self._rooms.fit(key, without.with_tray(coming))

    def _park(self, tray: str, source: str) -> bool:
        """Onto the bench, or at the end of the nearest drawer that has room."""
        to = self._bench_or_drawer(tray, source)
        if to is None and len(self._bench) >= self._bench_places:
            return False
        way = next(way for way, trays in self._waiting.items() if tray in trays)
        self._pick_up(tray, source)
        self._waiting[way].remove(tray)
        if not self._waiting[way]:
            del self._waiting[way]
        self._parked.add(tray)
        standing = [*self._trays_in(to), tray] if to is not None else []
        if to is None:
            self._bench.append(tray)
            self._where.pop(tray, None)
        else:
            self._trays_in(to).append(tray)
            self._where[tray] = to
        self._note(tray, source, to, standing, len(standing) - 1, Errand.OUT_OF_THE_WAY)
        self._waiting.setdefault((to, way[1]), []).append(tray)
        self._blocked.setdefault(way[1], []).append((to, way[1]))
        return True

    def _bench_or_drawer(self, tray: str, source: str) -> str | None:
        """The drawer to wait in, ``None`` for the bench or nowhere."""
        if len(self._bench) < self._bench_places:
            return None
        at, here = self._rooms.at, self._rooms.at.get(source, 0)
        awaited = {key for _, key in self._waiting}
        near = sorted(
            (key for key in self._rooms.styles if key != source and (key in at or key in self._drawers)),
            key=lambda key: (key in awaited, abs(at.get(key, here) - here)),
        )
        return next((key for key in near if self._rooms.fit(key, [*self._trays_in(key), tray])), None)

    def _who_waits(self) -> str:
        waiting = [tray for trays in self._waiting.values() for tray in trays]
        return ", ".join(waiting[:5]) + (f" and {len(waiting) - 5} more" if len(waiting) > 5 else "")


# From steps to a list


def _listed(steps: Sequence[Step], rates: MovingRates) -> WalkingList:
    trips = tuple(_trips(steps))
    handled = _handled(trips)
    lifts = len(steps)
    aside = sum(step.errand is Errand.OUT_OF_THE_WAY for step in steps)
    return WalkingList(
        trips, lifts, aside, max(_on_bench(steps), default=0), handled, hours_for(lifts, handled, rates)
    )


def _trips(steps: Sequence[Step]) -> Iterator[Trip]:
    trip: list[Step] = []
    number = 1
    for step in steps:
        if trip and (step.from_drawer, step.to_drawer) != (trip[-1].from_drawer, trip[-1].to_drawer):
            yield Trip(number, trip[-1].from_drawer, trip[-1].to_drawer, tuple(trip))
            trip, number = [], number + 1
        trip.append(step)
    if trip:
        yield Trip(number, trip[-1].from_drawer, trip[-1].to_drawer, tuple(trip))


def _handled(trips: Sequence[Trip]) -> int:
    """How often a drawer is fetched: one that the trip before had open is still at hand."""
    handled, at_hand = 0, set[str]()
    for trip in trips:
        needed = {drawer for drawer in (trip.from_drawer, trip.to_drawer) if drawer is not None}
        handled += len(needed - at_hand)
        at_hand = needed
    return handled


def hours_for(lifts: int, drawers_handled: int, rates: MovingRates) -> Hours:
    """Person-hours, and what they cost, at these rates. A rate that nobody has stated is named; nothing is guessed.

    ``trays_moved_per_h`` counts what is lifted, and ``drawers_handled_per_h`` what is fetched and put back.
    """
    needed = {"trays_moved_per_h": rates.trays_moved_per_h, "drawers_handled_per_h": rates.drawers_handled_per_h}
    missing = tuple(name for name, rate in needed.items() if not rate)
    if rates.trays_moved_per_h and rates.drawers_handled_per_h:
        hours = lifts / rates.trays_moved_per_h + drawers_handled / rates.drawers_handled_per_h
        cost = None if rates.person_hour is None else hours * rates.person_hour
        return Hours(hours, cost, rates.currency, () if cost is not None else ("person_hour",))
    return Hours(None, None, rates.currency, missing)
