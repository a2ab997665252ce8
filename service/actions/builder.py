"""The builder's questions: who would take this drawer, what change makes more take it, and who has room for many."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from service.core.builder.box import Box, Sizes
from service.core.builder.changes import REACH, Change, smallest_changes
from service.core.builder.cut import Cut
from service.core.builder.takers import Found, Home
from service.core.fit.findings import Verdict
from service.store import acceptances

MOST_TAKERS = 20
MOST_HOMES = 50


@dataclass(frozen=True, slots=True)
class BuilderQuestion:
    """A drawer that somebody means to build or buy, by its outer size, and perhaps the unit trays in it."""

    drawer: Sizes
    cut: Cut
    tray: Sizes | None = None


@dataclass(frozen=True, slots=True)
class BuilderAnswer:
    """Who takes the drawer as it is or by the tray, and what would make more of them.

    ``by_the_tray`` leaves out who takes the drawer as it is; it and ``tray_changes`` are ``None`` where no tray was
    asked about. ``systems_asked`` are all that are published to everybody and say enough to be asked.
    """

    question: BuilderQuestion
    systems_asked: int
    as_it_is: Found
    drawer_changes: tuple[Change, ...]
    by_the_tray: Found | None = None
    tray_changes: tuple[Change, ...] | None = None


@dataclass(frozen=True, slots=True)
class HomesAnswer:
    """Institutions that take drawers of a size as they are, ranked; ``institutions`` is how many there are in all."""

    count: int
    institutions: int
    homes: tuple[Home, ...]


def ask(session: Session, question: BuilderQuestion) -> BuilderAnswer:
    """Answer a builder, over every storage system that is published to everybody."""
    drawer, tray = question.drawer, question.tray
    by_the_tray = None if tray is None else acceptances.takers_by_the_tray(session, drawer, tray, MOST_TAKERS)
    return BuilderAnswer(
        question,
        acceptances.systems_asked(session),
        acceptances.takers_as_it_is(session, drawer, MOST_TAKERS),
        _changes(session, Verdict.AS_IT_IS, drawer, question.cut),
        by_the_tray,
        None if tray is None else _changes(session, Verdict.BY_THE_TRAY, tray, question.cut),
    )


def _changes(session: Session, verdict: Verdict, size: Sizes, cut: Cut) -> tuple[Change, ...]:
    return smallest_changes(acceptances.field(session, verdict, near(size, cut)), size, cut.nm)


def near(size: Sizes, cut: Cut) -> Box:
    """Every size that the search for changes looks at."""
    width, depth, height = size
    reach_nm = REACH * cut.nm
    least = max(1, width - reach_nm), max(1, depth - reach_nm), max(1, height - reach_nm)
    return Box(least, (width + reach_nm, depth + reach_nm, height + reach_nm))


def homes_for(session: Session, drawer: Sizes, count: int) -> HomesAnswer:
    """Whom to offer a number of drawers to: who has room for all of them first."""
    institutions, homes = acceptances.homes(session, drawer, count, MOST_HOMES)
    return HomesAnswer(count, institutions, homes)
