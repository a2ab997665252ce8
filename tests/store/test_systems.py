"""Storage systems in the database: who sees them, and what a published revision is worth."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from uuid import UUID

import pytest
from sqlalchemy import Engine, create_engine, pool, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.core.errors import Conflict, Invalid, NotAllowed, NotFound, StaleVersion
from service.core.measure.dimension import Dimension, Size
from service.core.standards import Cabinet, RoomClimate, SetPoint, StorageSystem
from service.store import systems
from service.store.session import ANONYMOUS, open_session
from service.store.systems import Revision, State, System, Visibility

NOON = datetime(2031, 5, 4, 12, tzinfo=UTC)
CONTENT = StorageSystem(
    cabinets=(Cabinet("A", "Steel cabinet", 12, opening=Size(width=Dimension(460_375_000))),),
    climate=RoomClimate(driest=SetPoint(20.0, 38.5, 2)),
    growth_reserve_percent=Decimal("12.50"),
)


def make(session: Session, owner: UUID, visibility: Visibility = Visibility.EVERYBODY, code: str = "DRY-1") -> System:
    return systems.make(session, owner, code, "Dry collection", "", visibility)


def publish(session: Session, system: System, content: StorageSystem = CONTENT) -> Revision:
    draft = systems.begin_draft(session, system, content)
    return systems.publish(session, draft, draft.version, NOON)


def published_system(engine: Engine, owner: UUID, visibility: Visibility) -> System:
    with open_session(engine, owner) as session:
        system = make(session, owner, visibility)
        publish(session, system)
        session.commit()
        return system


def sees(engine: Engine, asker: UUID | None, system: System) -> bool:
    with open_session(engine, asker) as session:
        try:
            found = systems.by_id(session, system.id)
        except NotFound:
            return False
        return systems.in_state(session, found, State.PUBLISHED) is not None


def test_a_revision_comes_back_as_it_was_published(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        published = publish(session, system)
        session.commit()
        assert systems.revision(session, system, 1) == published
        assert published.content == CONTENT
        assert systems.by_code(session, north, "DRY-1").published_since == NOON


@pytest.mark.parametrize(
    ("visibility", "anonymous_sees", "member_sees"),
    [(Visibility.EVERYBODY, True, True), (Visibility.MEMBERS, False, True), (Visibility.OWNER, False, False)],
)
def test_a_published_system_is_seen_by_whom_it_is_meant_for(
    engine: Engine, north: UUID, south: UUID, visibility: Visibility, anonymous_sees: bool, member_sees: bool
) -> None:
    system = published_system(engine, north, visibility)
    assert sees(engine, north, system)
    assert sees(engine, south, system) is member_sees
    assert sees(engine, ANONYMOUS, system) is anonymous_sees


def test_a_system_that_was_never_published_is_its_owners_affair(engine: Engine, north: UUID, south: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        systems.begin_draft(session, system, CONTENT)
        session.commit()
    with open_session(engine, south) as session:
        assert systems.page(session, None, 10).items == ()
        with pytest.raises(NotFound):
            systems.by_id(session, system.id)


def test_others_see_the_published_revision_but_not_the_draft_beside_it(
    engine: Engine, north: UUID, south: UUID
) -> None:
    system = published_system(engine, north, Visibility.EVERYBODY)
    with open_session(engine, north) as session:
        systems.begin_draft(session, system, StorageSystem())
        session.commit()
        assert len(systems.revisions(session, system, None, 10).items) == 2
    with open_session(engine, south) as session:
        assert [each.number for each in systems.revisions(session, system, None, 10).items] == [1]
        assert systems.in_state(session, system, State.DRAFT) is None


def test_a_new_revision_supersedes_the_one_before_it(engine: Engine, north: UUID, south: UUID) -> None:
    system = published_system(engine, north, Visibility.EVERYBODY)
    with open_session(engine, north) as session:
        publish(session, system, StorageSystem())
        session.commit()
    with open_session(engine, south) as session:
        states = [each.state for each in systems.revisions(session, system, None, 10).items]
        assert states == [State.SUPERSEDED, State.PUBLISHED]
        assert systems.revision(session, system, 1).content == CONTENT


def test_a_system_has_one_draft_at_a_time(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        systems.begin_draft(session, system, CONTENT)
        with pytest.raises(Conflict) as refused:
            systems.begin_draft(session, system, CONTENT)
    assert refused.value.kind == "draft_exists"


def test_a_draft_is_written_anew_by_whoever_read_it_last(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        draft = systems.begin_draft(session, make(session, north), CONTENT)
        revised = systems.revise_draft(session, draft, draft.version, StorageSystem(), "Emptied")
        assert (revised.version, revised.content, revised.note) == (2, StorageSystem(), "Emptied")
        with pytest.raises(StaleVersion) as stale:
            systems.revise_draft(session, draft, draft.version, CONTENT, "")
    assert (stale.value.sent, stale.value.current) == (1, 2)


def test_a_draft_can_be_thrown_away_and_its_number_is_used_again(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        systems.discard_draft(session, systems.begin_draft(session, system, CONTENT), 1)
        assert systems.begin_draft(session, system, CONTENT).number == 1


def test_a_published_revision_is_neither_rewritten_nor_thrown_away(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        published = publish(session, system)
        session.commit()
        with pytest.raises(Conflict) as refused:
            systems.revise_draft(session, published, published.version, StorageSystem(), "")
        assert refused.value.kind == "revision_is_published"
        session.rollback()
        with pytest.raises(Conflict, match="published revision never changes"):
            systems.discard_draft(session, published, published.version)
        session.rollback()
        with pytest.raises(Conflict, match="published revision never changes"):
            systems.remove(session, system, systems.by_id(session, system.id).version)


@pytest.mark.parametrize(
    "forgery",
    [
        "UPDATE storage_system_revision SET content = '{}'",
        "UPDATE storage_system_revision SET content_sha256 = repeat('0', 64)",
        "UPDATE storage_system_revision SET state = 'draft', published_at = NULL",
        "UPDATE storage_system_revision SET published_at = now()",
        "UPDATE storage_system_revision SET state = 'superseded', superseded_at = now(), note = 'forged'",
        "UPDATE storage_system_revision SET number = 7",
        "DELETE FROM storage_system_revision",
        "DELETE FROM storage_system",
        "TRUNCATE storage_system_revision CASCADE",
    ],
)
def test_not_even_the_owner_of_the_tables_forges_what_was_published(
    engine: Engine, database: str, north: UUID, forgery: str
) -> None:
    published_system(engine, north, Visibility.EVERYBODY)
    owner = create_engine(database, poolclass=pool.NullPool)
    with owner.connect() as connection:
        for table in ("storage_system", "storage_system_revision"):
            connection.execute(text(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY"))
        with pytest.raises(IntegrityError) as refused:
            connection.execute(text(forgery))
    assert refused.value.orig.sqlstate == "23001"  # type: ignore[union-attr]


def test_a_superseded_revision_never_comes_back(engine: Engine, north: UUID) -> None:
    system = published_system(engine, north, Visibility.EVERYBODY)
    with open_session(engine, north) as session:
        publish(session, system, StorageSystem())
        first = systems.revision(session, system, 1)
        with pytest.raises(Conflict, match="published revision never changes"):
            systems.publish(session, first, first.version, NOON)


def test_publishing_twice_is_a_conflict_and_changes_nothing(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        draft = systems.begin_draft(session, make(session, north), CONTENT)
        systems.publish(session, draft, draft.version, NOON)
        with pytest.raises(Conflict) as refused:
            systems.publish(session, draft, draft.version, NOON)
    assert refused.value.kind == "already_published"


def test_another_institutions_system_can_be_read_and_not_changed(engine: Engine, north: UUID, south: UUID) -> None:
    system = published_system(engine, north, Visibility.EVERYBODY)
    with open_session(engine, south) as session:
        seen = systems.by_id(session, system.id)
        with pytest.raises(NotAllowed):
            systems.change(session, seen, seen.version, "Ours now", "", Visibility.OWNER)
        with pytest.raises(NotAllowed):
            systems.remove(session, seen, seen.version)
        with pytest.raises(NotFound):
            systems.begin_draft(session, seen, CONTENT)


def test_a_code_is_unique_within_its_institution_only(engine: Engine, north: UUID, south: UUID) -> None:
    published_system(engine, north, Visibility.OWNER)
    with open_session(engine, south) as session:
        assert make(session, south).code == "DRY-1"
        session.commit()
        with pytest.raises(Conflict) as refused:
            make(session, south)
    assert refused.value.kind == "code_taken"


def test_a_code_that_is_none_is_refused_by_name(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session, pytest.raises(Invalid) as refused:
        make(session, north, code="dry collection")
    assert refused.value.field == "code"


def test_a_changed_system_is_one_version_further(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        system = make(session, north)
        changed = systems.change(session, system, system.version, "Wet collection", "In spirit", Visibility.MEMBERS)
        expected = replace(
            system, name="Wet collection", description="In spirit", visibility=Visibility.MEMBERS, version=2
        )
        assert replace(changed, updated_at=system.updated_at) == expected


def test_every_published_system_is_found_once_however_small_the_pages(
    engine: Engine, north: UUID, south: UUID
) -> None:
    with open_session(engine, north) as session:
        for number in range(5):
            publish(session, make(session, north, code=f"N-{number}"))
            make(session, north, code=f"DRAFT-{number}")
        session.commit()
    with open_session(engine, south) as session:
        found = list(systems.each_published(session, at_once=2))
    assert sorted(system.code for system, _ in found) == [f"N-{number}" for number in range(5)]
    assert all(revision.system_id == system.id and revision.content == CONTENT for system, revision in found)
