"""The builder's questions: who would take this drawer, what change makes more take it, and who has room for many."""

from dataclasses import dataclass

import numpy as np
from sqlalchemy.orm import Session

from service.core.builder.box import Box, Sizes
from service.core.builder.changes import Change, smallest_changes
from service.core.builder.cut import Cut
from service.core.builder.field import Numbers
from service.core.builder.takers import Found, Home
from service.core.fit.findings import Verdict
from service.store import acceptances
from service.store.acceptances import Near

MOST_TAKERS = 20
MOST_HOMES = 50
_NOBODY = np.zeros(0, dtype=np.int64)


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
    asked = {Verdict.AS_IT_IS: question.drawer} | ({Verdict.BY_THE_TRAY: question.tray} if question.tray else {})
    boxes = {verdict: near(size, question.cut) for verdict, size in asked.items()}
    found = acceptances.near(session, boxes)
    as_it_is = found.fields[Verdict.AS_IT_IS].within(question.drawer)
    told = {
        verdict: (
            _found(session, found, verdict, size, as_it_is if verdict is Verdict.BY_THE_TRAY else _NOBODY),
            smallest_changes(found.fields[verdict], size, question.cut.nm, question.cut.reach),
        )
        for verdict, size in asked.items()
    }
    return BuilderAnswer(
        question,
        acceptances.systems_asked(session),
        *told[Verdict.AS_IT_IS],
        *told.get(Verdict.BY_THE_TRAY, (None, None)),
    )


def _found(session: Session, near: Near, verdict: Verdict, size: Sizes, but: Numbers) -> Found:
    owners = near.fields[verdict].closest(size, but)
    first = [near.system(owner) for owner in owners[:MOST_TAKERS]]
    return Found(len(owners), acceptances.takers(session, verdict, size, first))


def near(size: Sizes, cut: Cut) -> Box:
    """Every size that the search for changes looks at."""
    width, depth, height = size
    reach_nm = cut.reach * cut.nm
    least = max(1, width - reach_nm), max(1, depth - reach_nm), max(1, height - reach_nm)
    return Box(least, (width + reach_nm, depth + reach_nm, height + reach_nm))


def homes_for(session: Session, drawer: Sizes, count: int) -> HomesAnswer:
    """Whom to offer a number of drawers to: who has room for all of them first."""
    institutions, homes = acceptances.homes(session, drawer, count, MOST_HOMES)
    return HomesAnswer(count, institutions, homes)
