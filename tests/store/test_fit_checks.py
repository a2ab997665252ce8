"""Fit checks in the database: kept as they were answered, and private to who asked."""

from dataclasses import fields
from decimal import Decimal
from uuid import UUID

import pytest
from sqlalchemy import Engine, create_engine, pool, text
from sqlalchemy.exc import IntegrityError

from service.core.consignment import Container, Line
from service.core.errors import NotFound
from service.core.fit.answer import Cost, FitAnswer, LineAnswer, Needed, VerdictCount
from service.core.fit.findings import Comparison, Finding, Outcome, Verdict
from service.core.standards import StorageSystem
from service.store import codec, fit_checks
from service.store.fit_checks import FitCheckHead, Inputs
from service.store.ids import new_id
from service.store.session import open_session

INPUTS = Inputs((Line(Container.DRAWER, 60),), StorageSystem(), codec.sha256(StorageSystem()))
TOO_WIDE = Finding(
    "drawer_in_cabinet",
    Outcome.FAIL,
    "The drawer is 1.5 mm too wide.",
    "Common practice, no source",
    comparisons=(Comparison("width", 420_600_000, 419_100_000, -1_500_000),),
)
ANSWER = FitAnswer(
    lines=(LineAnswer(1, Container.DRAWER, 60, Verdict.BY_THE_TRAY, (TOO_WIDE,), Needed(drawers=7)),),
    counts=(VerdictCount(Verdict.BY_THE_TRAY, 1, 60),),
    needed=Needed(drawers=7),
    cost=Cost((), Decimal("12.50"), Decimal("0"), False, None),
)


def keep(engine: Engine, asker: UUID, consignment_id: UUID | None = None) -> FitCheckHead:
    with open_session(engine, asker) as session:
        kept = fit_checks.keep(session, asker, INPUTS, ANSWER, new_id(), 3, "0.1.0", consignment_id)
        session.commit()
    return FitCheckHead(**{field.name: getattr(kept, field.name) for field in fields(FitCheckHead)})


def test_an_answer_comes_back_with_all_that_it_was_made_from(engine: Engine, north: UUID) -> None:
    head = keep(engine, north)
    with open_session(engine, north) as session:
        kept = fit_checks.by_id(session, north, head.id)
    assert (kept.inputs, kept.answer, kept.revision_number, kept.engine) == (INPUTS, ANSWER, 3, "0.1.0")


def test_a_check_is_private_to_who_asked(engine: Engine, north: UUID, south: UUID) -> None:
    head = keep(engine, north)
    with open_session(engine, south) as session:
        assert fit_checks.page(session, north, None, 10).items == ()
        with pytest.raises(NotFound):
            fit_checks.by_id(session, north, head.id)


def test_checks_are_listed_of_everything_or_of_one_consignment(engine: Engine, north: UUID) -> None:
    consignment = new_id()
    first, second = keep(engine, north, consignment), keep(engine, north)
    with open_session(engine, north) as session:
        assert fit_checks.page(session, north, None, 10).items == (second, first)
        assert fit_checks.page(session, north, None, 10, consignment).items == (first,)


@pytest.mark.parametrize(
    "forgery", ["UPDATE fit_check SET answer = '{}'", "DELETE FROM fit_check", "TRUNCATE fit_check"]
)
def test_not_even_the_owner_of_the_table_changes_a_check(
    engine: Engine, database: str, north: UUID, forgery: str
) -> None:
    keep(engine, north)
    owner = create_engine(database, poolclass=pool.NullPool)
    with owner.connect() as connection:
        connection.execute(text("ALTER TABLE fit_check NO FORCE ROW LEVEL SECURITY"))
        with pytest.raises(IntegrityError) as refused:
            connection.execute(text(forgery))
    assert refused.value.orig.sqlstate == "23001"  # type: ignore[union-attr]
