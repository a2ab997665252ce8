"""The directory of institutions, and the keys that programs come with."""

import time
from datetime import UTC, date, datetime
from uuid import RFC_4122, UUID

import pytest
from sqlalchemy import Engine, text

from service.core.errors import Conflict, Invalid, NotFound, StaleVersion
from service.store import institutions, keys
from service.store.ids import new_id
from service.store.session import ANONYMOUS, open_key_session, open_session

NOW = datetime.now(UTC)
LONG_AGO = datetime(2001, 1, 1, tzinfo=UTC)


def make_key(engine: Engine, owner: UUID, expires_at: datetime | None = None) -> tuple[keys.Key, keys.Secret]:
    secret = keys.new_secret()
    with open_session(engine, owner) as session:
        key = keys.make(session, owner, "Loans database", ["write", "read"], secret, expires_at)
        session.commit()
    return key, secret


def opened_by(engine: Engine, secret: keys.Secret) -> keys.Key | None:
    with open_key_session(engine, keys.sha256_of(secret.written)) as session:
        return keys.by_secret(session, keys.sha256_of(secret.written))


def test_the_directory_is_open_to_everybody_in_the_order_of_codes(engine: Engine, south: UUID, north: UUID) -> None:
    with open_session(engine, ANONYMOUS) as session:
        first = institutions.page(session, None, 1)
        second = institutions.page(session, first.next, 1)
        assert [each.code for each in (*first.items, *second.items)] == ["NORTH", "SOUTH"]
        assert second.next is None
        assert institutions.by_code(session, "SOUTH").id == south
        assert set(institutions.by_ids(session, [north, new_id()])) == {north}
        with pytest.raises(NotFound):
            institutions.by_id(session, new_id())


def test_an_institution_changes_its_own_entry(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session:
        changed = institutions.change(session, north, 1, "Northern Museum", "NO")
        assert (changed.name, changed.country_code, changed.version) == ("Northern Museum", "NO", 2)
        with pytest.raises(StaleVersion):
            institutions.change(session, north, 1, "Museum of the North", "NO")


@pytest.mark.usefixtures("north")
@pytest.mark.parametrize("code", ["NORTH", "north", "North"])
def test_two_institutions_cannot_have_one_code_in_any_case_of_its_letters(engine: Engine, code: str) -> None:
    another = new_id()
    with open_session(engine, another) as session, pytest.raises(Conflict) as refused:
        institutions.enter(session, another, code, "North again")
    assert refused.value.kind == "code_taken"


def test_a_country_is_two_letters(engine: Engine, north: UUID) -> None:
    with open_session(engine, north) as session, pytest.raises(Invalid) as refused:
        institutions.change(session, north, 1, "Northern Museum", "Norway")
    assert refused.value.field == "country_code"


def test_a_secret_opens_its_own_key_and_no_other(engine: Engine, north: UUID, south: UUID) -> None:
    key, secret = make_key(engine, north)
    make_key(engine, south)
    assert opened_by(engine, secret) == key
    assert key.scopes == ("read", "write")
    assert opened_by(engine, keys.new_secret()) is None
    with open_key_session(engine, secret.sha256) as session:
        assert session.scalar(text("SELECT count(*) FROM api_key")) == 1


def test_the_secret_itself_is_kept_nowhere(engine: Engine, north: UUID) -> None:
    _, secret = make_key(engine, north)
    with open_session(engine, north) as session:
        kept = session.scalar(text("SELECT to_jsonb(api_key)::text FROM api_key"))
    assert secret.written not in kept
    assert secret.written not in repr(secret)
    assert secret.sha256 in kept


def test_a_secret_says_what_it_is_and_holds_at_least_128_random_bits() -> None:
    secret = keys.new_secret()
    mark, prefix, random = secret.written.split("_")
    assert (mark, prefix) == ("tb", secret.prefix)
    assert len(bytes.fromhex(random)) * 8 >= 128
    assert len({keys.new_secret().written for _ in range(100)}) == 100


def test_a_revoked_key_opens_nothing(engine: Engine, north: UUID) -> None:
    key, secret = make_key(engine, north)
    with open_session(engine, north) as session:
        assert keys.revoke(session, north, key.id, key.version, NOW).revoked_at == NOW
        session.commit()
    assert opened_by(engine, secret) is None


def test_an_expired_key_opens_nothing(engine: Engine, north: UUID) -> None:
    _, secret = make_key(engine, north, expires_at=LONG_AGO)
    assert opened_by(engine, secret) is None


def test_an_institution_neither_lists_nor_revokes_anothers_keys(engine: Engine, north: UUID, south: UUID) -> None:
    key, _ = make_key(engine, north)
    with open_session(engine, south) as session:
        assert keys.page(session, north, None, 10).items == ()
        with pytest.raises(NotFound):
            keys.revoke(session, north, key.id, key.version, NOW)


def test_a_key_notes_the_day_of_its_last_use(engine: Engine, north: UUID) -> None:
    key, secret = make_key(engine, north)
    with open_session(engine, north) as session:
        keys.mark_used(session, key, date(2031, 5, 4))
        session.commit()
    used = opened_by(engine, secret)
    assert used is not None
    assert (used.last_used_on, used.version) == (date(2031, 5, 4), key.version)


@pytest.mark.parametrize("scopes", [[], ["read", "everything"]])
def test_a_key_has_known_scopes_and_at_least_one(engine: Engine, north: UUID, scopes: list[str]) -> None:
    with open_session(engine, north) as session, pytest.raises(Invalid) as refused:
        keys.make(session, north, "Loans database", scopes, keys.new_secret())
    assert refused.value.field == "scopes"


def test_identifiers_begin_with_the_millisecond_they_were_made_in() -> None:
    """The layout of version 7 is that of RFC 9562, section 5.7."""
    before = time.time_ns() // 1_000_000
    made = [new_id() for _ in range(200)]
    moments = [identifier.int >> 80 for identifier in made]
    assert moments == sorted(moments)
    assert before <= moments[0] <= moments[-1] <= time.time_ns() // 1_000_000
    assert {(identifier.version, identifier.variant) for identifier in made} == {(7, RFC_4122)}
    assert len(set(made)) == 200
