"""The builder's questions: who would take this drawer, what change makes more take it, and who has room for many."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from service.core.builder.box import Box, Sizes
from service.core.builder.changes import Change, is_settled, smallest_changes
from service.core.builder.cut import Cut
from service.core.builder.takers import Found, Home, Taker
from service.core.fit.findings import Verdict
from service.store import acceptances
from service.store.acceptances import Near

MOST_TAKERS = 20
MOST_HOMES = 50


@dataclass(frozen=True, slots=True)
class BuilderQuestion:
    """A drawer that somebody means to build or buy, by its outer size, and perhaps the unit trays in it.

    ``reach`` is how many cuts away changes are looked for; ``None`` leaves it to what is found.
    """

    drawer: Sizes
    cut: Cut
    tray: Sizes | None = None
    reach: int | None = None


@dataclass(frozen=True, slots=True)
class BuilderAnswer:
    """Who takes the drawer as it is or by the tray, and what would make more of them.

    ``by_the_tray`` counts all that take the trays and names those that do not take the drawer itself; it and what
    follows are ``None`` where no tray was asked about. ``systems_asked`` are all that are published to everybody and
    say enough to be asked. Changes were looked for up to ``reach`` cuts away.
    """

    question: BuilderQuestion
    systems_asked: int
    as_it_is: Found
    drawer_changes: tuple[Change, ...]
    reach: int
    by_the_tray: Found | None = None
    tray_changes: tuple[Change, ...] | None = None
    tray_reach: int | None = None


@dataclass(frozen=True, slots=True)
class HomesAnswer:
    """Institutions that take drawers of a size as they are, ranked; ``institutions`` is how many there are in all."""

    count: int
    institutions: int
    homes: tuple[Home, ...]


def ask(session: Session, question: BuilderQuestion) -> BuilderAnswer:
    """Answer a builder, over every storage system that is published to everybody."""
    drawer, tray = question.drawer, question.tray
    around = _look_around(session, Verdict.AS_IT_IS, drawer, question)
    as_it_is = Found(around.total, _closest(session, around, drawer))
    asked = acceptances.systems_asked(session)
    if tray is None:
        return BuilderAnswer(question, asked, as_it_is, around.changes, around.reach)
    trays = _look_around(session, Verdict.BY_THE_TRAY, tray, question)
    by_the_tray = Found(trays.total, acceptances.takers_by_the_tray(session, drawer, tray, MOST_TAKERS))
    return BuilderAnswer(
        question, asked, as_it_is, around.changes, around.reach, by_the_tray, trays.changes, trays.reach
    )


@dataclass(frozen=True, slots=True)
class _Around:
    """What was found around a size, and how many cuts to either side were looked at."""

    near: Near
    box: Box
    total: int
    changes: tuple[Change, ...]
    reach: int


def _look_around(session: Session, verdict: Verdict, size: Sizes, question: BuilderQuestion) -> _Around:
    """Half an inch around a size, and further for as long as a smaller change may still be there to find."""
    cut, around = question.cut, None
    for reach in (question.reach,) if question.reach else cut.reaches:
        box = box_around(size, reach * cut.nm)
        near = acceptances.near(session, verdict, box)
        changes = smallest_changes(near.field, size, cut.nm, reach)
        around = _Around(near, box, near.field.taken_by(size), changes, reach)
        if is_settled(changes, reach):
            break
    if around is None:
        raise ValueError("a search has a reach")
    return around


def _closest(session: Session, around: _Around, drawer: Sizes) -> tuple[Taker, ...]:
    """The closest fits, and after them, if there are few, systems that take all that was looked at."""
    owners = around.near.field.closest(drawer, MOST_TAKERS)
    first = acceptances.takers(session, Verdict.AS_IT_IS, drawer, [around.near.system(owner) for owner in owners])
    rest = MOST_TAKERS - len(owners)
    if not rest or not around.near.field.everywhere:
        return first
    return (*first, *acceptances.takers_everywhere(session, Verdict.AS_IT_IS, drawer, around.box, rest))


def box_around(size: Sizes, reach_nm: int) -> Box:
    """Every size so near along each axis."""
    width, depth, height = size
    least = max(1, width - reach_nm), max(1, depth - reach_nm), max(1, height - reach_nm)
    return Box(least, (width + reach_nm, depth + reach_nm, height + reach_nm))


def homes_for(session: Session, drawer: Sizes, count: int) -> HomesAnswer:
    """Whom to offer a number of drawers to: who has room for all of them first."""
    institutions, homes = acceptances.homes(session, drawer, count, MOST_HOMES)
    return HomesAnswer(count, institutions, homes)
