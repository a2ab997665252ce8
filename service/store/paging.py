"""Pages of long lists: each begins where the last one ended, however much is added meanwhile."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, NamedTuple, TypeVar
from uuid import UUID

from sqlalchemy import ColumnElement, Row, Select, bindparam, tuple_
from sqlalchemy.orm import Session

T = TypeVar("T")
P = TypeVar("P")


class Age(NamedTuple):
    """Where a row stands in a list that shows the newest first."""

    created_at: datetime
    id: UUID


@dataclass(frozen=True, slots=True)
class Page(Generic[T, P]):
    """Some rows of a list; ``next`` is where the following page begins, ``None`` at the end."""

    items: tuple[T, ...]
    next: P | None


@dataclass(frozen=True, slots=True)
class Listing:
    """The two statements behind a list: its first page, and the page after a position."""

    first: Select[Any]
    following: Select[Any]


def newest_first(select: Select[Any], created_at: ColumnElement[Any], id_: ColumnElement[Any]) -> Listing:
    """Pages by age. The position is compared as one value, which an index can serve."""
    ordered = select.order_by(created_at.desc(), id_.desc()).limit(bindparam("rows"))
    return Listing(
        first=ordered,
        following=ordered.where(
            tuple_(created_at, id_) < tuple_(bindparam("created_at"), bindparam("id", type_=id_.type))
        ),
    )


def in_order_of(select: Select[Any], column: ColumnElement[Any]) -> Listing:
    """Pages in the order of one column that never repeats."""
    ordered = select.order_by(column).limit(bindparam("rows"))
    return Listing(first=ordered, following=ordered.where(column > bindparam("after")))


def rows_of(
    session: Session, listing: Listing, after: Mapping[str, object] | None, limit: int, **bound: object
) -> tuple[list[Row[Any]], bool]:
    """The rows of one page, and whether there are more behind them."""
    statement = listing.first if after is None else listing.following
    rows = list(session.execute(statement, {"rows": limit + 1, **(after or {}), **bound}))
    return rows[:limit], len(rows) > limit


def page_by_age(
    session: Session,
    listing: Listing,
    after: Age | None,
    limit: int,
    make: Callable[[Row[Any]], T],
    **bound: object,
) -> Page[T, Age]:
    """One page of a :func:`newest_first` list."""
    rows, more = rows_of(session, listing, after._asdict() if after else None, limit, **bound)
    position = Age(rows[-1].created_at, rows[-1].id) if more else None
    return Page(tuple(map(make, rows)), position)
