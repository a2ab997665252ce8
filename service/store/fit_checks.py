"""Fit checks as they were answered. They never change, and only the institution that asked reads them."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Row, bindparam, insert, select
from sqlalchemy.orm import Session

from service.core.consignment import Line
from service.core.errors import NotFound
from service.core.fit.alike import told_in_full, told_once
from service.core.fit.answer import FitAnswer
from service.core.standards import StorageSystem
from service.store import codec
from service.store.ids import new_id
from service.store.paging import Age, Page, newest_first, page_by_age
from service.store.tables import fit_check as table


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that an answer was worked out from, so that anybody can work it out again.

    The names are those of the day: ``consignment`` its code, ``sender`` who sent, ``system`` whose system it was.
    """

    lines: tuple[Line, ...]
    content: StorageSystem
    content_sha256: str
    consignment: str = ""
    sender: str = ""
    system: str = ""


@dataclass(frozen=True, slots=True)
class FitCheckHead:
    """Which check this is. ``engine`` is the version of the arithmetic that answered."""

    id: UUID
    institution_id: UUID
    consignment_id: UUID | None
    storage_system_id: UUID
    revision_number: int
    engine: str
    created_at: datetime


@dataclass(frozen=True, slots=True)
class FitCheck(FitCheckHead):
    """A check with what was asked and what was answered."""

    inputs: Inputs
    answer: FitAnswer


_HEAD = [column for column in table.c if column.name not in ("inputs", "answer")]
_BY_ID = select(*table.c).where(table.c.institution_id == bindparam("asker"), table.c.id == bindparam("fit_check_id"))
_HEADS = select(*_HEAD).where(table.c.institution_id == bindparam("asker"))
_AGE = (table.c.created_at, table.c.id)
_LIST = newest_first(_HEADS, *_AGE)
_LIST_OF_CONSIGNMENT = newest_first(_HEADS.where(table.c.consignment_id == bindparam("consignment")), *_AGE)
_KEEP = insert(table).returning(*_HEAD)


def keep(
    session: Session,
    institution_id: UUID,
    inputs: Inputs,
    answer: FitAnswer,
    storage_system_id: UUID,
    revision_number: int,
    engine: str,
    consignment_id: UUID | None = None,
) -> FitCheck:
    """Keep an answer for good."""
    values = {
        "id": new_id(),
        "institution_id": institution_id,
        "consignment_id": consignment_id,
        "storage_system_id": storage_system_id,
        "revision_number": revision_number,
        "inputs": codec.to_json(inputs),
        "answer": codec.to_json(told_once(answer)),
        "engine": engine,
    }
    return _whole(session.execute(_KEEP, values).one(), inputs, answer)


def by_id(session: Session, institution_id: UUID, fit_check_id: UUID) -> FitCheck:
    """:raises NotFound: when the institution has asked no such thing."""
    row = session.execute(_BY_ID, {"asker": institution_id, "fit_check_id": fit_check_id}).one_or_none()
    if row is None:
        raise NotFound("fit check", fit_check_id)
    return _whole(row, codec.from_json(Inputs, row.inputs), told_in_full(codec.from_json(FitAnswer, row.answer)))


def page(
    session: Session, institution_id: UUID, after: Age | None, limit: int, consignment_id: UUID | None = None
) -> Page[FitCheckHead, Age]:
    """What the institution has asked, of everything or of one consignment, the newest first."""
    if consignment_id is None:
        return page_by_age(session, _LIST, after, limit, _head, asker=institution_id)
    return page_by_age(
        session, _LIST_OF_CONSIGNMENT, after, limit, _head, asker=institution_id, consignment=consignment_id
    )


def _head(row: Row[Any]) -> FitCheckHead:
    return FitCheckHead(**{column.name: getattr(row, column.name) for column in _HEAD})


def _whole(row: Row[Any], inputs: Inputs, answer: FitAnswer) -> FitCheck:
    return FitCheck(**{column.name: getattr(row, column.name) for column in _HEAD}, inputs=inputs, answer=answer)
