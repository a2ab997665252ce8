"""Keys at the terminal: shown once, kept as a digest, ended at once."""

import hashlib

import requests
from live_service import live_service
from members import enter
from sqlalchemy import Engine, create_engine, text
from terminal import traybridge

from service.store.urls import database_url


def rows(database: str, question: str) -> list[tuple[object, ...]]:
    """What the owner of the tables sees; keys are walled off from everybody else."""
    engine = create_engine(database_url(database))
    with engine.connect() as connection:
        answer = [tuple(row) for row in connection.execute(text(question))]
    engine.dispose()
    return answer


def create(database: str, *more: str) -> str:
    """A key that works for ambleford and may read, as the command prints it."""
    options = ("--institution", "ambleford", "--name", "registrar", "--scope", "read")
    made = traybridge("keys", "create", *options, *more, DATABASE_URL=database)
    assert made.code == 0, made
    assert "not shown again" in made.wrong
    return made.said.strip()


def test_a_key_is_shown_once_and_kept_as_a_digest(database: str, engine: Engine) -> None:
    enter(engine, "ambleford", "Ambleford Museum")
    key = create(database)
    secret = key.rpartition("_")[2]
    kept = [str(row) for row in rows(database, "SELECT api_key::text FROM api_key") if "registrar" in str(row)]
    assert len(kept) == 1
    assert hashlib.sha256(key.encode()).hexdigest() in kept[0]
    assert secret not in kept[0]
    listed = traybridge("keys", "list", "--institution", "ambleford", DATABASE_URL=database).said
    assert "registrar" in listed
    assert key.rpartition("_")[0] in listed
    assert secret not in listed


def test_a_key_works_until_the_end_of_the_last_day_it_was_given(database: str, engine: Engine) -> None:
    enter(engine, "ambleford", "Ambleford Museum")
    create(database, "--expires", "2999-12-31")
    (expiry,) = rows(database, "SELECT expires_at AT TIME ZONE 'UTC' FROM api_key WHERE name = 'registrar'")
    assert str(expiry[0]) == "2999-12-31 23:59:59"


def test_a_last_day_that_is_over_is_refused_before_anything_is_touched() -> None:
    past = ("--institution", "x", "--name", "x", "--scope", "read", "--expires", "2020-02-29")
    refused = traybridge("keys", "create", *past, DATABASE_URL="postgresql://nobody@127.0.0.1:1/nothing")
    assert (refused.code, refused.said) == (2, "")
    assert "Invalid value for --expires: that day is over" in refused.wrong


def test_a_revoked_key_opens_nothing_from_then_on(database: str, engine: Engine) -> None:
    enter(engine, "ambleford", "Ambleford Museum")
    key = create(database)
    revoke = ("keys", "revoke", "--institution", "ambleford", key.rpartition("_")[0])
    with live_service(database) as address:

        def knock() -> int:
            asked = requests.get(
                f"{address}/v1/storage-systems", headers={"Authorization": f"Bearer {key}"}, timeout=9
            )
            return asked.status_code

        assert knock() == 200
        assert "opens nothing any more" in traybridge(*revoke, DATABASE_URL=database).said
        assert knock() == 401
    assert "revoked" in traybridge("keys", "list", "--institution", "ambleford", DATABASE_URL=database).said


def test_revoking_takes_the_whole_key_too_and_does_no_harm_twice(database: str, engine: Engine) -> None:
    enter(engine, "ambleford", "Ambleford Museum")
    key = create(database)
    for _ in range(2):
        ended = traybridge("keys", "revoke", "--institution", "ambleford", key, DATABASE_URL=database)
        assert ended.code == 0
        assert key.rpartition("_")[2] not in ended.said


def test_another_institutions_key_cannot_be_revoked(database: str, engine: Engine) -> None:
    enter(engine, "ambleford", "Ambleford Museum")
    enter(engine, "kesselbrook", "Kesselbrook Museum")
    prefix = create(database).split("_")[1]
    refused = traybridge("keys", "revoke", "--institution", "kesselbrook", prefix, DATABASE_URL=database)
    assert refused.sentence == f"There is no key of kesselbrook that begins with tb_{prefix}."
    assert rows(database, "SELECT count(*) FROM api_key WHERE revoked_at IS NOT NULL") == [(0,)]


def test_an_unknown_institution_is_named_with_what_to_do(database: str) -> None:
    refused = traybridge("keys", "list", "--institution", "ambleford", DATABASE_URL=database)
    assert refused.sentence.startswith("There is no institution “ambleford”; “traybridge institutions add”")
