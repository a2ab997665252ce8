"""From a question to alternatives: the search, its answer in drawers and trays, and an independent look at it."""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from service.core.arrangement.asking import Asked, ask
from service.core.arrangement.cuts import RESERVE_GIVEN_UP, Weights
from service.core.arrangement.inventory import Inventory, Tray
from service.core.arrangement.layout import laid_out
from service.core.arrangement.plan import (
    Aim,
    Alternative,
    ArrangementPlan,
    ArrangementWishes,
    CannotBeArranged,
    DrawerAfter,
    Move,
    NewDrawer,
    Question,
    Specimens,
    Spot,
)
from service.core.arrangement.standing import fingerprint
from service.core.arrangement.task import LOOSE
from service.core.arrangement.windows import Arranged, Effort, NoRoom, arrange

#: What a drawer more that is put to use stands for, in trays moved: nothing, more than anybody moves, and between.
DRAWER_WORTHS = (0, 1_000, 30, 10, 3)


def plan_arrangement(
    inventory: Inventory, question: Question, wishes: ArrangementWishes | None = None, effort: Effort | None = None
) -> ArrangementPlan:
    """Ways to do what was asked, from the fewest trays moved to the fewest drawers put to use.

    Order is kept, and every drawer that changes keeps its growth reserve; where room is too short for that, the
    fewest drawers are filled into their reserve, and named. What nobody touches stays as it is, full drawers too.
    The same question gives the same plan.

    :raises CannotBeArranged: where there is no room at all, or the question makes no sense.
    """
    wishes = wishes or ArrangementWishes()
    asked = ask(inventory, question, wishes)
    found = list(_alternatives(asked, wishes, effort))
    kept = [each for each in found if _may_be_had(each, wishes)]
    if not kept:
        raise CannotBeArranged(
            f"This takes {min(len(each.new_drawers) for each in found)} new drawers, and there may be"
            f" {wishes.new_drawers_at_most}."
        )
    alternatives = _named(_worth_showing(kept))
    return ArrangementPlan(
        alternatives,
        asked.wanted.sequence,
        asked.wanted.renamed,
        asked.wanted.new_trays,
        fingerprint(inventory),
        (*asked.wanted.notes, *_notes(inventory, asked, alternatives)),
    )


def _alternatives(asked: Asked, wishes: ArrangementWishes, effort: Effort | None) -> Iterator[Alternative]:
    """One for each worth of a drawer, until a drawer worth less would change nothing."""
    most = None
    for worth in DRAWER_WORTHS:
        alternative = _alternative(asked, *_best(asked, worth, effort, wishes))
        yield alternative
        most = alternative.drawers_opened if most is None else most
        settled = alternative.is_proved and worth and alternative.drawers_opened >= most
        if settled or not most or asked.wanted.replace_with is not None:
            return


def _best(asked: Asked, worth: int, effort: Effort | None, wishes: ArrangementWishes) -> tuple[Arranged, Weights]:
    """With the reserve kept; where there is no room for that, with as few drawers as may be filled into it."""
    for weights in (Weights(worth), Weights(worth, reserve_may_be_less=True)):
        try:
            return arrange(asked.task, weights, effort), weights
        except NoRoom as error:
            without_room = error
    raise _no_room(asked, wishes) from without_room


def _no_room(asked: Asked, wishes: ArrangementWishes) -> CannotBeArranged:
    more = "" if wishes.new_drawers else " Say which drawers may be had in addition."
    return CannotBeArranged(
        f"There is no room for it: {len(asked.trays):,} trays do not go in order into {len(asked.slots):,}"
        f" drawers, not even with the growth reserve given up.{more}"
    )


def _may_be_had(alternative: Alternative, wishes: ArrangementWishes) -> bool:
    return wishes.new_drawers_at_most is None or len(alternative.new_drawers) <= wishes.new_drawers_at_most


def _worth_showing(found: Sequence[Alternative]) -> list[Alternative]:
    """Those that no other is better than in moves and in drawers put to use."""
    shown: list[Alternative] = []
    for each in sorted(found, key=lambda each: (each.moved, each.drawers_opened, each.drawers_touched)):
        if not shown or each.drawers_opened < shown[-1].drawers_opened:
            shown.append(each)
    return shown


def _named(alternatives: Sequence[Alternative]) -> tuple[Alternative, ...]:
    last = len(alternatives) - 1
    aims = [
        Aim.FEWEST_MOVES if at == 0 else Aim.FEWEST_DRAWERS if at == last else Aim.BETWEEN for at in range(last + 1)
    ]
    return tuple(replace(each, aim=aim) for each, aim in zip(alternatives, aims, strict=True))


# One alternative, in drawers and trays


@dataclass(frozen=True)
class _Filled:
    """A slot with what it holds afterwards; ``drawer`` is its key, also for a new one."""

    slot: int
    drawer: str
    trays: Sequence[Tray]


def _alternative(asked: Asked, arranged: Arranged, weights: Weights) -> Alternative:
    new_drawers, filled = _filled(asked, arranged)
    changed = list(_changed(asked, filled))
    moves = tuple(move for each in changed for move in _moves(each, asked))
    moved = sum(move.from_ is not None and move.from_.drawer != move.to.drawer for move in moves)
    put_in = sum(move.from_ is None for move in moves)
    after = (*_left(asked), *(_after(each, asked) for each in changed))
    standing = asked.inventory.trays_by_drawer
    opened = sum(bool(each.trays) and not standing.get(each.drawer) for each in changed)
    weighed = moved + weights.opened * opened
    emptied = sum(not each.trays and bool(standing.get(each.drawer)) for each in after)
    return Alternative(
        Aim.FEWEST_MOVES,
        moves,
        after,
        moved,
        put_in,
        len(moves) - moved - put_in,
        drawers_touched=len(after),
        drawers_opened=opened,
        drawers_emptied=emptied,
        new_drawers=new_drawers,
        drawer_worth=weights.opened,
        at_least=weighed if arranged.cost == arranged.at_least else _at_least(asked, arranged, weighed),
        reserve_missing=tuple(each.drawer for each in after if each.trays and not each.reserve_kept),
        specimens=_specimens(asked, moves),
    )


def _at_least(asked: Asked, arranged: Arranged, weighed: int) -> int:
    """The bound, with the trays that have to leave their drawer in any case; none where reserve is given up, since an
    arrangement that gives up less may move more."""
    loose = np.flatnonzero(asked.task.old == LOOSE).tolist()
    leaving = sum(asked.trays[at].drawer is not None for at in loose)
    bound = arranged.at_least if arranged.cost < RESERVE_GIVEN_UP else 0
    return min(weighed, leaving + bound)


def _filled(asked: Asked, arranged: Arranged) -> tuple[tuple[NewDrawer, ...], list[_Filled]]:
    """New drawers are numbered as they come."""
    starts = np.concatenate(([0], arranged.ends)).tolist()[:-1]
    new_drawers: list[NewDrawer] = []
    filled: list[_Filled] = []
    outside = {each.drawer for each in asked.inventory.waiting}
    behind = None
    for at, (slot, start, end) in enumerate(zip(asked.slots, starts, arranged.ends.tolist(), strict=True)):
        key = slot.drawer
        if key is None:
            if start == end:
                continue
            key = f"new-{len(new_drawers) + 1}"
        if slot.drawer is None or key in outside:
            new_drawers.append(NewDrawer(key, slot.style, slot.cabinet, slot.position, behind))
        filled.append(_Filled(at, key, asked.trays[start:end]))
        behind = key
    return tuple(new_drawers), filled


def _changed(asked: Asked, filled: Sequence[_Filled]) -> Iterator[_Filled]:
    for each in filled:
        before = asked.inventory.trays_by_drawer.get(each.drawer, ())
        if [tray.key for tray in before] != [tray.key for tray in each.trays]:
            yield each


def _left(asked: Asked) -> Iterator[DrawerAfter]:
    """Drawers that are left, and had trays."""
    for drawer in asked.inventory.drawers_read:
        if drawer.key in asked.wanted.leave and asked.inventory.trays_by_drawer[drawer.key]:
            yield DrawerAfter(drawer.key, (), reserve_kept=True)


def _after(each: _Filled, asked: Asked) -> DrawerAfter:
    slot, inventory = asked.slots[each.slot], asked.inventory
    laid = laid_out(each.trays, slot.style, slot.reserve_percent, inventory.reading_order, inventory.play_nm)
    return DrawerAfter(each.drawer, tuple(tray.key for tray in each.trays), laid.keeps_reserve if laid.fits else None)


def _moves(each: _Filled, asked: Asked) -> Iterator[Move]:
    """Trays that come into the drawer, and those that change their rank among the ones that stay."""
    before = {tray.key: at for at, tray in enumerate(asked.inventory.trays_by_drawer.get(each.drawer, ()), start=1)}
    lifted = lifted_within([before[tray.key] for tray in each.trays if tray.key in before])
    for place, tray in enumerate(each.trays, start=1):
        to = Spot(each.drawer, place)
        if tray.key not in before:
            from_ = None if tray.drawer is None else Spot(tray.drawer, _place(tray, asked))
            yield Move(tray.key, from_, to)
        elif before[tray.key] in lifted:
            yield Move(tray.key, Spot(each.drawer, before[tray.key]), to)


def _place(tray: Tray, asked: Asked) -> int:
    standing = asked.inventory.trays_by_drawer[tray.drawer or ""]
    return next(at for at, each in enumerate(standing, start=1) if each.key == tray.key)


def lifted_within(places: Sequence[int]) -> frozenset[int]:
    """The fewest of these places whose trays have to be lifted so that the rest stand in rising order: all but those
    of a longest rising run."""
    tails: list[int] = []
    lasts: list[int] = []
    before: dict[int, int | None] = {}
    for place in places:
        at = bisect_left(tails, place)
        before[place] = lasts[at - 1] if at else None
        tails[at : at + 1] = [place]
        lasts[at : at + 1] = [place]
    staying: set[int] = set()
    place_or_none = lasts[-1] if lasts else None
    while place_or_none is not None:
        staying.add(place_or_none)
        place_or_none = before[place_or_none]
    return frozenset(places) - staying


def _specimens(asked: Asked, moves: Sequence[Move]) -> Specimens:
    moving = {move.tray for move in moves}
    return Specimens(
        sum(tray.specimens or 0 for tray in asked.trays if tray.key not in moving),
        sum(tray.specimens or 0 for tray in asked.trays if tray.key in moving),
        asked.wanted.picked_out,
        sum(tray.specimens is None for tray in asked.trays),
    )


def _notes(inventory: Inventory, asked: Asked, alternatives: Sequence[Alternative]) -> Iterator[str]:
    outside = sum(
        1 for drawer in inventory.drawers if drawer.position is None and inventory.trays_by_drawer[drawer.key]
    )
    if outside:
        yield f"{outside} drawers with trays stand in no cabinet; they are left out."
    if any(tray.height_nm is None for tray in asked.wanted.new_trays):
        yield "Nobody has stated how high every new tray is with its pins: look whether lids close."
    if asked.task.sizes.may_stand_abreast:
        yield (
            "Narrower trays stand side by side in a column (or row) where together they are no wider than the"
            " collection's widest tray; what is proved is proved for drawers filled so, in reading order."
        )
    if any(each.reserve_missing for each in alternatives):
        yield "Some drawers that change keep less than their growth reserve; they are named."
    for number, each in enumerate(alternatives, start=1):
        if each.positions_missing:
            yield _positions_missing(number, each)


def _positions_missing(number: int, way: Alternative) -> str:
    outside = sum(new.position is None for new in way.new_drawers)
    drawers = "1 new drawer has" if outside == 1 else f"{outside:,} new drawers have"
    missing = "1 position is" if way.positions_missing == 1 else f"{way.positions_missing:,} positions are"
    return (
        f"Alternative {number}: {drawers} no free position where they belong; {missing} missing. They stand outside"
        " the cabinets until whole drawers are moved up; each is named with the drawer that it follows."
    )
